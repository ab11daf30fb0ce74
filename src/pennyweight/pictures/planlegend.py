"""What the signs of the plan map mean, for those that are on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pennyweight.pictures.digmarks import legend_shape
from pennyweight.pictures.features import feature_entries
from pennyweight.pictures.gradescale import mark_radius
from pennyweight.pictures.legend import Entry
from pennyweight.pictures.streakbands import link_dashes
from pennyweight.pictures.streakdoubt import beyond_entry, confluence_entry
from pennyweight.pictures.svg import Look, Markup, element, group, path_text, text

if TYPE_CHECKING:
    from pennyweight.pictures.digmarks import DigMark
    from pennyweight.pictures.gradescale import GradeScale
    from pennyweight.pictures.plan import Plan


def grade_entries(
    marks: dict[str, DigMark], scale: GradeScale, look: Look
) -> list[Entry]:
    """Return the steps of grade that occur, and the signs for none."""
    states = {mark.state for mark in marks.values()}
    entries = []
    if "gold" in states:
        words = scale.words(look.measures)
        entries = [
            Entry(
                sign=legend_shape("gold", scale, look, step=step),
                words=words[step],
                sign_px=2.0 * scale.size * mark_radius(step, look) + 9.0,
            )
            for step in range(5)
        ]
    signs = {
        "zero": "washed, no colors",
        "unwashed": "not washed yet",
        "unknown": "no grade can be told",
    }
    entries += [
        Entry(sign=legend_shape(state, scale, look), words=words, sign_px=19.0)
        for state, words in signs.items()
        if state in states
    ]
    return entries


def plan_entries(plan: Plan) -> list[Entry]:
    """Return the legend of a plan map."""
    look = plan.look
    entries = grade_entries(plan.marks, plan.scale, look)
    if plan.trace is not None and plan.trace.streaks:
        entries += streak_entries(look)
        if plan.trace.merges or plan.trace.splits:
            entries.append(merge_entry(look))
        if plan.trace.confluences:
            entries.append(confluence_entry(look))
        if any(one.beyond for one in plan.trace.streaks):
            entries.append(beyond_entry(look))
    if plan.trace is not None and plan.trace.fields:
        entries.append(unsampled_entry(look, look.name("plan-unsampled")))
    if plan.nextdigs is not None and plan.nextdigs.digs:
        bulk = plan.nextdigs.digs[0].kind == "bulk"
        entries.append(_proposed_entry(look, bulk=bulk))
    if plan.worth is not None and plan.worth.cut is not None:
        entries.append(Entry(sign=_frame_sign(look, 2.0), words="proposed cut"))
    return entries + feature_entries(plan.ground, look)


def streak_entries(look: Look) -> list[Entry]:
    """Return what a streak's band and its dashes mean."""
    gold = look.palette.gold
    band = group(
        element("rect", x=-11.0, y=-8.0, width=22.0, height=16.0, fill_opacity=0.28),
        element("rect", x=-11.0, y=-4.0, width=22.0, height=8.0, fill_opacity=0.4),
        fill=gold,
    )
    entries = [
        Entry(
            sign=band,
            words="streak: where it lies (80 %), denser = more probable",
            starts_row=True,
        )
    ]
    for chance, words in ((0.97, "sure link"), (0.7, "likely"), (0.3, "unlikely")):
        entries.append(
            Entry(
                sign=element(
                    "path",
                    d=path_text([(-17.0, 0.0), (17.0, 0.0)]),
                    stroke=gold,
                    stroke_width=2.2,
                    stroke_dasharray=link_dashes(chance),
                ),
                words=words,
                sign_px=44.0,
            )
        )
    return entries


def merge_entry(look: Look) -> Entry:
    """Return what a merge's ring means."""
    ring = element(
        "circle",
        r=8.0,
        fill=look.palette.paper,
        stroke=look.palette.gold,
        stroke_width=2.0,
    )
    return Entry(
        sign=ring, words="streaks come together, with probability", sign_px=25.0
    )


def unsampled_entry(look: Look, pattern: str) -> Entry:
    """Return what the fine hatch means."""
    box = element(
        "rect",
        x=-10.0,
        y=-7.0,
        width=20.0,
        height=14.0,
        fill=f"url(#{pattern})",
        stroke=look.palette.faint_ink,
        stroke_width=0.5,
    )
    return Entry(sign=box, words="never sampled")


def _proposed_entry(look: Look, *, bulk: bool) -> Entry:
    corners = [(0.0, -9.0), (9.0, 0.0), (0.0, 9.0), (-9.0, 0.0)]
    sign = group(
        element("path", d=path_text(corners, closed=True), fill=look.palette.ink),
        text(
            0.0,
            3.6,
            "1",
            text_anchor="middle",
            font_size=10.0,
            font_weight="600",
            fill=look.palette.paper,
        ),
    )
    words = "place of the bulk test" if bulk else "proposed dig, in order of gain"
    return Entry(sign=sign, words=words, sign_px=26.0)


def _frame_sign(look: Look, width_px: float) -> Markup:
    return element(
        "rect",
        x=-10.0,
        y=-6.0,
        width=20.0,
        height=12.0,
        fill="none",
        stroke=look.palette.ink,
        stroke_width=width_px,
    )
