"""An invented creek, answered: what the pictures and the paper are drawn from.

Nobody dug these holes. Seven lines of digs cross a bent valley; two streaks on
bedrock come together, a third on false bedrock joins them lower down; line 1 is
barren. Numbers are plausible, not computed by the rooms below.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np
from scipy.ndimage import gaussian_filter

from pennyweight.answers.answer import BookName
from pennyweight.answers.diary import DiaryAnswer, DiaryDay, Progress
from pennyweight.answers.grade import DigGrade, GradeAnswer, SampleGrade
from pennyweight.answers.ground import (
    GroundAnswer,
    LineOfDigs,
    PlacedDig,
    PlacedFeature,
)
from pennyweight.answers.mapping import GroundMap
from pennyweight.answers.nextdigs import Gain, NextAnswer, ProposedDig
from pennyweight.answers.trace import (
    Area,
    Beyond,
    Confluence,
    HandJoin,
    Link,
    Merge,
    OneBy,
    PathPoint,
    Streak,
    Total,
    TraceAnswer,
    ValleyField,
)
from pennyweight.answers.worth import Cut, Season, SeasonBlock, WorthAnswer
from pennyweight.answers.worthparts import Cash, CashWeek, PriceMap, PriceRow
from pennyweight.errors import Finding
from pennyweight.records import Layer
from pennyweight.spread import Spread, spread_of
from pennyweight.terrain.elevation import ElevationModel
from pennyweight.valley.coordinates import Centerline
from pennyweight.worth.risk import Swing

HEADING: dict[str, Any] = {
    "book": BookName(name="Made Creek (invented)", id="book-1"),
    "made_at": "2026-07-14T18:30:00+00:00",
    "version": "0.1.0",
    "seed": 1,
}
ASSUMPTIONS = {"swell": 0.25, "pan_volume_l": 9.5, "recovery_share": 0.85}
LINES_S_M = {"1": 28.0, "2": 52.0, "3": 74.0, "4": 97.0, "5": 121.0, "6": 146.0}
LINES_S_M["7"] = 170.0
CUTOFF_MG_M3 = 150.0


def spread(middle: float, share: float = 0.3) -> Spread:
    """Return a spread around a middle, skewed as grades are."""
    low, high = middle / (1.0 + share), middle * (1.0 + share)
    return Spread(low, middle, high, middle * (1.0 + share**2 / 4.0))


def shift(middle: float, half: float) -> Spread:
    """Return an even spread around a middle."""
    return Spread(middle - half, middle, middle + half, middle)


@cache
def centerline() -> Centerline:
    """Return a line down a valley that bends twice, toward the south-east."""
    along = np.linspace(0.0, 200.0, 21)
    bend = 14.0 * np.sin(along / 38.0)
    east = 612_040.0 + along * 0.86 + bend * 0.5
    north = 5_401_190.0 - along * 0.51 + bend * 0.86
    return Centerline(east, north)


def left_m(streak: str, s_m: float) -> float:
    """Return where the middle of a streak truly runs."""
    if streak == "B":
        return float(9.5 - 7.0 / (1.0 + np.exp(-(s_m - 85.0) / 9.0)))
    if streak == "C":
        return float(-8.5 + 9.0 / (1.0 + np.exp(-(s_m - 90.0) / 8.0)))
    if streak == "D":
        return float(-13.0 + 12.0 / (1.0 + np.exp(-(s_m - 138.0) / 7.0)))
    return float(1.6 + 1.5 * np.sin((s_m - 100.0) / 20.0))


RUNS = {
    "B": ("bedrock", 46.0, 104.0, 0.95, 640.0, 3.0),
    "C": ("bedrock", 50.0, 104.0, 0.83, 420.0, 2.4),
    "A": ("bedrock", 104.0, 152.0, 0.97, 900.0, 4.4),
    "D": ("false-1", 70.0, 152.0, 0.58, 310.0, 2.6),
    "E": ("bedrock", 152.0, 178.0, 0.90, 780.0, 5.0),
}


def bedrock_m(s_m: float, n_m: float) -> float:
    """Return the depth of bedrock below the surface."""
    hollow = 0.75 * np.exp(-((n_m / 9.0) ** 2))
    return float(1.1 + hollow + 0.12 * np.sin(s_m / 15.0 + n_m / 6.0))


def surface_m(s_m: float, n_m: float) -> float:
    """Return the elevation of the surface."""
    walls = 0.0016 * max(abs(n_m) - 14.0, 0.0) ** 2 * 4.0
    banks = 0.35 * (1.0 - np.exp(-((n_m / 7.0) ** 2)))
    return float(742.0 - 0.028 * s_m + walls + banks)


def truth_mg_m3(s_m: float, n_m: float, horizon: str) -> float:
    """Return the grade of the pay at a place."""
    total = 6.0
    for name, (lies, start, end, _, grade, width) in RUNS.items():
        if lies == horizon and start - 4.0 <= s_m <= end + 4.0:
            off = (n_m - left_m(name, s_m)) / (width * 0.75)
            total += grade * np.exp(-(off**2))
    return float(total)


def _places() -> list[tuple[str, str, float, float]]:
    found = []
    for line, s_m in LINES_S_M.items():
        lefts = np.linspace(15.0, -15.5, 8 if line in "345" else 6)
        for number, n_m in enumerate(lefts):
            wobble = 0.7 * np.sin(number * 2.4 + s_m)
            name = f"{line}{'ABCDEFGH'[number]}"
            found.append((name, line, s_m + 0.8 * np.cos(number * 3.0), n_m + wobble))
    return found


def _has_clay(s_m: float, n_m: float) -> bool:
    return n_m < -1.0 and 65.0 < s_m < 155.0


def _layers(name: str, s_m: float, n_m: float, bottom_m: float) -> list[Layer]:
    deep = bedrock_m(s_m, n_m)
    cuts: list[tuple[float, float, dict[str, str]]] = [
        (0.0, 0.22, {"material": "topsoil", "packing": "loose"}),
        (0.22, 0.55, {"material": "sand", "matrix": "silty"}),
    ]
    if _has_clay(s_m, n_m):
        clay = 0.62 * deep
        cuts += [
            (0.55, clay, {"material": "gravel", "packing": "loose"}),
            (clay, clay + 0.14, {"material": "clay", "packing": "firm"}),
            (clay + 0.14, deep, {"material": "gravel", "packing": "hard"}),
        ]
    else:
        cuts += [
            (0.55, deep - 0.35, {"material": "gravel", "packing": "loose"}),
            (deep - 0.35, deep, {"material": "boulders", "wet": "under_water"}),
        ]
    return [
        Layer(dig=name, top_m=top, bottom_m=min(low, bottom_m), **words)  # type: ignore[arg-type]
        for top, low, words in cuts
        if top < bottom_m - 0.02
    ]


def _stop(index: int, s_m: float, n_m: float) -> tuple[float, str]:
    deep = bedrock_m(s_m, n_m)
    if index % 9 == 4:
        return deep * 0.8, "water"
    if index % 13 == 7:
        return deep * 0.72, "boulder"
    return deep, "bedrock"


@cache
def made() -> dict[str, Any]:
    """Return the digs, samples and layers of the invented creek."""
    line_of_center = centerline()
    rng = np.random.default_rng(7)
    digs, layers, samples, grades = [], [], [], []
    for index, (name, line, s_m, n_m) in enumerate(_places()):
        east, north = (float(one[0]) for one in line_of_center.to_map(s_m, n_m))
        bottom, stopped = _stop(index, s_m, n_m)
        seen = _layers(name, s_m, n_m, bottom)
        mine = [
            _sample(f"{name}-{i}", layer, (s_m, n_m), line, rng)
            for i, layer in enumerate(seen[1:], 1)
        ]
        waiting = tuple(one.sample for one in mine if one.colors is None)
        digs.append(
            PlacedDig(
                dig=name,
                line=line,
                kind="trench",
                easting_m=east,
                northing_m=north,
                s_m=s_m,
                n_m=n_m,
                surface_m=surface_m(s_m, n_m),
                bottom_m=bottom,
                stopped_by=stopped,
                samples=len(mine),
                unwashed=len(waiting),
            )
        )
        layers += seen
        samples += mine
        grades.append(_dig_grade(digs[-1], mine, waiting))
    return {"digs": digs, "layers": layers, "samples": samples, "grades": grades}


def _sample(
    name: str,
    layer: Layer,
    place: tuple[float, float],
    line: str,
    rng: np.random.Generator,
) -> SampleGrade:
    s_m, n_m = place
    on_rock = layer.bottom_m > bedrock_m(s_m, n_m) - 0.05
    above_clay = _has_clay(s_m, n_m) and layer.material == "gravel" and not on_rock
    grade = 4.0
    if line != "1" and (on_rock or above_clay):
        grade = truth_mg_m3(s_m, n_m, "bedrock" if on_rock else "false-1")
    bank_m3 = 0.024
    colors = float(rng.poisson(grade * bank_m3 / 0.45))
    middle = max(colors * 0.45 / bank_m3, 0.0)
    if name in {"6B-3", "7C-3", "7E-2"}:
        return _unwashed(name, layer, line)
    share = 1.28 / np.sqrt(colors + 1.0) + 0.08
    found = spread(middle, share) if colors else Spread(0.2, 8.0, 32.0, 14.0)
    reliability = "good" if share < 0.25 else "fair" if share < 0.6 else "poor"
    return SampleGrade(
        sample=name,
        dig=layer.dig,
        line=line,
        top_m=layer.top_m,
        bottom_m=layer.bottom_m,
        bank_m3=bank_m3,
        colors=colors,
        grade_mg_m3=found,
        reliability=reliability,
        expected_colors_at_cutoff=CUTOFF_MG_M3 * bank_m3 / 0.45,
    )


def _unwashed(name: str, layer: Layer, line: str) -> SampleGrade:
    return SampleGrade(
        sample=name,
        dig=layer.dig,
        line=line,
        top_m=layer.top_m,
        bottom_m=layer.bottom_m,
        bank_m3=None,
        colors=None,
        grade_mg_m3=None,
        reliability="none",
        why="not washed yet",
    )


def _dig_grade(
    dig: PlacedDig, mine: list[SampleGrade], waiting: tuple[str, ...]
) -> DigGrade:
    washed = [one for one in mine if one.grade_mg_m3 is not None and not waiting]
    best = max(washed, key=lambda one: one.grade_mg_m3.p50, default=None)  # type: ignore[union-attr]
    top = best.top_m if best else None
    bottom = best.bottom_m if best else None
    grade = best.grade_mg_m3 if best else None
    if best is not None and best.colors == 0:
        grade = Spread(0.2, 8.0, 32.0, 14.0)
    return DigGrade(
        dig=dig.dig,
        line=dig.line,
        easting_m=dig.easting_m,
        northing_m=dig.northing_m,
        s_m=dig.s_m,
        n_m=dig.n_m,
        best_horizon=_horizon(dig, best),
        pay_top_m=top,
        pay_bottom_m=bottom,
        overburden_m=top,
        grade_mg_m3=grade,
        accumulation_mg_m2=grade.scaled((bottom or 0.0) - (top or 0.0))
        if grade
        else None,
        bottom_m=dig.bottom_m,
        stopped_by=dig.stopped_by,
        unwashed=waiting,
    )


def _horizon(dig: PlacedDig, best: SampleGrade | None) -> str | None:
    if best is None or best.bottom_m is None or dig.s_m is None or dig.n_m is None:
        return None
    deep = bedrock_m(dig.s_m, dig.n_m)
    return "bedrock" if best.bottom_m > deep - 0.05 else "false-1"


@cache
def elevation() -> ElevationModel:
    """Return the surface around the creek on a 2-m grid."""
    west, north, cell, rows, columns = 611_990.0, 5_401_280.0, 2.0, 130, 150
    east_m = west + (np.arange(columns) + 0.5) * cell
    north_m = north - (np.arange(rows) + 0.5) * cell
    easts, norths = np.meshgrid(east_m, north_m)
    s_m, n_m = centerline().to_valley(easts.ravel(), norths.ravel())
    off = np.abs(n_m)
    slope = 0.42 * np.maximum(off - 15.0, 0.0) ** 1.06
    rough = gaussian_filter(
        np.random.default_rng(3).normal(size=(rows, columns)), 4.0
    ).ravel()
    height = 742.0 - 0.028 * s_m + 0.012 * np.minimum(off, 15.0) ** 1.5 + slope
    height = height + rough * np.minimum(0.25 + off / 8.0, 9.0)
    return ElevationModel(height.reshape(rows, columns), west, north, cell)


def ground(*, terrain: bool = True) -> GroundAnswer:
    """Answer: what have I seen."""
    all_made = made()
    digs = tuple(all_made["digs"])
    unwashed = tuple(
        one.sample for one in all_made["samples"] if one.grade_mg_m3 is None
    )
    along = np.linspace(2.0, 196.0, 60)
    creek = np.column_stack(centerline().to_map(along, 5.0 * np.sin(along / 22.0) - 2))
    corners = centerline().to_map(
        [8, 60, 120, 192, 192, 120, 60, 8], [34] * 4 + [-32] * 4
    )
    return GroundAnswer(
        **HEADING,
        assumptions=ASSUMPTIONS,
        name="Made Creek (invented)",
        crs="EPSG:32610",
        digs=digs,
        lines=tuple(
            LineOfDigs(
                line=line,
                s_m=s_m,
                digs=tuple(one.dig for one in digs if one.line == line),
            )
            for line, s_m in LINES_S_M.items()
        ),
        samples=len(all_made["samples"]),
        unwashed=unwashed,
        findings=(
            Finding(
                "dig 3F, layer 3",
                "a gap of 0.06 m lies between 0.72 m and 0.78 m.",
                "Look at the wall again.",
                "doubt",
            ),
        ),
        features=(
            PlacedFeature(
                role="water", name="Made Creek", closed=False, parts=(creek,)
            ),
            PlacedFeature(
                role="boundary",
                name="claim",
                closed=True,
                parts=(np.column_stack(corners),),
            ),
        ),
        centerline=centerline(),
        elevation=elevation() if terrain else None,
        layers=tuple(all_made["layers"]),
    )


def grade() -> GradeAnswer:
    """Answer: what does each pan say."""
    all_made = made()
    return GradeAnswer(
        **HEADING,
        assumptions=ASSUMPTIONS,
        cautions=("3 samples are not washed yet and count for nothing.",),
        samples=tuple(all_made["samples"]),
        digs=tuple(all_made["grades"]),
    )


def _path(name: str) -> tuple[PathPoint, ...]:
    horizon, start, end, probability, grade_mg_m3, width = RUNS[name]
    stops = sorted(
        {
            *np.arange(start, end, 4.0),
            end,
            *(s for s in LINES_S_M.values() if start <= s <= end),
        }
    )
    points = []
    for s_m in stops:
        n_m = left_m(name, float(s_m))
        nearest = min(abs(s_m - one) for one in LINES_S_M.values())
        east, north = (float(one[0]) for one in centerline().to_map(s_m, n_m))
        deep = bedrock_m(float(s_m), n_m) * (0.62 if horizon != "bedrock" else 1.0)
        at = [line for line, place in LINES_S_M.items() if place == s_m]
        points.append(
            PathPoint(
                s_m=float(s_m),
                n_m=n_m,
                center_n_m=shift(n_m, 0.5 + nearest * 0.14),
                easting_m=east,
                northing_m=north,
                probability=probability * (1.0 - 0.01 * nearest),
                top_m=shift(deep - 0.4, 0.06 + nearest * 0.012),
                thickness_m=spread(0.4, 0.25),
                width_m=spread(width, 0.35),
                grade_mg_m3=spread(grade_mg_m3, 0.4),
                line=at[0] if at else None,
            )
        )
    return tuple(points)


LINKS = {
    "B": [("2", "3", 0.92), ("3", "4", 0.81)],
    "C": [("2", "3", 0.71), ("3", "4", 0.62)],
    "A": [("4", "5", 0.96), ("5", "6", 0.88)],
    "D": [("3", "4", 0.41), ("4", "5", 0.52), ("5", "6", 0.36)],
    "E": [("6", "7", 0.86)],
}


def _streaks() -> tuple[Streak, ...]:
    gold = {"A": 190.0, "B": 120.0, "C": 74.0, "D": 46.0, "E": 31.0}
    return tuple(
        Streak(
            id=name,
            probability=RUNS[name][3],
            horizon=RUNS[name][0],
            path=_path(name),
            links=tuple(
                Link(from_line=start, to_line=end, probability=chance)
                for start, end, chance in LINKS[name]
            ),
            gold_g=spread(grams, 0.5),
            gravel_m3=spread(grams * 1.6, 0.4),
            beyond=_beyond() if name == "E" else (),
        )
        for name, grams in gold.items()
    )


def _beyond() -> tuple[Beyond, ...]:
    """Return how streak E may go on below the last line."""
    found = []
    for step in range(1, 5):
        s_m = 171.0 + 5.0 * step
        n_m = left_m("E", 171.0)
        east, north = (float(one[0]) for one in centerline().to_map(s_m, n_m))
        found.append(
            Beyond(
                toward="downstream",
                s_m=s_m,
                n_m=n_m,
                center_n_m=shift(n_m, 1.0 + 0.6 * step),
                easting_m=east,
                northing_m=north,
                probability=0.8 - 0.1 * step,
            )
        )
    return tuple(found)


def _confluence() -> Confluence:
    """Return where streaks B and C become one."""
    places = []
    for at, chance in enumerate((0.05, 0.2, 0.45, 0.6, 0.7)):
        s_m = 94.0 + 5.0 * at
        n_m = left_m("A", s_m)
        east, north = (float(one[0]) for one in centerline().to_map(s_m, n_m))
        places.append(
            OneBy(
                s_m=s_m,
                n_m=n_m,
                easting_m=east,
                northing_m=north,
                probability=chance,
            )
        )
    return Confluence(
        streaks=("B", "C"),
        probability=0.7,
        s_m=shift(104.0, 8.0),
        easting_m=places[2].easting_m,
        northing_m=places[2].northing_m,
        one_by=tuple(places),
    )


def _merge(streaks: tuple[str, str], into: str, s_m: float, chance: float) -> Merge:
    east, north = (float(one[0]) for one in centerline().to_map(s_m, left_m(into, s_m)))
    return Merge(
        from_=streaks,
        into=into,
        s_m=s_m,
        easting_m=east,
        northing_m=north,
        probability=chance,
    )


@cache
def fields() -> tuple[ValleyField, ...]:
    """Return joint draws of both horizons on a valley grid."""
    rng = np.random.default_rng(11)
    s_m, n_m = np.arange(12.0, 190.0, 2.0), np.arange(-22.0, 22.5, 1.0)
    found = []
    for horizon in ("false-1", "bedrock"):
        grades = np.array([[truth_mg_m3(s, n, horizon) for n in n_m] for s in s_m])
        noise = np.array(
            [
                gaussian_filter(rng.normal(size=grades.shape), (5.0, 1.6)) * 4.4
                for _ in range(60)
            ]
        )
        thickness = np.full(noise.shape, 0.4, dtype=np.float32)
        accumulation = (grades * 0.4 * np.exp(1.2 * noise)).astype(np.float32)
        above = accumulation > CUTOFF_MG_M3 * 0.4
        top = np.array([[bedrock_m(s, n) - 0.4 for n in n_m] for s in s_m])
        inside = (s_m[:, None] > 27.0) & (s_m[:, None] < 171.0) & (abs(n_m) < 15.5)
        found.append(
            ValleyField(
                horizon=horizon,
                s_m=s_m,
                n_m=n_m,
                accumulation_mg_m2=accumulation,
                thickness_m=thickness,
                top_m=np.broadcast_to(top, noise.shape).astype(np.float32),
                probability_above=above.mean(axis=0),
                sampled=inside,
            )
        )
    return tuple(found)


def _hand_joins() -> tuple[HandJoin, ...]:
    best: dict[str, tuple[float, DigGrade]] = {}
    for dig in made()["grades"]:
        if dig.grade_mg_m3 is not None and dig.line != "1":
            held = best.get(dig.line, (0.0, dig))
            best[dig.line] = max(held, (dig.grade_mg_m3.p50, dig), key=lambda x: x[0])
    ordered = [best[line][1] for line in LINES_S_M if line in best]
    return tuple(
        HandJoin(
            from_dig=one.dig,
            to_dig=other.dig,
            s_m=(one.s_m or 0.0, other.s_m or 0.0),
            n_m=(one.n_m or 0.0, other.n_m or 0.0),
        )
        for one, other in pairwise(ordered)
    )


def trace() -> TraceAnswer:
    """Answer: where does it run."""
    draws = np.random.default_rng(5).lognormal(np.log(430.0), 0.32, 200)
    return TraceAnswer(
        **HEADING,
        assumptions={"cutoff_mg_m3": CUTOFF_MG_M3, "min_pay_m": 0.3},
        cautions=("Between lines the streaks are inferred, not seen.",),
        cutoff_mg_m3=CUTOFF_MG_M3,
        probability_of_any=0.99,
        streaks=_streaks(),
        merges=(
            _merge(("B", "C"), "A", 104.0, 0.67),
            _merge(("A", "D"), "E", 152.0, 0.44),
        ),
        confluences=(_confluence(),),
        splits=(),
        total=Total(
            gold_g=spread_of(draws),
            gravel_m3=spread(4100.0, 0.08),
            gold_g_above_cutoff=spread_of(draws * 0.8),
            outline=None,
        ),
        area=Area(s0_m=11.0, s1_m=190.0, n0_m=-22.5, n1_m=22.5),
        fields=fields(),
        hand_joins=_hand_joins(),
        gold_draws_g=draws,
    )


def worth(*, losing: bool = False) -> WorthAnswer:
    """Answer: is it worth it."""
    middle = -2_000.0 if losing else 9_500.0
    margin = np.random.default_rng(9).normal(middle, 9_000.0, 200)
    corners = centerline().to_map([90, 172, 172, 90], [6, 6, -5, -5])
    return WorthAnswer(
        **HEADING,
        cautions=(
            "Wall slopes of the cut are an assumption; water was met in 5 digs.",
        ),
        assumptions={"plant_m3_per_hour": 3.0, "plant_recovery_share": 0.8},
        cut=Cut(
            polygon=GroundMap("EPSG:32610").polygon(*corners),
            depth_m=shift(1.5, 0.15),
            overburden_m3=830.0,
            pay_m3=360.0,
            strip_ratio=2.3,
            s0_m=90.0,
            s1_m=172.0,
            n0_m=-5.0,
            n1_m=6.0,
        ),
        gold_g=spread(310.0, 0.45),
        recovered_g=spread(250.0, 0.45),
        revenue=spread(19_800.0, 0.45),
        cost=spread(10_300.0, 0.1),
        margin=spread_of(margin),
        chance_of_loss=float((margin < 0).mean()),
        break_even_grade_mg_m3=410.0,
        season=Season(
            days=24.0,
            hours=160.0,
            m3_per_hour=2.25,
            blocks=tuple(
                SeasonBlock(
                    s0_m=90.0 + 20.5 * i,
                    s1_m=110.5 + 20.5 * i,
                    overburden_m3=207.0,
                    pay_m3=90.0,
                    hours=40.0,
                    margin=shift(3_200.0 - 1_100.0 * i, 4_000.0),
                )
                for i in range(4)
            ),
        ),
        verdict=(
            "The lower half of the ground is likely to pay; the chance of losing "
            f"money is {(margin < 0).mean():.0%}."
        ),
        currency="USD",
        margin_draws=margin,
        cash=purse(),
        prices=prices(),
        price_map=price_map(),
        swings=(
            Swing(name="price_per_g", low=-1_400.0, high=9_800.0),
            Swing(name="gold", low=-900.0, high=8_700.0),
            Swing(name="recovery", low=1_300.0, high=4_600.0),
            Swing(name="m3_per_hour", low=2_100.0, high=4_100.0),
            Swing(name="fixed", low=2_900.0, high=3_700.0),
        ),
    )


def purse() -> Cash:
    """Purse of eight weeks: 2,000 laid out, lower still while it is stripped."""
    middles = [-2_000.0, -3_100.0, -2_700.0, -1_200.0, 400.0, 1_500.0, 2_400.0, 3_000.0]
    return Cash(
        weeks=tuple(
            CashWeek(week=week, cash=shift(middle, 100.0 + 700.0 * week))
            for week, middle in enumerate(middles)
        ),
        at_risk=shift(3_200.0, 400.0),
        at_risk_upstream=1_300.0,
        at_risk_in_order=1_300.0,
        is_upstream=True,
        paid_back_week=4,
        weeks_taken=shift(7.0, 1.0),
        worth_today=None,
        cut_off=False,
    )


def prices() -> tuple[PriceRow, ...]:
    """Ground that goes at four prices about 92 a gram."""
    return tuple(
        PriceRow(
            price_per_g=92.0 * share,
            price_share=share,
            area_m2=900.0 * share,
            overburden_m3=800.0 * share,
            pay_m3=360.0 * share,
            recovered_g=210.0 * share**0.5,
            margin=9_500.0 * (share - 0.6),
            margin_at_todays_price=3_100.0 - 6_000.0 * (share - 1.0) ** 2,
        )
        for share in (0.5, 0.8, 1.0, 1.5)
    )


def price_map() -> PriceMap:
    """Streak 80 m long whose middle goes first."""
    s_edges_m, n_edges_m = np.linspace(90.0, 170.0, 41), np.linspace(-8.0, 8.0, 9)
    s_m = (s_edges_m[1:] + s_edges_m[:-1])[:, None] / 2.0
    n_m = (n_edges_m[1:] + n_edges_m[:-1]) / 2.0
    far = np.hypot((s_m - 130.0) / 40.0, (n_m - 1.0) / 6.0)
    share = np.select(
        [far < 0.4, far < 0.7, far < 0.9, far < 1.0], [0.5, 0.8, 1.0, 1.5]
    )
    return PriceMap(
        s_edges_m=s_edges_m,
        n_edges_m=n_edges_m,
        price_share=np.where(share > 0.0, share, np.nan),
    )


def nextdigs() -> NextAnswer:
    """Answer: what next."""
    wanted = [
        (112.0, 3.0, "between lines 4 and 5: whether B and C have joined by here"),
        (159.0, -1.5, "between lines 6 and 7: whether D comes in here"),
        (85.0, -9.5, "on the right streak, where the link is weakest"),
        (180.0, 2.0, "below the last line: whether the pay goes on"),
    ]
    digs = []
    for rank, (s_m, n_m, why) in enumerate(wanted, 1):
        east, north = (float(one[0]) for one in centerline().to_map(s_m, n_m))
        digs.append(
            ProposedDig(
                rank=rank,
                easting_m=east,
                northing_m=north,
                line=None,
                kind="pit",
                depth_m=1.7,
                pans=12.0,
                hours=3.5,
                gain=Gain(money=900.0 / rank, chance_of_wrong_decision=0.04 / rank),
                why=why,
                s_m=s_m,
                n_m=n_m,
            )
        )
    return NextAnswer(
        **HEADING,
        digs=tuple(digs),
        hours=14.0,
        cautions=("A wall can fall at any depth; slope or shore it, stay out alone.",),
        verdict="Open the pit between lines 4 and 5 first.",
    )


def diary() -> DiaryAnswer:
    """Answer: the days so far, most of them with a dig or two."""
    days = tuple(
        DiaryDay(
            date=f"2026-0{6 + number // 25}-{number % 25 + 1:02}",
            written=number % 3 > 0,
            by="invented",
            weather=None,
            water_level=None,
            note=None,
            hours=8.0,
            dug_hours=5.0,
            cost=None,
            digs=tuple(f"{number}-{at}" for at in range(number % 4)),
            samples=(),
            pans=0.0,
            colors=0.0,
        )
        for number in range(0, 60, 2)
    )
    return DiaryAnswer(
        **HEADING,
        days=days,
        months=(),
        progress=(Progress(what="digs", done=30.0, planned=48.0),),
        currency="USD",
    )
