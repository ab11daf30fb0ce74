"""A season of digging and panning on the invented ground, row by row.

Digs are opened along lines across the valley, sampled at every contact, and what is
found is drawn from the hidden truth by a seeded generator.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from pennyweight.demo.panning import CLASSES, pan_sample
from pennyweight.demo.truth import (
    bedrock_depth_m,
    clay_depth_m,
    draw_centerline,
    grade_mg_m3,
)
from pennyweight.units import FOOT_M

Row = dict[str, str]

#: Trench lines: name, meters downstream, day it was dug.
LINES = (
    ("A", 15.0, "2025-06-03"),
    ("B", 35.0, "2025-06-07"),
    ("C", 55.0, "2025-06-12"),
    ("D", 75.0, "2025-06-18"),
    ("E", 95.0, "2025-06-24"),
    ("F", 115.0, "2025-07-01"),
    ("G", 135.0, "2025-07-08"),
    ("H", 155.0, "2025-07-15"),
    ("J", 175.0, "2025-07-23"),
    ("K", 195.0, "2025-07-30"),
)

#: Places of the digs on a line, left to right [m left of the centerline].
ACROSS_M = (9.6, 7.2, 4.8, 2.4, 0.0, -2.4, -4.8, -7.2, -9.6)

#: Digs that did not reach bedrock: what stopped them, and the depth [m].
STOPPED = {
    "A1": ("clay", None),
    "A2": ("clay", None),
    "B1": ("clay", None),
    "C9": ("water", 0.52),
    "E2": ("boulder", 0.49),
    "F8": ("water", 0.55),
    "G9": ("limit", 0.61),
}

#: Volume of the invented pan [m3 loose] and the true swell of the ground [-].
PAN_M3, TRUE_SWELL = 0.006, 0.22

#: Samples that are in their bags and not washed yet.
UNWASHED = ("J8-b", "J9-b", "K7-b", "K8-b", "K9-b")


@dataclass
class Tables:
    """The rows of every file, filled as the season goes on."""

    digs: list[Row] = field(default_factory=list)
    layers: list[Row] = field(default_factory=list)
    samples: list[Row] = field(default_factory=list)
    tallies: list[Row] = field(default_factory=list)
    weighings: list[Row] = field(default_factory=list)
    grains: list[Row] = field(default_factory=list)
    rocks: list[Row] = field(default_factory=list)
    days: list[Row] = field(default_factory=list)
    pantests: list[Row] = field(default_factory=list)
    buckets: list[Row] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a dig truly lies, and how deep it goes [m]."""

    name: str
    line: str
    s_m: float
    n_m: float
    date: str
    clay_m: float | None
    bedrock_m: float
    bottom_m: float
    stopped_by: str


def run_season(rng: np.random.Generator) -> Tables:
    """Return everything that was written down over the season.

    Parameters
    ----------
    rng : numpy.random.Generator
        Of every draw.
    """
    tables = Tables()
    for line, s_m, date in LINES:
        spots = [
            choose_spot(rng, f"{line}{at + 1}", s_m=s_m, n_m=n_m, date=date)
            for at, n_m in enumerate(ACROSS_M)
        ]
        _write_digs(rng, tables, spots)
        found_mg = 0.0
        for spot in spots:
            _write_layers(tables, spot)
            found_mg += _wash_dig(rng, tables, spot)
        _weigh_line(tables, line, found_mg)
    return tables


def choose_spot(
    rng: np.random.Generator, name: str, *, s_m: float, n_m: float, date: str
) -> Spot:
    """Return a dig about where it was planned, down to what stopped it."""
    at_s, at_n = s_m + rng.normal(0.0, 0.3), n_m + rng.normal(0.0, 0.25)
    clay = float(clay_depth_m(np.array([at_s]), np.array([at_n]))[0])
    bedrock = float(bedrock_depth_m(np.array([at_s]), np.array([at_n]))[0])
    why, depth = STOPPED.get(name, ("bedrock", None))
    if why == "clay":
        depth = clay + 0.08
    bottom = bedrock + 0.12 if depth is None else depth
    return Spot(
        name=name,
        line=name[0],
        s_m=at_s,
        n_m=at_n,
        date=date,
        clay_m=clay if np.isfinite(clay) and clay < bedrock - 0.15 else None,
        bedrock_m=bedrock,
        bottom_m=bottom,
        stopped_by=why,
    )


def _write_digs(rng: np.random.Generator, tables: Tables, spots: list[Spot]) -> None:
    """Write where the digs of a line were put down, the receiver's error included."""
    east, north = draw_centerline().to_map(
        [spot.s_m for spot in spots], [spot.n_m for spot in spots]
    )
    shift = rng.normal(0.0, 0.4, 2)
    east, north = east + shift[0], north + shift[1]
    tape = np.array([east[-1] - east[0], north[-1] - north[0]])
    tape /= np.hypot(*tape)
    for at, spot in enumerate(spots):
        row = {
            "dig": spot.name,
            "line": spot.line,
            "kind": "trench",
            "date": spot.date,
            "by": "panner 1" if at % 2 else "panner 2",
            "bottom_ft": f"{spot.bottom_m / FOOT_M:.2f}",
            "stopped_by": spot.stopped_by,
            "water_level": "seep at the foot" if spot.stopped_by == "water" else "",
        }
        if spot.stopped_by == "bedrock":
            row |= _describe_bedrock(rng)
        # Line D was laid out by tape between its two pegs.
        if spot.line == "D" and 0 < at < len(spots) - 1:
            away = np.array([east[at] - east[0], north[at] - north[0]])
            row |= {
                "peg": "D1",
                "toward": f"D{len(spots)}",
                "along_m": f"{away @ tape:.2f}",
                "across_m": f"{away[0] * tape[1] - away[1] * tape[0]:.2f}",
            }
        else:
            row |= {"easting_m": f"{east[at]:.2f}", "northing_m": f"{north[at]:.2f}"}
        if spot.name == "D1":
            row["landmark"] = "4.2 m north of the leaning stump"
        tables.digs.append(row)


def _describe_bedrock(rng: np.random.Generator) -> Row:
    return {
        "bedrock": "schist",
        "fabric": str(rng.choice(["across", "across", "along"])),
        "surface": str(rng.choice(["rough", "rough", "fractured", "smooth"])),
    }


def _write_layers(tables: Tables, spot: Spot) -> None:
    """Write the layers of a wall, top down, in feet."""
    cover_m = 0.14
    clay_m = spot.clay_m
    beds = [
        ("silt", 0.0, cover_m, {"packing": "loose", "matrix": "silty", "wet": "dry"})
    ]
    if clay_m is not None:
        beds.append(
            (
                "gravel",
                cover_m,
                clay_m,
                {"packing": "loose", "matrix": "sandy", "base": "clay"},
            )
        )
        beds.append(
            ("clay", clay_m, clay_m + 0.1, {"packing": "firm", "stain": "blue"})
        )
    beds.append(
        (
            "gravel",
            cover_m if clay_m is None else clay_m + 0.1,
            spot.bedrock_m,
            {
                "packing": "firm",
                "matrix": "clayey" if clay_m is not None else "sandy",
                "wet": "damp",
                "stain": "rusty",
                "base": "bedrock",
                "largest_clast_m": f"{0.18 + 0.02 * (spot.s_m % 7):.2f}",
                "oversize_percent": "20",
            },
        )
    )
    beds.append(("bedrock", spot.bedrock_m, spot.bedrock_m + 0.12, {"packing": "hard"}))
    for material, top_m, bottom_m, words in beds:
        if top_m >= spot.bottom_m - 0.01:
            break
        reached = bottom_m <= spot.bottom_m + 0.01
        kept = words if reached else {k: v for k, v in words.items() if k != "base"}
        tables.layers.append(
            {
                "dig": spot.name,
                "top_ft": f"{top_m / FOOT_M:.2f}",
                "bottom_ft": f"{min(bottom_m, spot.bottom_m) / FOOT_M:.2f}",
                "material": material,
                "worked": "virgin",
                **kept,
            }
        )


def plan_samples(spot: Spot) -> list[tuple[str, float, float, int]]:
    """Return the samples of a wall: letter, top, bottom [m] and pans."""
    planned = []
    foot_m = min(spot.bedrock_m, spot.bottom_m)
    reached = spot.bottom_m > spot.bedrock_m
    above_m = spot.bedrock_m - 0.27
    if spot.clay_m is not None:
        planned.append(("u", 0.15, spot.clay_m - 0.22, 2))
        planned.append(("c", spot.clay_m - 0.22, min(spot.clay_m + 0.05, foot_m), 5))
        above_m = max(above_m, spot.clay_m + 0.1)
    else:
        planned.append(("u", 0.15, min(above_m, foot_m), 3))
    if foot_m - above_m > 0.05:
        planned.append(("b", above_m, foot_m, 8))
    if reached:
        planned.append(("r", spot.bedrock_m, spot.bedrock_m + 0.12, 3))
    return [one for one in planned if one[2] - one[1] > 0.04]


def _wash_dig(rng: np.random.Generator, tables: Tables, spot: Spot) -> float:
    """Wash the samples of a dig; return the gold found [mg]."""
    whole = 0.0
    for letter, top_m, bottom_m, pans in plan_samples(spot):
        name = f"{spot.name}-{letter}"
        row = {
            "sample": name,
            "dig": spot.name,
            "top_m": f"{top_m:.2f}",
            "bottom_m": f"{bottom_m:.2f}",
            "method": "pan",
            "date": spot.date,
            "by": "panner 1",
        }
        loose_m3 = pans * PAN_M3
        if spot.line in "CG" and letter == "b":
            row |= {"volume_l": f"{loose_m3 * 1000.0:.1f}", "state": "loose"}
        else:
            row["pans"] = str(pans)
        if spot.line in "FG" and letter in "ub":
            held_m3 = round(loose_m3 * rng.uniform(0.1, 0.25), 4)
            row |= {"screen_mm": "12", "oversize_l": f"{held_m3 * 1000.0:.1f}"}
            loose_m3 += held_m3
        if name in UNWASHED:
            row["note"] = "bagged, not washed yet"
            tables.samples.append(row)
            continue
        place = spot.s_m, spot.n_m
        whole += wash(rng, tables, row, place=place, loose_m3=loose_m3)
    return whole


def wash(
    rng: np.random.Generator,
    tables: Tables,
    row: Row,
    *,
    place: tuple[float, float],
    loose_m3: float,
) -> float:
    """Wash one sample, write it with its tallies and return its gold [mg]."""
    grade, color_mm = grade_mg_m3(
        *place, top_m=float(row["top_m"]), bottom_m=float(row["bottom_m"])
    )
    panned = pan_sample(
        rng,
        grade_mg_m3=grade,
        bank_m3=loose_m3 / (1.0 + TRUE_SWELL),
        color_mm=color_mm,
    )
    # The balance reads to 1 mg; small catches are kept for weighing together.
    if panned.whole_mg >= 8.0:
        row |= {"weighed_mg": f"{panned.whole_mg:.0f}", "balance_mg": "1"}
    tables.samples.append(row)
    write_tallies(tables, row["sample"], panned.colors)
    return (
        float(f"{panned.whole_mg:.0f}") if panned.whole_mg >= 8.0 else panned.whole_mg
    )


def write_tallies(tables: Tables, sample: str, colors: tuple[int, ...]) -> None:
    """Write the colors of a sample by class; none at all is a zero of class all."""
    if sum(colors) == 0:
        tables.tallies.append({"sample": sample, "class": "all", "colors": "0"})
        return
    tables.tallies.extend(
        {"sample": sample, "class": name, "colors": str(number)}
        for name, number in zip(CLASSES, colors, strict=True)
    )


def _weigh_line(tables: Tables, line: str, found_mg: float) -> None:
    """Weigh the gold of a whole line together, on four of the lines."""
    if line not in "ACFH":
        return
    tallied = {row["sample"] for row in tables.tallies}
    names = [
        row["sample"]
        for row in tables.samples
        if row["dig"].startswith(line) and row["sample"] in tallied
    ]
    colors = sum(
        int(row["colors"]) for row in tables.tallies if row["sample"] in set(names)
    )
    tables.weighings.append(
        {
            "weighing": f"vial {line}",
            "samples": " ".join(names),
            "weighed_mg": f"{found_mg:.0f}",
            "colors": str(colors),
        }
    )
