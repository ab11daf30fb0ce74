"""The plan map of the floods: terrain, water at several discharges, drops by number.

All floods lie in one picture, each in a group of its own (`data-flood`); one is
shown, and the page turns them on and off. So the rising water needs no new picture.
"""

from __future__ import annotations

import base64

import numpy as np
import numpy.typing as npt
from scipy.ndimage import zoom

from pennyweight.answers.ground import GroundAnswer
from pennyweight.answers.highwater import HighwaterAnswer, PlacedDrop
from pennyweight.answers.highwatersaid import (
    KIND_NAMES,
    MARKED_SCORE,
    discharge_words,
)
from pennyweight.answers.wording import count_words
from pennyweight.highwater.dropflow import FloodField
from pennyweight.pictures.features import draw_features
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
from pennyweight.pictures.relief import draw_relief, png_of_shade
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
from pennyweight.terrain.elevation import ElevationModel

FloatArray = npt.NDArray[np.float64]

#: Opacity of shallow water, and what deep water adds to it [-].
SHALLOW_INK, DEEP_INK = 0.45, 0.45

#: Depth at which water is drawn as deep [m].
DEEP_M = 2.0

#: Cells finer than this are not worth their bytes [px].
FINEST_PX = 2.5


def shown_flood(answer: HighwaterAnswer) -> int:
    """Return the number of the flood that is shown first: nearest to the stones'."""
    if not answer.floods:
        return 0
    told = answer.discharge_m3_s
    if told is None:
        return len(answer.floods) // 2
    away = [abs(np.log(one.discharge_m3_s / told.p50)) for one in answer.floods]
    return int(np.argmin(away))


def draw_flood_plan(ground: GroundAnswer, answer: HighwaterAnswer, look: Look) -> str:
    """Return the plan map with the floods and the drops.

    Parameters
    ----------
    ground : GroundAnswer
        Digs, features, terrain.
    answer : HighwaterAnswer
        Creek, floods, drops.
    look : Look
        Units, inks, width.

    Returns
    -------
    str
        SVG text; only a sentence where nothing has a place.
    """
    frame = _frame(ground, answer, look)
    label = f"Floods over {ground.name}"
    if frame is None:
        words = "Nothing has a place yet: draw the creek, or give a dig a place."
        note, bottom_px = draw_note(words, look, 8.0)
        return drawing(
            look, bottom_px + 8.0, note, label=label, desc=words, kind="floods"
        )
    body = _draw_map(ground, answer, frame, look)
    strip, bottom_px = _strip(answer, frame, look)
    desc = f"{count_words(len(answer.drops), 'drop')}, north up."
    return drawing(
        look, bottom_px + 6.0, body, strip, label=label, desc=desc, kind="floods"
    )


def _frame(
    ground: GroundAnswer, answer: HighwaterAnswer, look: Look
) -> MapFrame | None:
    east = [dig.easting_m for dig in ground.digs if dig.easting_m is not None]
    north = [dig.northing_m for dig in ground.digs if dig.northing_m is not None]
    east += [drop.easting_m for drop in answer.drops]
    north += [drop.northing_m for drop in answer.drops]
    if not east and answer.creek is not None:
        east = answer.creek.easting_m.tolist()
        north = answer.creek.northing_m.tolist()
    if not east:
        return None
    return fit_frame(np.array(east), np.array(north), look)


def _draw_map(
    ground: GroundAnswer, answer: HighwaterAnswer, frame: MapFrame, look: Look
) -> Markup:
    keeper = LabelKeeper(frame.box.grown(-3.0))
    keeper.block(Box(frame.width_px - 34.0, 0.0, frame.width_px, 62.0))
    labels: list[Label] = []
    back: list[Markup] = []
    if ground.elevation is not None:
        relief, heights = draw_relief(ground.elevation, frame, look)
        back.append(relief)
        labels += heights
    water = _waters(answer, frame, look)
    features, names = draw_features(ground, frame, look)
    labels += names
    inside = look.name("flood-frame")
    digs = _digs(ground, frame, look)
    drops = _drops(answer, frame, keeper, look)
    return group(
        element(
            "defs",
            element(
                "clipPath",
                element("rect", width=frame.width_px, height=frame.height_px),
                id=inside,
            ),
        ),
        group(*back, water, features, clip_path=f"url(#{inside})"),
        draw_grid(frame, look, keeper),
        element("g", **frame_marks(frame, ground.crs)),
        group(digs, drops, clip_path=f"url(#{inside})"),
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


def _waters(answer: HighwaterAnswer, frame: MapFrame, look: Look) -> Markup:
    """Return every flood as an image of its own; one of them is shown."""
    if answer.water is None:
        return _creek_line(answer, frame, look)
    shown = shown_flood(answer)
    model = answer.water.model
    west, east, south, north = model.region
    (left, top), (right, bottom) = frame.to_px([west, east], [north, south])
    drawn = []
    for number, flood in enumerate(answer.water.fields):
        image = base64.b64encode(_image(flood, model, frame, look)).decode("ascii")
        picture = element(
            "image",
            x=left,
            y=top,
            width=right - left,
            height=bottom - top,
            preserveAspectRatio="none",
            href=f"data:image/png;base64,{image}",
        )
        drawn.append(
            element(
                "g",
                title(
                    f"water at {discharge_words(flood.discharge_m3_s, look.measures)}"
                ),
                picture,
                data_flood=str(number),
                display=None if number == shown else "none",
            )
        )
    return group(*drawn)


def _image(
    flood: FloodField, model: ElevationModel, frame: MapFrame, look: Look
) -> bytes:
    """Return the depth of a flood as one ink of more or less strength."""
    depth = np.nan_to_num(flood.depth_m)
    finer = int(np.clip(model.cell_m * frame.px_per_m / FINEST_PX, 1, 4))
    if finer > 1:
        depth = zoom(depth, finer, order=1, grid_mode=True, mode="nearest")
    strength = SHALLOW_INK + DEEP_INK * np.clip(depth / DEEP_M, 0.0, 1.0)
    strength = np.where(depth >= 0.03, strength, 0.0)
    ink = look.palette.water_ink if not look.night else look.palette.water
    return png_of_shade(strength, ink)


def _creek_line(answer: HighwaterAnswer, frame: MapFrame, look: Look) -> Markup:
    if answer.creek is None:
        return Markup("")
    points = frame.to_px(answer.creek.easting_m, answer.creek.northing_m)
    return element(
        "path",
        title("the creek"),
        d=path_text(points),
        fill="none",
        stroke=look.palette.water_ink,
        stroke_width=2.0,
        stroke_linejoin="round",
    )


def _digs(ground: GroundAnswer, frame: MapFrame, look: Look) -> Markup:
    """Return the digs as small crosses: where the user looked already."""
    marks = []
    for dig in ground.digs:
        if dig.easting_m is None or dig.northing_m is None:
            continue
        ((x_px, y_px),) = frame.to_px(dig.easting_m, dig.northing_m)
        marks.append(
            element(
                "path",
                title(f"dig {dig.dig}"),
                d=f"M{x_px - 3:.1f} {y_px:.1f}h6M{x_px:.1f} {y_px - 3:.1f}v6",
                data_dig=dig.dig,
            )
        )
    return group(*marks, stroke=look.palette.ink, stroke_width=1.2, fill="none")


def _drops(
    answer: HighwaterAnswer, frame: MapFrame, keeper: LabelKeeper, look: Look
) -> Markup:
    drawn = []
    for number, drop in reversed(list(enumerate(answer.drops, 1))):
        ((x_px, y_px),) = frame.to_px(drop.easting_m, drop.northing_m)
        keeper.block(box_around(x_px, y_px, 10.0))
        drawn.append(draw_drop(drop, number, place=(x_px, y_px), look=look))
    return group(*drawn)


def draw_drop(
    drop: PlacedDrop, number: int, *, place: tuple[float, float], look: Look
) -> Markup:
    """Return the numbered disc of a drop: full where it is marked, else open."""
    inks, full = look.palette, drop.score >= MARKED_SCORE
    radius = 9.5 if full else 8.0
    return group(
        title(f"drop {number}: {KIND_NAMES[drop.kind]}"),
        element(
            "circle",
            cx=place[0],
            cy=place[1],
            r=radius,
            fill=inks.ink if full else inks.paper,
            stroke=inks.paper if full else inks.ink,
            stroke_width=1.4,
        ),
        text(
            place[0],
            place[1] + look.small_px * 0.34,
            str(number),
            text_anchor="middle",
            font_size=look.small_px - (0.0 if number < 10 else 1.0),
            font_weight="600",
            fill=inks.paper if full else inks.ink,
        ),
        data_drop=str(number),
    )


def _strip(
    answer: HighwaterAnswer, frame: MapFrame, look: Look
) -> tuple[Markup, float]:
    """Return scale, date and legend under the map, and where they end [px]."""
    top = frame.height_px
    room_px = 110.0 if look.narrow else 170.0
    bar, _ = scale_bar(frame.px_per_m, look, (14.0, top + 12.0), room_px=room_px)
    stamp = text(
        look.width_px - 12.0,
        top + 22.0,
        f"{answer.made_at[:10]} · {answer.crs or 'no coordinate system'}",
        text_anchor="end",
        font_size=look.small_px,
        fill=look.palette.soft_ink,
    )
    inks = look.palette
    swatch = {"x": -9.0, "y": -6.0, "width": 18.0, "height": 12.0}
    entries = []
    if answer.water is not None:
        shallow = element(
            "rect", **swatch, fill=inks.water_ink, fill_opacity=SHALLOW_INK
        )
        deep = element(
            "rect", **swatch, fill=inks.water_ink, fill_opacity=SHALLOW_INK + DEEP_INK
        )
        entries += [
            Entry(sign=shallow, words="shallow water"),
            Entry(
                sign=deep,
                words="deep, 2 m and more"
                if look.measures.length == "m"
                else "deep, 6.6 ft and more",
            ),
        ]
    full = element("circle", r=7.5, fill=inks.ink)
    hollow = element("circle", r=6.5, fill=inks.paper, stroke=inks.ink)
    cross = element("path", d="M-4 0h8M0 -4v8", stroke=inks.ink, fill="none")
    entries += [
        Entry(sign=full, words="drop, marked"),
        Entry(sign=hollow, words="drop, less so"),
        Entry(sign=cross, words="dig"),
    ]
    legend, bottom_px = draw_legend(entries, look, top + 36.0)
    return group(bar, stamp, legend), bottom_px
