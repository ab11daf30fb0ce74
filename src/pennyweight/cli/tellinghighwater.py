"""What the floods did, told on a terminal, and its rasters written to a folder."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np

from pennyweight.answers.bedrock import alike_traps
from pennyweight.answers.highwater import HighwaterAnswer
from pennyweight.answers.highwatersaid import (
    KIND_NAMES,
    discharge_words,
    highwater_verdict,
    say_look,
    say_why,
)
from pennyweight.answers.spoken import verdict_text
from pennyweight.answers.wording import (
    interval_words,
    number_words,
    percent_words,
    quantity_words,
    some_words,
)
from pennyweight.cli.layout import bullets, paragraph, table
from pennyweight.cli.telling import tell_rest
from pennyweight.units import Measures

#: Drops told in full on a terminal; the table holds all.
TOLD_DROPS = 6

#: Key of the answer -> name of the raster's file.
RASTER_FILES = {
    "depth": "flood-depth.tif",
    "speed": "flood-speed.tif",
    "shear": "flood-shear.tif",
    "drop": "drops.tif",
}


def tell_highwater(answer: HighwaterAnswer, measures: Measures) -> list[str]:
    """Return what the floods did, as lines."""
    stones = [
        (
            one.place,
            str(one.n_stones),
            f"{number_words(one.size_mm)} mm",
            "-"
            if one.depth_m is None
            else interval_words(one.depth_m, "length", measures),
        )
        for one in answer.clasts
    ]
    floods = [
        (
            discharge_words(one.discharge_m3_s, measures),
            quantity_words(one.deepest_m, "length", measures),
            f"{quantity_words(one.fastest_m_s, 'length', measures)}/s",
        )
        for one in answer.floods
    ]
    drops = [
        (
            str(number),
            KIND_NAMES[one.kind],
            number_words(one.score),
            f"{one.easting_m:.0f}, {one.northing_m:.0f}",
            "-" if one.chance_richer is None else percent_words(one.chance_richer),
        )
        for number, one in enumerate(answer.drops, 1)
    ]
    why = [
        f"{number}: {say_why(one.drop, measures)} {say_look(one.drop)}"
        for number, one in enumerate(answer.drops[:TOLD_DROPS], 1)
    ]
    traps = [
        f"{some_words(one.digs, 6)}: {one.why} {one.how}"
        for one in alike_traps(answer.traps)[:TOLD_DROPS]
    ]
    written = [f"{name}: {file}" for name, file in (answer.rasters or {}).items()]
    return [
        *paragraph(verdict_text(highwater_verdict(answer, measures))),
        *(table(("stones", "number", "size", "depth"), stones) if stones else []),
        *(table(("flood", "deepest", "fastest"), floods) if floods else []),
        *(table(("drop", "kind", "score", "place", "richer"), drops) if drops else []),
        *bullets("Why there, and what to look for:", why),
        *bullets("Bedrock that may hold gold:", traps),
        *bullets("Odd about the ground:", [one.line() for one in answer.findings]),
        *bullets("Written:", written),
        *tell_rest(answer),
    ]


def write_rasters(answer: HighwaterAnswer, folder: Path) -> Mapping[str, str] | None:
    """Write depth, speed, shear and drops as GeoTIFF; bands are the floods.

    Returns
    -------
    mapping or None
        Key of the answer to the file's name in the folder; None without a flood.
    """
    from pennyweight.exchange.rasters import write_raster  # noqa: PLC0415 - 0.5 s

    water = answer.water
    if water is None or answer.drop_field is None:
        return None
    folder.mkdir(parents=True, exist_ok=True)
    bands = {
        "depth": {_band(one.discharge_m3_s): one.depth_m for one in water.fields},
        "speed": {_band(one.discharge_m3_s): one.speed_m_s for one in water.fields},
        "shear": {_band(one.discharge_m3_s): one.shear_pa for one in water.fields},
        "drop": {
            "fall of transport": np.where(
                np.isfinite(water.model.elevation_m), answer.drop_field, np.nan
            )
        },
    }
    for key, file in RASTER_FILES.items():
        content = write_raster(
            bands[key],
            west_m=water.model.west_m,
            north_m=water.model.north_m,
            cell_m=water.model.cell_m,
            crs=answer.crs,
        )
        (folder / file).write_bytes(content)
    return dict(RASTER_FILES)


def _band(discharge_m3_s: float) -> str:
    return f"{discharge_m3_s:g} m3/s"
