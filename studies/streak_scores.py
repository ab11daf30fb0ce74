"""How near an answer comes to a made ground's truth: recall, merges, coverage."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from simulated_ground import EAST_M, NORTH_M, Track, Truth

from pennyweight.answers.trace import TraceAnswer
from pennyweight.streaks.fit import StreakFit
from pennyweight.streaks.tracing import Traced

FloatArray = npt.NDArray[np.float64]

#: A path this near to a true middle has found it [m].
NEAR_M = 2.0
#: A merge told within this many line gaps along, and this far across, is found.
MERGE_GAPS, MERGE_ACROSS_M = 1.5, 5.0
#: What is claimed: streaks and points at least this likely.
CLAIMED = 0.5


@dataclass
class Score:
    """Counts of one ground; sums over grounds give shares."""

    true_m: float = 0.0
    found_m: float = 0.0
    claimed_m: float = 0.0
    right_m: float = 0.0
    merges: int = 0
    merges_found: int = 0
    merges_false: int = 0
    gold_held: list[bool] = field(default_factory=list)
    gold_ratio: list[float] = field(default_factory=list)
    width_held: list[bool] = field(default_factory=list)
    width_ratio: list[float] = field(default_factory=list)
    place_held: list[bool] = field(default_factory=list)
    place_m: list[float] = field(default_factory=list)
    brier: list[float] = field(default_factory=list)
    any_streak: list[bool] = field(default_factory=list)
    grounds: list[tuple[float, ...]] = field(default_factory=list)
    """True, found, claimed and right meters, links and their squared misses so far."""

    def close(self) -> None:
        """Keep the sums at the end of a ground, so that grounds can be drawn anew."""
        sums = (self.true_m, self.found_m, self.claimed_m, self.right_m)
        self.grounds.append((*sums, float(len(self.brier)), float(sum(self.brier))))


@dataclass(frozen=True)
class Path:
    """A claimed path in true coordinates."""

    horizon: str
    s_m: FloatArray
    n_m: FloatArray


def is_there(truth: Truth, track: Track) -> npt.NDArray[np.bool_]:
    """Tell meter by meter whether a true streak is above the cutoff."""
    crest = track.crest_mg_m2 + truth.kind.background_mg_m2
    return np.asarray((track.crest_mg_m2 > 0) & (crest > truth.threshold_mg_m2()))


def sampled(truth: Truth) -> tuple[float, float]:
    """Return where the sampled stretch begins and ends [m]."""
    return 0.0, truth.kind.line_gap_m * (truth.kind.n_lines - 1)


def claimed_paths(answer: TraceAnswer) -> list[Path]:
    """Return the paths that an answer claims, in true coordinates."""
    paths = []
    for streak in answer.streaks:
        points = [one for one in streak.path if one.probability >= CLAIMED]
        if streak.probability < CLAIMED or not points:
            continue
        paths.append(
            Path(
                streak.horizon,
                np.array([one.easting_m - EAST_M for one in points]),
                np.array([one.northing_m - NORTH_M for one in points]),
            )
        )
    return paths


def matches(horizon: str, track: Track) -> bool:
    """Tell whether a told streak may be a true one.

    Where no dig met the contact that the gold lies on, `gravel` is its right name.
    """
    return horizon in (track.horizon, "gravel")


def score_paths(score: Score, paths: Sequence[Path], truth: Truth) -> None:
    """Add recall and precision by length."""
    first, last = sampled(truth)
    s_m = truth.s_m
    inside = (s_m >= first) & (s_m <= last)
    for track in truth.tracks:
        there = is_there(truth, track) & inside
        near = np.zeros(len(s_m), dtype=bool)
        for path in paths:
            if matches(path.horizon, track):
                at = np.interp(s_m, path.s_m, path.n_m, left=np.nan, right=np.nan)
                near |= np.abs(at - track.n_m) <= NEAR_M
        score.true_m += float(there.sum())
        score.found_m += float((there & near).sum())
    for path in paths:
        covered = inside & (s_m >= path.s_m[0]) & (s_m <= path.s_m[-1])
        at = np.interp(s_m, path.s_m, path.n_m)
        right = np.zeros(len(s_m), dtype=bool)
        for track in truth.tracks:
            if matches(path.horizon, track):
                right |= is_there(truth, track) & (np.abs(at - track.n_m) <= NEAR_M)
        score.claimed_m += float(covered.sum())
        score.right_m += float((covered & right).sum())


def true_merges(truth: Truth) -> list[tuple[float, float, str]]:
    """Return the merges of two streaks that are both above the cutoff above them.

    Where one of the two lies on another contact they pass over one another.
    """
    first, last = sampled(truth)
    gap = truth.kind.line_gap_m
    found: list[tuple[float, float, str]] = []
    if len({track.horizon for track in truth.tracks[:2]}) > 1:
        return found
    for s_m, n_m, horizon in truth.merges:
        both = [
            is_there(truth, track)[(truth.s_m > s_m - gap) & (truth.s_m < s_m)].mean()
            for track in truth.tracks[:2]
        ]
        if min(both) > 0.5 and first + gap / 2.0 < s_m < last:
            found.append((s_m, n_m, horizon))
    return found


def score_merges(
    score: Score, claimed: Sequence[tuple[float, float]], truth: Truth
) -> None:
    """Add merges found and claimed in vain; places are in true coordinates."""
    left = list(claimed)
    for s_m, n_m, _ in true_merges(truth):
        score.merges += 1
        reach = MERGE_GAPS * truth.kind.line_gap_m
        hits = [
            one
            for one in left
            if abs(one[0] - s_m) <= reach and abs(one[1] - n_m) <= MERGE_ACROSS_M
        ]
        if hits:
            score.merges_found += 1
            left.remove(min(hits, key=lambda one: abs(one[0] - s_m)))
    score.merges_false += len(left)


def true_gold_g(truth: Truth, ring: Sequence[Sequence[float]]) -> float:
    """Return the gold inside a ring of true (s, n) places [g]."""
    from shapely import Polygon, contains_xy  # noqa: PLC0415 - only here

    s_m, n_m = np.meshgrid(truth.s_m, truth.n_m, indexing="ij")
    inside = contains_xy(Polygon(ring), s_m, n_m)
    cell = (truth.s_m[1] - truth.s_m[0]) * (truth.n_m[1] - truth.n_m[0])
    total = sum(float(field[inside].sum()) for field in truth.field.values())
    return total * cell / 1000.0


def true_ribbon(
    truth: Truth, horizon: str, place: tuple[float, float]
) -> tuple[float, float]:
    """Return center and width of the ground above cutoff at a place [m]."""
    row = round(float(place[0] - truth.s_m[0]))
    rows = slice(max(row - 1, 0), row + 2)
    over = truth.field[horizon][rows].mean(axis=0)
    at = int(np.abs(truth.n_m - place[1]).argmin())
    above = over > truth.threshold_mg_m2()
    if not above[at]:
        return place[1], 0.0
    low, high = at, at
    while low > 0 and above[low - 1]:
        low -= 1
    while high < len(above) - 1 and above[high + 1]:
        high += 1
    run = slice(low, high + 1)
    step = truth.n_m[1] - truth.n_m[0]
    center = float(np.average(truth.n_m[run], weights=over[run]))
    return center, float((high - low + 1) * step)


def score_points(score: Score, answer: TraceAnswer, truth: Truth) -> None:
    """Add what the intervals of position and width hold, crossing by crossing."""
    for streak in answer.streaks:
        for point in streak.path:
            if point.line is None or point.probability < CLAIMED:
                continue
            s_m, n_m = point.easting_m - EAST_M, point.northing_m - NORTH_M
            near = [
                float(np.interp(s_m, truth.s_m, track.n_m))
                for track in truth.tracks
                if matches(streak.horizon, track)
                and np.interp(s_m, truth.s_m, is_there(truth, track)) > 0.5
            ]
            near = [one for one in near if abs(one - n_m) <= 1.5 * NEAR_M]
            if not near or not 0 <= s_m - truth.s_m[0] < len(truth.s_m):
                continue
            middle = min(near, key=lambda one: abs(one - n_m))
            center, width = true_ribbon(truth, "bedrock", (s_m, middle))
            if streak.horizon == "false-1":
                center, width = true_ribbon(truth, "false-1", (s_m, middle))
            if width <= 0.0:
                continue
            off = n_m - point.n_m
            spread = point.center_n_m
            score.place_held.append(spread.p10 + off <= center <= spread.p90 + off)
            score.place_m.append(abs(n_m - center))
            score.width_held.append(point.width_m.p10 <= width <= point.width_m.p90)
            score.width_ratio.append(point.width_m.p50 / width)


def score_links(
    score: Score, traced: Sequence[Traced], fit: StreakFit, truth: Truth
) -> None:
    """Add the Brier score of every link that is true or at all likely."""
    for one in traced:
        share = one.linked.mean(axis=0)
        crossings = one.fit.crossings
        s_line = fit.sites.line_s_m - fit.sites.line_s_m[0]
        n_true = crossings.n_m - np.array(truth.shift_n_m)[crossings.line]
        for link, chance in enumerate(share):
            ends = int(one.parent[link]), int(one.child[link])
            is_true = any(
                track.horizon == one.fit.horizon
                and all(
                    _is_nearest(truth, track, (s_line, crossings.line, n_true), end)
                    for end in ends
                )
                for track in truth.tracks
            )
            if is_true or chance >= 0.02:
                score.brier.append((float(chance) - float(is_true)) ** 2)


def _is_nearest(
    truth: Truth,
    track: Track,
    found: tuple[FloatArray, npt.NDArray[np.int64], FloatArray],
    end: int,
) -> bool:
    """Tell whether a candidate is the one that a true streak makes on its line."""
    s_line, line, n_true = found
    s_m = float(s_line[line[end]])
    n_m = float(np.interp(s_m, truth.s_m, track.n_m))
    same = np.flatnonzero(line == line[end])
    nearest = same[np.abs(n_true[same] - n_m).argmin()]
    there = any(
        np.interp(s_m, truth.s_m, is_there(truth, other)) > 0.5
        and abs(float(np.interp(s_m, truth.s_m, other.n_m)) - n_m) < 0.3
        for other in truth.tracks
    )
    return bool(nearest == end and abs(n_true[end] - n_m) <= NEAR_M + 0.5 and there)


def ratio_with_interval(score: Score, part: int, whole: int, digits: int = 2) -> str:
    """Return a ratio of sums with its 95 % interval, grounds drawn anew 2,000 times.

    Efron 1979, Annals of Statistics 7(1), 1-26 (bootstrap).
    """
    each = np.diff(np.array([(0.0,) * 6, *score.grounds]), axis=0)
    if not len(each) or each[:, whole].sum() <= 0.0:
        return "-"
    rng = np.random.default_rng(1)
    drawn = each[rng.integers(len(each), size=(2000, len(each)))].sum(axis=1)
    drawn = drawn[drawn[:, whole] > 0.0]
    low, high = np.quantile(drawn[:, part] / drawn[:, whole], (0.025, 0.975))
    middle = each[:, part].sum() / each[:, whole].sum()
    return f"{middle:.{digits}f} ({low:.{digits}f}-{high:.{digits}f})"


def median_with_interval(values: Sequence[float]) -> str:
    """Return a median with its 95 % interval, values drawn anew 2,000 times."""
    if not values:
        return "-"
    held = np.array(values)
    rng = np.random.default_rng(1)
    drawn = np.median(held[rng.integers(len(held), size=(2000, len(held)))], axis=1)
    low, high = np.quantile(drawn, (0.025, 0.975))
    return f"{np.median(held):.2f} ({low:.2f}-{high:.2f})"


def share_with_interval(hits: float, total: float) -> str:
    """Return a share with its 95 % interval (Wilson 1927)."""
    if total <= 0:
        return "-"
    z = 1.96
    share = hits / total
    middle = (share + z**2 / (2 * total)) / (1 + z**2 / total)
    half = z / (1 + z**2 / total)
    half *= np.sqrt(share * (1 - share) / total + z**2 / (4 * total**2))
    low, high = max(middle - half, 0.0), min(middle + half, 1.0)
    return f"{share:.2f} ({low:.2f}-{high:.2f})"
