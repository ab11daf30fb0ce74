"""What a season holds besides its lines: odd digs, checks, grains, rocks, days."""

from __future__ import annotations

import numpy as np

from pennyweight.demo.panning import pan_sample
from pennyweight.demo.season import (
    LINES,
    PAN_M3,
    TRUE_SWELL,
    Row,
    Tables,
    wash,
    write_tallies,
)
from pennyweight.demo.truth import MOUTH_N_M, MOUTH_S_M, draw_centerline

#: Seed of the measured grains.
GRAIN_SEED = 20250620
#: Sample, length of its grains [mm], thickness over width, roundness, quartz share.
GRAINS = (
    ("side-1-b", 1.6, 0.6, 0.2, 0.6),
    ("E3-b", 0.9, 0.35, 0.4, 0.2),
    ("G3-b", 0.8, 0.3, 0.45, 0.1),
    ("J3-b", 0.6, 0.2, 0.6, 0.0),
)


def add_oddments(rng: np.random.Generator, tables: Tables) -> None:
    """Write everything that is no trench line.

    Parameters
    ----------
    rng : numpy.random.Generator
        Of every draw.
    tables : Tables
        Filled further.
    """
    _dig_side_creek(rng, tables)
    _dig_bench(tables)
    _clean_crevice(rng, tables)
    _check_quality(rng, tables)
    _note_rocks(rng, tables)
    _test_pan_and_bucket(rng, tables)
    _keep_days(tables)
    _measure_grains(tables)


def _place(s_m: float, n_m: float) -> Row:
    east, north = draw_centerline().to_map([s_m], [n_m])
    return {"easting_m": f"{east[0]:.2f}", "northing_m": f"{north[0]:.2f}"}


def _dig_side_creek(rng: np.random.Generator, tables: Tables) -> None:
    """Open one pit up the side creek: coarse, rough gold comes from there."""
    tables.digs.append(
        {
            "dig": "side-1",
            "kind": "pit",
            **_place(MOUTH_S_M - 5.0, MOUTH_N_M - 7.0),
            "date": "2025-06-20",
            "bottom_ft": "2.30",
            "stopped_by": "bedrock",
            "bedrock": "schist",
            "note": "in the side creek, 7 m above its mouth",
        }
    )
    for top_ft, bottom_ft, material in (
        ("0", "1.97", "gravel"),
        ("1.97", "2.30", "bedrock"),
    ):
        tables.layers.append(
            {
                "dig": "side-1",
                "top_ft": top_ft,
                "bottom_ft": bottom_ft,
                "material": material,
                **({"base": "bedrock"} if material == "gravel" else {}),
            }
        )
    row = {
        "sample": "side-1-b",
        "dig": "side-1",
        "top_m": "0.35",
        "bottom_m": "0.65",
        "method": "pan",
        "pans": "6",
        "date": "2025-06-20",
    }
    panned = pan_sample(
        rng,
        grade_mg_m3=520.0,
        bank_m3=6 * PAN_M3 / (1.0 + TRUE_SWELL),
        color_mm=1.0,
    )
    tables.samples.append(row)
    write_tallies(tables, "side-1-b", panned.colors)


def _dig_bench(tables: Tables) -> None:
    """Open one pit on the left terrace: nothing there."""
    tables.digs.append(
        {
            "dig": "bench-1",
            "kind": "bench",
            **_place(100.0, 20.0),
            "date": "2025-06-26",
            "bottom_ft": "2.95",
            "stopped_by": "bedrock",
        }
    )
    tables.layers.append(
        {
            "dig": "bench-1",
            "top_ft": "0.50",
            "bottom_ft": "2.95",
            "material": "gravel",
            "packing": "firm",
            "base": "bedrock",
        }
    )
    tables.samples.append(
        {
            "sample": "bench-1-b",
            "dig": "bench-1",
            "top_m": "0.60",
            "bottom_m": "0.90",
            "method": "pan",
            "pans": "4",
            "date": "2025-06-26",
        }
    )
    write_tallies(tables, "bench-1-b", (0, 0, 0, 0, 0))


def _clean_crevice(rng: np.random.Generator, tables: Tables) -> None:
    """Clean one crevice: much gold, no volume, so it enters no grade."""
    tables.digs.append(
        {
            "dig": "crack-1",
            "kind": "crevice",
            **_place(168.0, -2.7),
            "date": "2025-07-27",
            "bedrock": "schist",
            "fabric": "across",
            "surface": "fractured",
        }
    )
    tables.samples.append(
        {
            "sample": "crack-1-x",
            "dig": "crack-1",
            "taken": "crevice",
            "method": "pan",
            "date": "2025-07-27",
            "weighed_mg": "187",
            "balance_mg": "1",
            "note": "one crack cleaned by hand; rich, and says nothing of a volume",
        }
    )
    write_tallies(tables, "crack-1-x", (4, 11, 17, 9, 2))
    for _ in range(9):
        long_mm = float(rng.lognormal(0.35, 0.35))
        tables.grains.append(
            {
                "sample": "crack-1-x",
                "long_mm": f"{long_mm:.2f}",
                "middle_mm": f"{long_mm * rng.uniform(0.6, 0.95):.2f}",
                "short_mm": f"{long_mm * rng.uniform(0.15, 0.4):.2f}",
                "roundness": f"{rng.uniform(0.2, 0.6):.1f}",
                "attached": str(rng.choice(["none", "none", "quartz", "iron"])),
            }
        )


def _check_quality(rng: np.random.Generator, tables: Tables) -> None:
    """Repeat one sample, and wash barren sand on purpose."""
    first = next(row for row in tables.samples if row["sample"] == "G6-b")
    repeat = {
        **{key: first[key] for key in ("dig", "top_m", "bottom_m", "method")},
        "sample": "G6-b2",
        "taken": "recut",
        "pans": "8",
        "duplicate_of": "G6-b",
        "date": "2025-07-09",
        "by": "panner 2",
    }
    wash(rng, tables, repeat, place=(135.0, -2.4), loose_m3=8 * PAN_M3)
    tables.samples.append(
        {
            "sample": "blank-1",
            "dig": "G5",
            "taken": "grab",
            "method": "pan",
            "pans": "3",
            "blank": "yes",
            "date": "2025-07-09",
            "by": "panner 2",
            "note": "washed beach sand, to see whether the pan was clean",
        }
    )
    write_tallies(tables, "blank-1", (0, 0, 0, 0, 0))


def _note_rocks(rng: np.random.Generator, tables: Tables) -> None:
    """Measure the largest boulders that the creek has moved."""
    for s_m, n_m in (
        (24, -4),
        (44, 3),
        (64, -5),
        (86, 5),
        (106, -4),
        (144, 4),
        (166, -6),
    ):
        long_m = float(rng.uniform(0.55, 0.95))
        tables.rocks.append(
            {
                **_place(float(s_m), float(n_m)),
                "kind": "boulder",
                "name": str(rng.choice(["quartzite", "granite", "greenstone"])),
                "long_m": f"{long_m:.2f}",
                "middle_m": f"{long_m * rng.uniform(0.65, 0.85):.2f}",
                "short_m": f"{long_m * rng.uniform(0.4, 0.6):.2f}",
                "imbricated": "yes",
                "set_down_by": "water",
            }
        )
    tables.rocks.append(
        {
            "dig": "E4",
            "kind": "bedrock",
            "name": "schist",
            "stain": "rusty",
            "veinlets": "quartz, thin",
            "dip_deg": "72",
            "strike_deg": "118",
        }
    )


def _test_pan_and_bucket(rng: np.random.Generator, tables: Tables) -> None:
    """Put counted grains into tailings and pan them; measure the swell twice."""
    for size_class, put_in, share in (
        ("<0.25", 50, 0.72),
        ("0.25-0.5", 50, 0.9),
        ("0.5-1", 30, 0.97),
        ("1-2", 10, 1.0),
    ):
        tables.pantests.append(
            {
                "by": "panner 1",
                "class": size_class,
                "put_in": str(put_in),
                "found": str(rng.binomial(put_in, share)),
            }
        )
    for bank_l in (40.0, 55.0):
        loose_l = bank_l * (1.0 + TRUE_SWELL) * rng.normal(1.0, 0.02)
        tables.buckets.append(
            {
                "bank_l": f"{bank_l:.1f}",
                "loose_l": f"{loose_l:.1f}",
                "pans": f"{loose_l / PAN_M3 / 1000.0:.1f}",
            }
        )


def _keep_days(tables: Tables) -> None:
    """Write a day for each line."""
    for at, (line, _, date) in enumerate(LINES):
        tables.days.append(
            {
                "date": date,
                "by": "panner 1",
                "hours": f"{8.0 + 0.5 * (at % 3):.1f}",
                "dug_hours": f"{5.0 + 0.25 * (at % 4):.2f}",
                "weather": ("clear", "showers", "cloudy")[at % 3],
                "water_level": ("low", "low", "rising")[at % 3],
                "cost": f"{35 + 5 * (at % 2)}",
                "note": f"line {line}",
            }
        )


def _measure_grains(tables: Tables) -> None:
    """Measure grains on the way down: rough and coarse at the side creek, then worn."""
    # A generator of its own, so that nothing else is drawn otherwise.
    rng = np.random.default_rng(GRAIN_SEED)
    for sample, size_mm, thick, roundness, share_quartz in GRAINS:
        for _ in range(5):
            long_mm = size_mm * float(rng.lognormal(0.0, 0.25))
            middle_mm = long_mm * float(rng.uniform(0.65, 0.9))
            worn = float(np.clip(rng.normal(roundness, 0.07), 0.05, 0.95))
            quartz = rng.random() < share_quartz
            tables.grains.append(
                {
                    "sample": sample,
                    "long_mm": f"{long_mm:.2f}",
                    "middle_mm": f"{middle_mm:.2f}",
                    "short_mm": f"{middle_mm * thick * rng.uniform(0.8, 1.2):.2f}",
                    "roundness": f"{worn:.1f}",
                    "attached": "quartz" if quartz else "none",
                }
            )
