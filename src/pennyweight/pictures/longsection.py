"""The long section: surface, contacts and pay down the valley, with their doubt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pennyweight.answers.ground import GroundAnswer, PlacedDig
from pennyweight.answers.trace import PathPoint, Streak, TraceAnswer
from pennyweight.answers.wording import horizon_name, quantity_words, unit_name
from pennyweight.pictures.labels import Box, Label, LabelKeeper, draw_labels
from pennyweight.pictures.legend import Entry, draw_legend, draw_note
from pennyweight.pictures.lines import whole_lines
from pennyweight.pictures.mapframe import length_ticks, scale_words
from pennyweight.pictures.streakbands import streak_words
from pennyweight.pictures.svg import (
    Look,
    Markup,
    drawing,
    element,
    group,
    path_text,
    text,
    title,
)
from pennyweight.pictures.textwidth import shorten, text_width
from pennyweight.pictures.wall import NEAT_EXAGGERATIONS

#: Height of the cut on a wide and a narrow picture [px].
CUT_PX, CUT_NARROW_PX = 300.0, 240.0

#: Where the valley falls more than this many times the deepest dig, the surface is
#: drawn level so that the layers can be seen at all [-].
MOST_FALL = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LineStop:
    """What one line tells of the section.

    Attributes
    ----------
    line : str
        Name.
    s_m : float
        How far downstream [m].
    surface_m : float
        Mean elevation of its surface; 0 where the surface is drawn level [m].
    bedrock_m : tuple of float
        Depths at which its digs met bedrock [m].
    deepest_m : float
        Depth of its deepest dig [m].
    """

    line: str
    s_m: float
    surface_m: float
    bedrock_m: tuple[float, ...]
    deepest_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Scales of a long section."""

    stops: tuple[LineStop, ...]
    s0_m: float
    left_px: float
    top_px: float
    s_px_per_m: float
    z_px_per_m: float
    top_m: float
    exaggeration: float
    level: bool

    def x_px(self, s_m: float) -> float:
        """Return a distance downstream in the picture [px]."""
        return self.left_px + (s_m - self.s0_m) * self.s_px_per_m

    def y_px(self, s_m: float, depth_m: float) -> float:
        """Return a depth below the surface in the picture [px]."""
        surface = float(
            np.interp(
                s_m,
                [stop.s_m for stop in self.stops],
                [stop.surface_m for stop in self.stops],
            )
        )
        return self.top_px + (self.top_m - surface + depth_m) * self.z_px_per_m


def draw_long_section(
    ground: GroundAnswer, *, look: Look, trace: TraceAnswer | None = None
) -> str:
    """Return the section along the valley.

    Parameters
    ----------
    ground : GroundAnswer
        Lines and digs.
    look : Look
        Units, inks, width.
    trace : TraceAnswer, optional
        Streaks with the depth and thickness of their pay.

    Returns
    -------
    str
        SVG text; only a sentence where no line has a place.
    """
    streaks = trace.streaks if trace is not None else ()
    section = _lay_out(ground, streaks, look)
    label = f"Long section of {ground.name}"
    if section is None:
        words = "No line has a place in the valley yet, so there is no section."
        note, end_px = draw_note(words, look, 8.0)
        return drawing(
            look, end_px + 8.0, note, label=label, desc=words, kind="longsection"
        )
    bottom_px = max(section.y_px(s.s_m, s.deepest_m) for s in section.stops) + 34.0
    keeper = LabelKeeper(Box(section.left_px, 4.0, look.width_px - 4.0, bottom_px))
    foot, end_px = _foot(section, streaks, look, bottom_px, ground.made_at[:10])
    return drawing(
        look,
        end_px + 6.0,
        _axes(section, bottom_px, look),
        *(_pay(streak, section, look) for streak in streaks),
        _lines(section, look, keeper),
        _bedrock(section, look),
        *draw_labels(_labels(streaks, section, look), keeper, look),
        foot,
        label=label,
        desc=_description(section, streaks, look),
        kind="longsection",
    )


def _lay_out(
    ground: GroundAnswer, streaks: Sequence[Streak], look: Look
) -> Section | None:
    named = [(line.line, line.s_m, digs) for line, digs in whole_lines(ground)]
    if not named:
        return None
    fall, deepest = _fall_and_depth([dig for one in named for dig in one[2]])
    level = fall is None or fall > MOST_FALL * deepest
    stops = tuple(
        sorted(
            (_stop(line, s_m, digs, level=level) for line, s_m, digs in named),
            key=lambda one: one.s_m,
        )
    )
    along_m = [point.s_m for streak in streaks for point in streak.path]
    along_m += [stop.s_m for stop in stops]
    long_m = max(max(along_m) - min(along_m), 10.0)
    left = 42.0 if look.narrow else 58.0
    along = (look.width_px - left - 22.0) / (long_m * 1.06)
    top_m = max(stop.surface_m for stop in stops)
    low_m = min(stop.surface_m - stop.deepest_m for stop in stops)
    cut_px = CUT_NARROW_PX if look.narrow else CUT_PX
    wanted = cut_px / max(top_m - low_m, 0.3) / along
    exaggeration = next((one for one in NEAT_EXAGGERATIONS if one <= wanted), 1.0)
    return Section(
        stops=stops,
        s0_m=min(along_m) - 0.03 * long_m,
        left_px=left,
        top_px=58.0,
        s_px_per_m=along,
        z_px_per_m=along * exaggeration,
        top_m=top_m,
        exaggeration=exaggeration,
        level=level,
    )


def _fall_and_depth(digs: Sequence[PlacedDig]) -> tuple[float | None, float]:
    """Return how far surfaces fall, None where unknown, and the deepest dig [m]."""
    deepest = max((dig.bottom_m or 0.0 for dig in digs), default=0.0)
    surfaces = [dig.surface_m for dig in digs if dig.surface_m is not None]
    if len(surfaces) < len(digs):
        return None, max(deepest, 0.5)
    return max(surfaces) - min(surfaces), max(deepest, 0.5)


def _stop(line: str, s_m: float, digs: Sequence[PlacedDig], *, level: bool) -> LineStop:
    surfaces = [dig.surface_m for dig in digs if dig.surface_m is not None]
    return LineStop(
        line=line,
        s_m=s_m,
        surface_m=0.0 if level or not surfaces else float(np.mean(surfaces)),
        bedrock_m=tuple(
            dig.bottom_m
            for dig in digs
            if dig.bottom_m is not None and "bedrock" in (dig.stopped_by or "")
        ),
        deepest_m=max((dig.bottom_m or 0.0 for dig in digs), default=0.5),
    )


def _axes(section: Section, bottom_px: float, look: Look) -> Markup:
    inks, measures = look.palette, look.measures
    unit = unit_name(measures.length)
    low = section.top_m - (bottom_px - 30.0 - section.top_px) / section.z_px_per_m
    drawn = []
    for height, words in length_ticks(
        low, section.top_m, wanted=5.0, measures=measures
    ):
        y_px = section.top_px + (section.top_m - height) * section.z_px_per_m
        shown = words.lstrip("\u2212") if section.level else words
        ends = [(section.left_px, y_px), (look.width_px - 8.0, y_px)]
        drawn.append(
            element("path", d=path_text(ends), stroke=inks.faint_ink, stroke_width=0.6)
        )
        drawn.append(text(section.left_px - 5.0, y_px + 4.0, shown, text_anchor="end"))
    last_m = (
        section.s0_m + (look.width_px - 12.0 - section.left_px) / section.s_px_per_m
    )
    wanted = 4.0 if look.narrow else 9.0
    for s_m, words in length_ticks(
        section.s0_m, last_m, wanted=wanted, measures=measures
    ):
        x_px = section.x_px(s_m)
        drawn.append(text(x_px, bottom_px, words, text_anchor="middle"))
    what = "depth" if section.level else "height"
    drawn.append(text(4.0, 14.0, f"{what}, {unit}"))
    drawn.append(
        text(
            look.width_px - 8.0,
            14.0,
            f"downstream \u2192 {unit}",
            text_anchor="end",
        )
    )
    return group(*drawn, font_size=look.small_px, fill=inks.soft_ink)


def _lines(section: Section, look: Look, keeper: LabelKeeper) -> Markup:
    """Return the surface, and every line as a thread down to its deepest dig."""
    inks = look.palette
    surface = path_text(
        [
            (section.x_px(stop.s_m), section.y_px(stop.s_m, 0.0))
            for stop in section.stops
        ]
    )
    drawn = [
        element(
            "path",
            title("surface, mean of each line"),
            d=surface,
            fill="none",
            stroke=inks.ink,
            stroke_width=1.6,
        )
    ]
    last = -1e9
    for stop in section.stops:
        x_px, top = section.x_px(stop.s_m), section.y_px(stop.s_m, 0.0)
        bottom = section.y_px(stop.s_m, stop.deepest_m)
        drawn.append(
            element(
                "path",
                title(f"line {stop.line}"),
                d=path_text([(x_px, top), (x_px, bottom)]),
                stroke=inks.ink,
                stroke_width=0.9,
                data_line=stop.line,
            )
        )
        words = stop.line if look.narrow else f"line {stop.line}"
        words = shorten(words, look.small_px, 90.0)
        half = text_width(words, look.small_px) / 2.0
        x_text = min(max(x_px, half + 4.0), look.width_px - half - 4.0)
        if x_text - half > last + 6.0:
            last = x_text + half
            keeper.block(Box(x_text - half, top - 22.0, x_text + half, top))
            drawn.append(
                text(
                    x_text,
                    top - 8.0,
                    words,
                    text_anchor="middle",
                    font_style="italic",
                    font_size=look.small_px,
                )
            )
    return group(*drawn)


def _bedrock(section: Section, look: Look) -> Markup:
    """Return bedrock where it was met: a bar from least to greatest, joined dashed."""
    inks = look.palette
    met = [stop for stop in section.stops if stop.bedrock_m]
    middles = [
        (section.x_px(s.s_m), section.y_px(s.s_m, float(np.median(s.bedrock_m))))
        for s in met
    ]
    bars = [
        element(
            "path",
            title(
                f"bedrock at line {s.line}: "
                + quantity_words(min(s.bedrock_m), "length", look.measures)
                + " to "
                + quantity_words(max(s.bedrock_m), "length", look.measures)
            ),
            d=path_text(
                [
                    (section.x_px(s.s_m), section.y_px(s.s_m, min(s.bedrock_m))),
                    (section.x_px(s.s_m), section.y_px(s.s_m, max(s.bedrock_m))),
                ]
            ),
            stroke_width=4.0,
            stroke=inks.soft_ink,
        )
        for s in met
    ]
    thread = None
    if len(middles) > 1:
        thread = element(
            "path",
            title("bedrock between lines: inferred, not seen"),
            d=path_text(middles),
            stroke=inks.soft_ink,
            stroke_width=1.4,
            stroke_dasharray="5 4",
        )
    return group(thread, *bars, fill="none")


def _pay(streak: Streak, section: Section, look: Look) -> Markup:
    """Return a streak's pay: its median body inside the band of its 80 %."""
    known = [
        p for p in streak.path if p.top_m is not None and p.thickness_m is not None
    ]
    if len(known) < 2:
        return Markup("")
    gold = look.palette.gold
    outer = _band(known, section, "p10", "p90")
    inner = _band(known, section, "p50", "p50")
    return group(
        title(streak_words(streak)),
        element("path", d=outer, fill_opacity=0.06 + 0.20 * streak.probability),
        element("path", d=inner, fill_opacity=0.08 + 0.30 * streak.probability),
        fill=gold,
        data_streak=streak.id,
    )


def _band(points: Sequence[PathPoint], section: Section, upper: str, lower: str) -> str:
    top, bottom = [], []
    for point in points:
        if point.top_m is None or point.thickness_m is None:
            continue
        x_px = section.x_px(point.s_m)
        head: float = getattr(point.top_m, upper)
        foot: float = getattr(point.top_m, lower) + point.thickness_m.p50
        top.append((x_px, section.y_px(point.s_m, head)))
        bottom.append((x_px, section.y_px(point.s_m, foot)))
    return path_text([*top, *bottom[::-1]], closed=True)


def _labels(streaks: Sequence[Streak], section: Section, look: Look) -> list[Label]:
    labels = []
    for streak in streaks:
        known = [point for point in streak.path if point.top_m is not None]
        if not known:
            continue
        middle = known[len(known) // 2]
        depth = middle.top_m.p50 if middle.top_m is not None else 0.0
        words = f"streak {streak.id}"
        if not look.narrow:
            words = f"{words} · {horizon_name(streak.horizon)}"
        labels.append(
            Label(
                words=words,
                x_px=section.x_px(middle.s_m),
                y_px=section.y_px(middle.s_m, depth),
                gap_px=9.0,
                importance=5.0 + streak.probability,
                size_px=look.text_px,
                ink=look.palette.gold,
                bold=True,
                ids={"data_streak": streak.id},
            )
        )
    return labels


def _foot(
    section: Section,
    streaks: Sequence[Streak],
    look: Look,
    bottom_px: float,
    day: str,
) -> tuple[Markup, float]:
    times = scale_words("heights", "lengths", section.exaggeration) + "."
    times = times[0].upper() + times[1:]
    if section.level:
        times += " The surface is drawn level."
    times = f"{times} {day}."
    note, end_px = draw_note(times, look, bottom_px + 10.0)
    inks = look.palette
    entries = [
        Entry(
            sign=element("path", d="M-12 0H12", stroke=inks.ink, stroke_width=1.6),
            words="surface",
        )
    ]
    if any(stop.bedrock_m for stop in section.stops):
        sign = group(
            element("path", d="M0 -7V7", stroke_width=4.0),
            element("path", d="M-14 0H14", stroke_width=1.4, stroke_dasharray="5 4"),
            stroke=inks.soft_ink,
        )
        entries.append(
            Entry(
                sign=sign, words="bedrock, as deep as met; dashed: inferred", sign_px=36
            )
        )
    if streaks:
        sign = group(
            element(
                "rect", x=-11.0, y=-8.0, width=22.0, height=16.0, fill_opacity=0.26
            ),
            element("rect", x=-11.0, y=-4.0, width=22.0, height=8.0, fill_opacity=0.5),
            fill=inks.gold,
        )
        words = "pay of a streak, with the 80 % of its depth; denser = more probable"
        entries.append(Entry(sign=sign, words=words))
    legend, end_px = draw_legend(entries, look, end_px + 6.0)
    return group(note, legend), end_px


def _description(section: Section, streaks: Sequence[Streak], look: Look) -> str:
    parts = [f"{len(section.stops)} lines from left to right downstream."]
    for streak in streaks:
        tops = [point.top_m.p50 for point in streak.path if point.top_m is not None]
        if tops:
            shallow = quantity_words(min(tops), "length", look.measures)
            deep = quantity_words(max(tops), "length", look.measures)
            parts.append(f"Streak {streak.id}: pay from {shallow} to {deep} down.")
    return " ".join(parts)
