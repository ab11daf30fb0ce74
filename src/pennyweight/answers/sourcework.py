"""The search for the source, set up from the record: pieces, counts, grains, rocks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import stats

from pennyweight.answers.grade import read_graded, refuse_unwashed
from pennyweight.answers.reading import Reading
from pennyweight.answers.upstream import WashedPlace
from pennyweight.answers.waters import SNAP_M, PlacedOnWater, Waters
from pennyweight.errors import Finding
from pennyweight.progress import within
from pennyweight.records import Grain, Log, Rock
from pennyweight.sampling.graded import GradedSample
from pennyweight.terrain.snapping import snap_places
from pennyweight.terrain.streams import Streams
from pennyweight.upstream.draws import SourceDraws, draw_worlds
from pennyweight.upstream.grainevidence import (
    GrainFeatures,
    GrainWord,
    distance_log_likelihood,
    judge_grains,
    make_features,
    read_grain,
    trend_log_likelihood,
)
from pennyweight.upstream.nextsample import way_m
from pennyweight.upstream.rockevidence import (
    PointedAt,
    RockNote,
    find_pointers,
    point,
)
from pennyweight.upstream.search import Search, begin_search
from pennyweight.upstream.source import SourcePosterior, find_sources
from pennyweight.upstream.tree import (
    DEFAULT_WIDTH_KM,
    Pieces,
    StreamTree,
    cut_reaches,
    make_tree,
)
from pennyweight.upstream.washing import make_washings

FloatArray = npt.NDArray[np.float64]

M2_IN_KM2 = 1e6
#: Pieces that the streams are cut into, about [-], and the shortest of them [m].
ABOUT_PIECES, SHORTEST_M = 250, 25.0
#: Worlds that are drawn for what is asked of several places at once [-].
N_WORLDS = 1800
#: Grains make one place likelier than another by this factor at most [-]; ours.
MOST_GRAIN_FACTOR = 4.0
#: Duplicates less likely to come from one gravel are doubted [-]; ours.
CONTRADICTING = 0.01
#: Digs within so much along the water are one place [m]; ours.
ONE_PLACE_M = 10.0
#: Ground above the head of a drawn feeder, and of the creek itself, which nobody draws
#: to its end [km2]; ours.
HEAD_KM2, UNKNOWN_HEAD_KM2 = 0.25, 1.0


@dataclass(frozen=True)
class SourceWork:
    """Everything that the answer is read from.

    Attributes
    ----------
    pieces : Pieces
        The streams cut where was washed.
    washed, finds : tuple of WashedPlace
        Places with a volume, and finds without one.
    by_counts, together : SourcePosterior
        From the counts alone, and with grains and rocks.
    search : Search
        Of `together`.
    draws : SourceDraws
        Worlds of `together`.
    grains : GrainWord or None
        What all grains on the water say.
    grain_piece : ndarray of int
        Piece of each grain; with `features`, and the colors' roundness.
    grain_factor, rock_factor : ndarray, shape (n_pieces,)
        How much likelier grains and rocks make a source in each piece [-].
    pointed : tuple of PointedAt
        Rocks that point.
    """

    pieces: Pieces
    washed: tuple[WashedPlace, ...]
    finds: tuple[WashedPlace, ...]
    by_counts: SourcePosterior
    together: SourcePosterior
    search: Search
    draws: SourceDraws
    grains: GrainWord | None
    grain_piece: npt.NDArray[np.int64]
    features: GrainFeatures
    grain_factor: FloatArray
    rock_factor: FloatArray
    pointed: tuple[PointedAt, ...]


def work_out(reading: Reading, waters: Waters, streams: Streams) -> SourceWork:
    """Return the search for the source, done."""
    refuse_unwashed(reading)
    reading.progress(0.05, "reading the streams")
    places = gather_washed(reading, waters)
    tree = tree_of(streams, waters)
    pieces = _cut(tree, streams, places)
    with_volume = [one.bank_m3 is not None for one in places]
    index = pieces.at[: len(places)]
    keep = np.array(with_volume, dtype=np.bool_)
    washings = make_washings(
        index[keep],
        [one.colors for one in places if one.bank_m3 is not None],
        [one.exposure_m3 for one in places if one.bank_m3 is not None],
        volume_rel_sd=[one.volume_rel_sd for one in places if one.bank_m3 is not None],
        find=index[~keep],
    )
    told = np.ones(pieces.tree.n_reaches, dtype=np.bool_)
    plain = begin_search(pieces.tree, washings, asked=told)
    by_counts = find_sources(plain, within(reading.progress, 0.1, 0.4))
    notes = _rock_notes(reading.log, waters, streams, pieces=pieces)
    pointed = find_pointers(notes, pieces.tree.foot_m, pieces.tree.down)
    rock_factor = _rock_factor(pointed, pieces.tree)
    grain_piece, features = _grains_on(reading.log, places, index)
    grain_factor = _grain_factor(pieces.tree, grain_piece, features)
    search, together = plain, by_counts
    if len(pointed) or len(grain_piece):
        search = begin_search(
            pieces.tree, washings, asked=told, pointers=rock_factor * grain_factor
        )
        together = find_sources(search, within(reading.progress, 0.4, 0.7))
    rng = np.random.default_rng(reading.seed)
    return SourceWork(
        pieces=pieces,
        washed=tuple(one for one in places if one.bank_m3 is not None),
        finds=tuple(one for one in places if one.bank_m3 is None),
        by_counts=by_counts,
        together=together,
        search=search,
        draws=draw_worlds(search, together, N_WORLDS, rng=rng),
        grains=judge_grains(features),
        grain_piece=grain_piece,
        features=features,
        grain_factor=grain_factor,
        rock_factor=rock_factor,
        pointed=pointed,
    )


def gather_washed(reading: Reading, waters: Waters) -> list[WashedPlace]:
    """Return what was washed at every place on the water: with a volume, and finds.

    Digs that lie side by side across a stream are one place. Soil is left out; so are
    blanks, and what waits to be washed.
    """
    left_out = {
        one.sample for one in reading.log.samples if one.taken == "loam" or one.blank
    }
    by_dig = read_graded(reading).by_dig()
    found = []
    for digs in _side_by_side(waters, [dig for dig in by_dig if dig in waters.digs]):
        own = [
            one
            for dig in digs
            for one in by_dig[dig.dig]
            if one.sample not in left_out and one.own_colors is not None
        ]
        fair = [one for one in own if one.own_bank_m3]
        rest = [one for one in own if not one.own_bank_m3 and one.own_colors]
        found += [_washed(digs, fair, fair=True)] if fair else []
        found += [_washed(digs, rest, fair=False)] if rest else []
    return found


def doubt_duplicates(reading: Reading) -> tuple[Finding, ...]:
    """Return duplicates whose counts are too far apart for one and the same gravel.

    Given their sum, one of two counts is binomial by its share of the gravel washed
    (Przyborowski and Wilenski 1940; docs/sources.md "two counts").
    """
    graded = {one.sample: one for one in read_graded(reading).samples}
    found = []
    for sample in reading.log.samples:
        one, other = graded.get(sample.sample), graded.get(sample.duplicate_of or "")
        if one is None or other is None or not (one.own_bank_m3 and other.own_bank_m3):
            continue
        if one.own_colors is None or other.own_colors is None:
            continue
        counts = round(one.own_colors), round(other.own_colors)
        share = one.own_bank_m3 / (one.own_bank_m3 + other.own_bank_m3)
        if not sum(counts):
            continue
        chance = float(stats.binomtest(counts[0], sum(counts), share).pvalue)
        if chance < CONTRADICTING:
            found.append(
                Finding(
                    where=f"sample {one.sample}",
                    problem=(
                        f"it has {counts[0]} colors and {other.sample}, which it "
                        f"repeats, {counts[1]}; one gravel gives that less than once "
                        "in a hundred times"
                    ),
                    remedy="Wash a third; both count together until then.",
                    weight="doubt",
                )
            )
    return tuple(found)


def _side_by_side(waters: Waters, names: list[str]) -> list[list[PlacedOnWater]]:
    """Return the digs on the water in groups that lie at one place along it."""
    placed = [waters.digs[name] for name in names if waters.digs[name].stream >= 0]
    placed.sort(key=lambda one: (one.reach, one.chainage_m))
    groups: list[list[PlacedOnWater]] = []
    for one in placed:
        first = groups[-1][0] if groups else None
        same = first is not None and first.reach == one.reach
        if first is None or not same or one.chainage_m - first.chainage_m > ONE_PLACE_M:
            groups.append([])
        groups[-1].append(one)
    return groups


def _washed(
    digs: list[PlacedOnWater], samples: list[GradedSample], *, fair: bool
) -> WashedPlace:
    bank = np.array([one.own_bank_m3 or 0.0 for one in samples], dtype=np.float64)
    exposure = bank * [one.recovery for one in samples]
    rel_sd = 0.0
    if fair:
        known = [one.bank_rel_sd for one in samples]
        rel_sd = float(np.nan_to_num(bank @ np.array(known)) / bank.sum())
    return WashedPlace(
        place=digs[len(digs) // 2],
        digs=tuple(one.dig for one in digs),
        samples=tuple(one.sample for one in samples),
        colors=float(sum(one.own_colors or 0.0 for one in samples)),
        exposure_m3=float(exposure.sum()) if fair else 0.0,
        bank_m3=float(bank.sum()) if fair else None,
        volume_rel_sd=rel_sd,
    )


def tree_of(streams: Streams, waters: Waters) -> StreamTree:
    """Return the stream tree as the search takes it; unknown catchments by length."""
    area = streams.own_area_m2 / M2_IN_KM2
    heads = np.ones(streams.n_reaches, dtype=np.bool_)
    heads[streams.downstream[streams.downstream >= 0]] = False
    first = streams.point_area_m2[streams.first_point[:-1]] / M2_IN_KM2
    # The creek itself goes on above what was drawn of it; its feeders hardly do.
    supposed = np.full(streams.n_reaches, HEAD_KM2)
    supposed[waters.rows[0].reaches[-1]] = UNKNOWN_HEAD_KM2
    above = np.where(np.isfinite(first), first, supposed)
    length_km2 = streams.length_m / 1000.0 * DEFAULT_WIDTH_KM
    guessed = length_km2 + np.where(heads, supposed, 0.0)
    return make_tree(
        streams.downstream,
        streams.length_m,
        own_area_km2=np.where(np.isfinite(area), area, guessed),
        head_area_km2=np.where(heads, above, 0.0),
        slope=streams.slope,
    )


def _cut(tree: StreamTree, streams: Streams, places: list[WashedPlace]) -> Pieces:
    reach = np.array([one.place.reach for one in places], dtype=np.int64)
    chainage = np.array([one.place.chainage_m for one in places], dtype=np.float64)
    above = chainage - streams.foot_m[reach] if len(reach) else chainage
    longest = max(float(tree.length_m.sum()) / ABOUT_PIECES, SHORTEST_M)
    return cut_reaches(tree, reach, above, longest_m=longest)


def _piece_at(pieces: Pieces, reach: int, above_m: float) -> int:
    """Return the piece that holds a place on a reach."""
    own = np.flatnonzero(pieces.reach == reach)
    return int(own[np.searchsorted(pieces.above_m[own], above_m, side="right") - 1])


def _rock_notes(
    log: Log, waters: Waters, streams: Streams, *, pieces: Pieces
) -> tuple[RockNote, ...]:
    """Return the rocks beside the water; those far from it point to nothing."""
    found = []
    for rock in log.rocks:
        if rock.kind == "boulder" and not (rock.stain or rock.veinlets):
            continue
        place = _rock_place(rock, waters, streams)
        if place is None:
            continue
        reach, chainage_m = place
        above = chainage_m - float(streams.foot_m[reach])
        piece = _piece_at(pieces, reach, above)
        found.append(
            RockNote(
                piece=piece,
                above_m=above - float(pieces.above_m[piece]),
                kind=rock.kind or "bedrock",
                name=rock.name or "",
                stain=rock.stain or "",
                veinlets=rock.veinlets or "",
            )
        )
    return tuple(found)


def _rock_place(
    rock: Rock, waters: Waters, streams: Streams
) -> tuple[int, float] | None:
    """Return reach and chainage of a rock: those of its dig, else the nearest."""
    if rock.dig is not None:
        dig = waters.digs.get(rock.dig)
        return None if dig is None or dig.reach < 0 else (dig.reach, dig.chainage_m)
    if rock.easting_m is None or rock.northing_m is None:
        return None
    place = [rock.easting_m], [rock.northing_m]
    snaps = snap_places(streams, *place, farthest_m=2.0 * SNAP_M)
    reach = int(snaps.reach[0])
    return None if reach < 0 else (reach, float(snaps.chainage_m[0]))


def _rock_factor(pointed: tuple[PointedAt, ...], tree: StreamTree) -> FloatArray:
    if not pointed:
        return np.ones(tree.n_reaches)
    ways = np.stack([way_m(tree, one.note.piece) for one in pointed])
    above = np.stack([flows_past(tree, one.note.piece) for one in pointed])
    return point(pointed, ways, above)


def flows_past(tree: StreamTree, piece: int) -> npt.NDArray[np.bool_]:
    """Return the pieces whose water flows past the foot of one, its own included."""
    past = np.zeros(tree.n_reaches, dtype=np.bool_)
    past[piece] = True
    for one in tree.order[::-1].tolist():
        below = int(tree.down[one])
        past[one] |= below >= 0 and bool(past[below])
    return past


def _grains_on(
    log: Log, places: list[WashedPlace], index: npt.NDArray[np.int64]
) -> tuple[npt.NDArray[np.int64], GrainFeatures]:
    """Return the measured grains that were found on the water."""
    piece_of = {
        sample: int(piece)
        for one, piece in zip(places, index, strict=True)
        for sample in one.samples
    }
    kept: list[Grain] = [one for one in log.grains if one.sample in piece_of]
    rows = [
        read_grain(
            (one.long_mm, one.middle_mm, one.short_mm),
            one.roundness,
            one.rim,
            attached=one.attached,
        )
        for one in kept
    ]
    piece = np.array([piece_of[one.sample] for one in kept], dtype=np.int64)
    return piece, make_features(rows)


def _grain_factor(
    tree: StreamTree, piece: npt.NDArray[np.int64], features: GrainFeatures
) -> FloatArray:
    """Return how much likelier the grains make a source in each piece."""
    log = np.zeros(tree.n_reaches)
    middle = tree.foot_m + 0.5 * tree.length_m
    ways = np.full((tree.n_reaches, len(piece)), np.nan)
    for one in np.unique(piece).tolist():
        here = piece == one
        past = flows_past(tree, one)
        way = np.where(past, np.maximum(middle - tree.foot_m[one], 0.0), np.nan)
        ways[:, here] = way[:, None]
        word = judge_grains(take(features, here))
        if word is not None:
            log += distance_log_likelihood(word.chance, way)
    for values in (features.roundness, np.log(np.maximum(features.size_mm, 1e-3))):
        known = np.isfinite(values)
        if known.any():
            log += 0.5 * trend_log_likelihood(values[known], ways[:, known])
    most = np.log(MOST_GRAIN_FACTOR)
    middle_log = float(np.median(log))
    return np.asarray(np.exp(np.clip(log - middle_log, -most / 2.0, most / 2.0)))


def take(features: GrainFeatures, which: npt.NDArray[np.bool_]) -> GrainFeatures:
    """Return some of the grains."""
    return GrainFeatures(
        size_mm=features.size_mm[which],
        corey=features.corey[which],
        roundness=features.roundness[which],
        rim=features.rim[which],
        attached=features.attached[which],
    )
