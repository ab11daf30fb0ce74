"""The map of streams: where gold may pass and enter, what was washed, what points."""

from __future__ import annotations

import numpy as np

from pennyweight.answers.upstream import UpstreamAnswer
from pennyweight.answers.wording import percent_words
from pennyweight.pictures.labels import Box, Label, LabelKeeper, box_around, draw_labels
from pennyweight.pictures.legend import Entry, draw_legend, draw_note
from pennyweight.pictures.mapframe import (
    MapFrame,
    draw_grid,
    fit_frame,
    frame_marks,
    north_arrow,
    scale_bar,
)
from pennyweight.pictures.relief import draw_relief
from pennyweight.pictures.streammarks import (
    GOLD_PX,
    next_mark,
    source_mark,
    washed_mark,
)
from pennyweight.pictures.svg import (
    Look,
    Markup,
    drawing,
    element,
    group,
    path_text,
    title,
)

#: Streams whose chance is less are drawn thin [-].
HARDLY = 0.02


def draw_water_map(answer: UpstreamAnswer, look: Look) -> str:
    """Return the map of the streams.

    Parameters
    ----------
    answer : UpstreamAnswer
        Where it comes from.
    look : Look
        Units, inks, width.

    Returns
    -------
    str
        SVG text; only a sentence where there is no stream.
    """
    if not answer.pieces:
        words = answer.cautions[0] if answer.cautions else "No stream is known."
        note, bottom_px = draw_note(words, look, 8.0)
        return drawing(
            look,
            bottom_px + 8.0,
            note,
            label="Map of the streams",
            desc=words,
            kind="watermap",
        )
    frame = _frame(answer, look)
    body = _draw_map(answer, frame, look)
    bar, _ = scale_bar(frame.px_per_m, look, (12.0, frame.height_px + 16.0))
    legend, bottom_px = draw_legend(
        _entries(answer, look), look, frame.height_px + 34.0
    )
    return drawing(
        look,
        bottom_px + 6.0,
        body,
        bar,
        legend,
        label="Map of the streams",
        desc="Streams with the chance that gold passes, washed places, likely sources.",
        kind="watermap",
    )


def _draw_map(answer: UpstreamAnswer, frame: MapFrame, look: Look) -> Markup:
    """Return everything inside the frame, from the back to the front."""
    keeper = LabelKeeper(frame.box.grown(-3.0))
    keeper.block(Box(frame.width_px - 34.0, 0.0, frame.width_px, 62.0))
    inside = look.name("watermap-frame")
    clip = f"url(#{inside})"
    back, labels = _relief(answer, frame, look)
    front = group(
        _soil_lines(answer, frame, look),
        _rocks(answer, frame, look),
        _washed(answer, frame, look, keeper),
        _sources(answer, frame, look, keeper),
        _next(answer, frame, look, keeper),
        clip_path=clip,
    )
    labels += _names(answer, frame, look)
    return group(
        element(
            "defs",
            element(
                "clipPath",
                element("rect", width=frame.width_px, height=frame.height_px),
                id=inside,
            ),
        ),
        group(back, _streams(answer, frame, look), clip_path=clip),
        draw_grid(frame, look, keeper),
        element("g", **frame_marks(frame, answer.ground.crs)),
        front,
        *draw_labels(labels, keeper, look, floor=2.0 if look.narrow else 0.0),
        north_arrow(look, frame.width_px - 18.0, 22.0),
        element(
            "rect",
            x=0.5,
            y=0.5,
            width=frame.width_px - 1.0,
            height=frame.height_px - 1.0,
            fill="none",
            stroke=look.palette.ink,
        ),
    )


def _frame(answer: UpstreamAnswer, look: Look) -> MapFrame:
    east = np.concatenate([one.easting_m for one in answer.pieces])
    north = np.concatenate([one.northing_m for one in answer.pieces])
    off = [(one.easting_m, one.northing_m) for one in answer.off_stream]
    for line in answer.soil_lines:
        east, north = np.append(east, line.easting_m), np.append(north, line.northing_m)
    if off:
        east = np.append(east, [one[0] for one in off])
        north = np.append(north, [one[1] for one in off])
    return fit_frame(east, north, look)


def _relief(
    answer: UpstreamAnswer, frame: MapFrame, look: Look
) -> tuple[Markup, list[Label]]:
    if answer.ground.elevation is None:
        return Markup(""), []
    drawn, heights = draw_relief(answer.ground.elevation, frame, look)
    return drawn, list(heights)


def _streams(answer: UpstreamAnswer, frame: MapFrame, look: Look) -> Markup:
    """Return water, and the gold in it as wide as it is likely to pass."""
    inks = look.palette
    water, gold = [], []
    for one in answer.pieces:
        line = path_text(frame.to_px(one.easting_m, one.northing_m))
        words = (
            f"{answer.rows[one.stream].name}: "
            f"gold passes {percent_words(one.carries)}, "
            f"source here {percent_words(one.source)}"
        )
        water.append(element("path", title(words), d=line))
        if one.carries >= HARDLY:
            width = max(GOLD_PX * one.carries, 0.8)
            gold.append(element("path", title(words), d=line, stroke_width=width))
    ends = {"fill": "none", "stroke_linecap": "round", "stroke_linejoin": "round"}
    return group(
        group(*water, stroke=inks.water, stroke_width=GOLD_PX + 3.0, **ends),
        group(*gold, stroke=inks.gold, **ends),
    )


def _names(answer: UpstreamAnswer, frame: MapFrame, look: Look) -> list[Label]:
    labels = []
    for number, row in enumerate(answer.rows):
        own = [one for one in answer.pieces if one.stream == number]
        if not own:
            continue
        middle = own[len(own) // 2]
        x_px, y_px = frame.to_px(middle.easting_m[:1], middle.northing_m[:1])[0]
        verdict = answer.streams[number]
        labels.append(
            Label(
                words=f"{row.name}: {verdict.verdict}",
                x_px=x_px,
                y_px=y_px,
                gap_px=9.0,
                importance=5.0 + verdict.probability_source_here,
                size_px=look.small_px,
                ink=look.palette.water_ink,
                italic=True,
                ids={"data_stream": row.id},
            )
        )
    return labels


def _washed(
    answer: UpstreamAnswer, frame: MapFrame, look: Look, keeper: LabelKeeper
) -> Markup:
    drawn = []
    for one in answer.washed:
        place = frame.to_px(one.place.easting_m, one.place.northing_m)[0]
        keeper.block(box_around(*place, 5.0))
        drawn.append(washed_mark(one, place, look))
    for off in answer.off_stream:
        place = frame.to_px(off.easting_m, off.northing_m)[0]
        drawn.append(_off_mark(off.dig, off.distance_m, place, look))
    return group(*drawn)


def _off_mark(
    dig: str, distance_m: float, place: tuple[float, float], look: Look
) -> Markup:
    x_px, y_px = place
    return element(
        "path",
        title(f"{dig}: on no stream, {distance_m:.0f} m from the nearest"),
        d=f"M{x_px - 4:.1f} {y_px - 4:.1f}l8 8M{x_px - 4:.1f} {y_px + 4:.1f}l8 -8",
        stroke=look.palette.soft_ink,
        stroke_width=1.6,
        data_dig=dig,
    )


def _sources(
    answer: UpstreamAnswer, frame: MapFrame, look: Look, keeper: LabelKeeper
) -> Markup:
    drawn = []
    for one in answer.sources:
        if one.probability < 0.1:
            continue
        place = frame.to_px(one.easting_m, one.northing_m)[0]
        keeper.block(box_around(*place, 5.0 + 9.0 * one.probability))
        words = f"gold may enter here: {percent_words(one.probability)}"
        drawn.append(source_mark(place, one.probability, look, words=words))
    return group(*drawn)


def _next(
    answer: UpstreamAnswer, frame: MapFrame, look: Look, keeper: LabelKeeper
) -> Markup:
    drawn = []
    for one in answer.next_samples:
        place = frame.to_px(one.easting_m, one.northing_m)[0]
        keeper.block(box_around(*place, 8.0))
        drawn.append(next_mark(one.rank, place, look))
    return group(*drawn)


def _rocks(answer: UpstreamAnswer, frame: MapFrame, look: Look) -> Markup:
    """Return rocks that point as triangles; a change of country rock as a bar."""
    inks = look.palette
    drawn = []
    for one in answer.rocks:
        x_px, y_px = frame.to_px(one.easting_m, one.northing_m)[0]
        if one.pointer == "contact":
            shape = [(x_px - 11.0, y_px - 2.5), (x_px + 11.0, y_px - 2.5),
                     (x_px + 11.0, y_px + 2.5), (x_px - 11.0, y_px + 2.5)]  # fmt: skip
        else:
            shape = [
                (x_px - 6.0, y_px + 4.0),
                (x_px + 6.0, y_px + 4.0),
                (x_px, y_px - 6.0),
            ]
        drawn.append(
            element(
                "path",
                title(f"{one.says}; weight {one.weight:g}"),
                d=path_text(shape, closed=True),
                fill=inks.contour,
                stroke=inks.ink,
                stroke_width=1.0,
            )
        )
    return group(*drawn)


def _soil_lines(answer: UpstreamAnswer, frame: MapFrame, look: Look) -> Markup:
    """Return the lines of soil holes that are proposed, as rows of small rings."""
    drawn = []
    for line in answer.soil_lines:
        places = frame.to_px(line.easting_m, line.northing_m)
        drawn += [element("circle", cx=x_px, cy=y_px, r=2.0) for x_px, y_px in places]
    return group(
        title("soil holes along the contour"),
        *drawn,
        fill=look.palette.paper,
        stroke=look.palette.ink,
        stroke_width=0.8,
    )


def _entries(answer: UpstreamAnswer, look: Look) -> list[Entry]:
    inks = look.palette
    entries = [
        Entry(
            sign=element("path", d="M-12 0H12", stroke=inks.gold, stroke_width=5.0),
            words="gold, as wide as it is likely to pass",
        ),
        Entry(
            sign=source_mark((0.0, 0.0), 0.3, look, words="source"),
            words="where it may enter",
        ),
    ]
    if answer.next_samples:
        entries.append(Entry(sign=next_mark(1, (0.0, 0.0), look), words="wash next"))
    if any(one.pointer == "contact" for one in answer.rocks):
        bar = element(
            "rect", x=-11.0, y=-2.5, width=22.0, height=5.0, fill=inks.contour
        )
        entries.append(Entry(sign=bar, words="country rock changes"))
    if any(one.pointer != "contact" for one in answer.rocks):
        tip = element("path", d="M-6 4H6L0 -6Z", fill=inks.contour, stroke=inks.ink)
        entries.append(Entry(sign=tip, words="rock that points"))
    if answer.soil_lines:
        hole = element("circle", r=2.5, fill=inks.paper, stroke=inks.ink)
        entries.append(Entry(sign=hole, words="soil holes"))
    if answer.off_stream:
        cross = element("path", d="M-4 -4l8 8M-4 4l8 -8", stroke=inks.soft_ink)
        entries.append(Entry(sign=cross, words="on no stream"))
    return entries
