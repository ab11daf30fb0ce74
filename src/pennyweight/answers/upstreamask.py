"""Where does it come from? The answer worked out from a reading."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.ground import show_ground
from pennyweight.answers.reading import Reading
from pennyweight.answers.slopework import find_soil, lay_soil_lines
from pennyweight.answers.sourceplaces import (
    drawn_pieces,
    find_gaps,
    piece_ends,
    place_on,
    source_places,
)
from pennyweight.answers.sourcework import (
    HEAD_KM2,
    UNKNOWN_HEAD_KM2,
    SourceWork,
    doubt_duplicates,
    flows_past,
    work_out,
)
from pennyweight.answers.streamverdicts import judge_streams, mouth_of, stream_of_piece
from pennyweight.answers.upstream import (
    GrainTrend,
    LastGold,
    NextSample,
    RockPointer,
    Stop,
    UpstreamAnswer,
    WashedPlace,
)
from pennyweight.answers.waters import Stream, Waters, find_waters
from pennyweight.spread import Spread
from pennyweight.terrain.streams import Streams
from pennyweight.upstream.grainevidence import rising_chance
from pennyweight.upstream.isolation import halving_samples, worst_case_samples
from pennyweight.upstream.nextsample import ProposedSample, choose_samples
from pennyweight.upstream.populations import part_populations
from pennyweight.upstream.stops import climb, find_stop
from pennyweight.upstream.tree import DEFAULT_WIDTH_KM, gather

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]

#: One world in so many is asked for the next samples.
THINNED = 4
#: Pans and bank volume of a proposed sample [-], [m3]; ours.
PROPOSED_PANS, PROPOSED_BANK_M3, PROPOSED_RECOVERY = 5.0, 0.025, 0.85
NO_STREAMS = (
    "Nothing tells where water runs: no dig has a place, no creek was drawn, and there "
    "is no elevation model. Draw the creek downstream as the centerline and every "
    "feeder as a tributary, up to where its water begins, or add an elevation model."
)
ONLY_CREEK = (
    "No tributary was drawn, so only the creek itself is searched. Draw every feeder "
    "as a tributary, from its mouth up to where its water begins."
)
SHORT_CREEK = (
    "The creek is known only along the digs. Draw it as the centerline as far up as "
    "you can walk, and its feeders as tributaries."
)
SUPPOSED_AREA = (
    "No elevation model gives the catchments; each kilometer of stream is supposed to "
    "drain one square kilometer."
)
LAST_SOURCE = (
    "What is found is the nearest source above the samples. Several veins, an old "
    "channel that the creek cuts, or old workings can confuse it."
)
WORKINGS = (
    "Old workings can collapse, hold bad air, and may be protected; old mills and "
    "sluices left mercury. Stay out, do not disturb it, and report it."
)
SLOPES = (
    "Steep banks and slopes slide, above all after rain: do not undercut them, and "
    "work with someone. No slope is said to be safe."
)
BARREN = (
    "Tested barren is a probability, never a certainty: gold lies unevenly, and a few "
    "pans can miss it."
)


def ask_upstream(reading: Reading) -> UpstreamAnswer:
    """Return where the gold comes from, and how sure that is.

    Raises
    ------
    TooLittleError
        No washed sample has a fair volume.
    """
    return reading.once("upstream", lambda: _answer(reading))


def _answer(reading: Reading) -> UpstreamAnswer:
    waters = find_waters(reading)
    streams = waters.streams
    if streams is None or streams.n_reaches == 0:
        return UpstreamAnswer(
            **reading.heading(),
            cautions=(NO_STREAMS,),
            streams=(),
            sources=(),
            last_gold=None,
            gaps=(),
            grain_distance_km=None,
            ground=show_ground(reading),
        )
    work = work_out(reading, waters, streams)
    reading.progress(0.75, "judging the streams")
    rows = judge_streams(work, waters)
    way = _way_up(work)
    last = _last_gold(work, waters, way)
    stop = _find_stop(work, waters, streams, last=last, way=way)
    off_creek = _lies_off_creek(work, way, last)
    reading.progress(0.85, "choosing where to wash next")
    soil_lines = lay_soil_lines(reading, streams, stop) if off_creek else ()
    down, order = work.pieces.tree.down, work.pieces.tree.order
    return UpstreamAnswer(
        **reading.heading(),
        cautions=_cautions(waters, reading, off_creek=off_creek),
        assumptions=_assumptions(work, waters),
        streams=rows,
        sources=source_places(work, waters, streams),
        last_gold=None if last is None else last[0],
        gaps=find_gaps(work, waters, streams),
        grain_distance_km=None if work.grains is None else work.grains.distance_km,
        stop=stop,
        probability_of_any=float(work.draws.source.any(axis=1).mean()),
        probability_everywhere=work.together.everywhere_chance,
        next_samples=_next_samples(work, waters, streams, last=last),
        samples_at_worst=worst_case_samples(down, order),
        samples_halving=halving_samples(len(down)),
        grains=work.grains,
        trends=_trends(work),
        kinds_probability=_kinds(work),
        rocks=_rocks(work, waters, streams),
        soil=find_soil(reading, waters),
        off_stream=tuple(one for one in waters.digs.values() if one.stream < 0),
        findings=(*waters.findings, *doubt_duplicates(reading)),
        basis=waters.basis,
        off_creek=off_creek,
        ground=show_ground(reading),
        waters=streams,
        rows=waters.rows,
        washed=(*work.washed, *work.finds),
        pieces=drawn_pieces(work, waters, streams),
        soil_lines=soil_lines,
    )


def _way_up(work: SourceWork) -> IndexArray:
    """Return the pieces from the outlet up to where most likely gold comes from."""
    tree, carries = work.pieces.tree, work.together.carries_chance
    outlets = np.flatnonzero(tree.down < 0)
    start = int(outlets[np.argmax(carries[outlets])])
    return climb(tree.down, tree.order, start, carries=carries)


def _last_gold(
    work: SourceWork, waters: Waters, way: IndexArray
) -> tuple[LastGold, int] | None:
    """Return the highest sample with gold on the way up, and its piece."""
    foot_m = work.pieces.tree.foot_m
    on_way = set(way.tolist())
    places = [*work.washed, *work.finds]
    index = [*work.search.washed.piece.tolist(), *work.search.washed.find.tolist()]
    best: tuple[WashedPlace, int] | None = None
    for one, piece in zip(places, index, strict=True):
        if one.colors <= 0.0 or piece not in on_way:
            continue
        if best is None or foot_m[piece] > foot_m[best[1]]:
            best = one, piece
    if best is None:
        return None
    place = best[0].place
    last = LastGold(
        sample=best[0].samples[-1],
        stream=waters.rows[place.stream].id,
        chainage_m=place.chainage_m,
    )
    return last, best[1]


def _find_stop(
    work: SourceWork,
    waters: Waters,
    streams: Streams,
    *,
    last: tuple[LastGold, int] | None,
    way: IndexArray,
) -> Stop | None:
    """Return where the gold stops above the last gold, as a change point."""
    if last is None:
        return None
    tree = work.pieces.tree
    above = way[np.flatnonzero(way == last[1])[0] :]
    foot, head = tree.foot_m[above], tree.foot_m[above] + tree.length_m[above]
    stop = find_stop(foot, head, work.together.carries_chance[above])
    if stop.above_m is None:
        return None
    start = last[0].chainage_m
    spread = stop.above_m
    at = int(np.searchsorted(foot - foot[0], spread.p50, side="right") - 1)
    stream = stream_of_piece(work, waters)[above[max(at, 0)]]
    return Stop(
        stream=waters.rows[int(stream)].id,
        above_last_m=spread,
        chainage_m=Spread(
            start + spread.p10,
            start + spread.p50,
            start + spread.p90,
            start + spread.mean,
        ),
        beyond_probability=stop.beyond_chance,
    )


def _lies_off_creek(
    work: SourceWork, way: IndexArray, last: tuple[LastGold, int] | None
) -> bool:
    """Tell whether gold stops between two samples with no feeder between them."""
    if last is None:
        return False
    tree = work.pieces.tree
    counts = dict(
        zip(work.search.washed.piece.tolist(), work.search.washed.colors, strict=True)
    )
    feeders = np.bincount(tree.down[tree.down >= 0], minlength=tree.n_reaches)
    for piece in way[np.flatnonzero(way == last[1])[0] :].tolist():
        if piece != last[1] and piece in counts:
            none = float(work.together.carries_chance[piece]) < 0.5
            return counts[piece] == 0.0 and none
        if feeders[piece] > 1:
            return False
    return False


def _next_samples(
    work: SourceWork,
    waters: Waters,
    streams: Streams,
    *,
    last: tuple[LastGold, int] | None,
) -> tuple[NextSample, ...]:
    low, _ = piece_ends(work, streams)
    candidates = _candidates(work)
    start = None if last is None else last[1]
    chosen = choose_samples(
        work.search,
        work.draws.thinned(THINNED),
        candidates,
        pans=PROPOSED_PANS,
        exposure_m3=PROPOSED_BANK_M3 * PROPOSED_RECOVERY,
        start=start,
    )
    found = []
    for rank, one in enumerate(chosen, 1):
        reach = int(work.pieces.reach[one.piece])
        at = float(low[one.piece])
        east, north = place_on(streams, reach, at)
        row = waters.rows[int(waters.stream_of[reach])]
        found.append(
            NextSample(
                rank=rank,
                easting_m=east,
                northing_m=north,
                stream=row.id,
                chainage_m=at,
                pans=PROPOSED_PANS,
                hours=one.hours,
                gain_bits=one.gain_bits,
                gold_probability=one.gold_chance,
                why=_why(work, one, row),
            )
        )
    return tuple(found)


def _candidates(work: SourceWork) -> IndexArray:
    """Return the pieces at whose foot a sample could part what is not known.

    A second sample of the same place would share its luck with the first, and below
    all samples none tells more of the source than they do.
    """
    tree, washed = work.pieces.tree, work.search.washed
    marked = np.zeros(tree.n_reaches)
    marked[washed.piece] = 1.0
    above = gather(tree.down, tree.order, marked) > 0.0
    below = np.zeros(tree.n_reaches, dtype=np.bool_)
    for piece in tree.order[::-1].tolist():
        under = int(tree.down[piece])
        below[piece] = under >= 0 and (marked[under] > 0.0 or bool(below[under]))
    return np.flatnonzero((marked == 0.0) & ~(above & ~below))


def _why(work: SourceWork, one: ProposedSample, row: Stream) -> str:
    """Return what a sample would decide."""
    if one.piece == mouth_of(work, row) and row.into >= 0:
        return f"at its mouth it tells whether {row.name} carries gold at all"
    above = flows_past(work.pieces.tree, one.piece)
    held = float(work.draws.source[:, above].any(axis=1).mean())
    return f"it parts {row.name}: the chance of a source above is {held * 100.0:.0f} %"


def _trends(work: SourceWork) -> tuple[GrainTrend, ...]:
    if not len(work.grain_piece):
        return ()
    up_km = work.pieces.tree.foot_m[work.grain_piece] / 1000.0
    values = {
        "size": np.log(np.maximum(work.features.size_mm, 1e-3)),
        "flatness": -work.features.corey,
        "roundness": work.features.roundness,
    }
    found = []
    for feature, one in values.items():
        chance = rising_chance(up_km, one)
        found.append(
            GrainTrend(
                feature=feature,
                rises_probability=chance if np.isfinite(chance) else None,
            )
        )
    return tuple(found)


def _kinds(work: SourceWork) -> float | None:
    worn = work.features.roundness
    kinds = part_populations(worn[np.isfinite(worn)])
    return None if kinds is None else kinds.two_chance


def _rocks(
    work: SourceWork, waters: Waters, streams: Streams
) -> tuple[RockPointer, ...]:
    low, _ = piece_ends(work, streams)
    found = []
    for one in work.pointed:
        reach = int(work.pieces.reach[one.note.piece])
        at = float(low[one.note.piece]) + one.note.above_m
        east, north = place_on(streams, reach, at)
        found.append(
            RockPointer(
                easting_m=east,
                northing_m=north,
                stream=waters.rows[int(waters.stream_of[reach])].id,
                pointer=one.pointer,
                says=_rock_words(one.note.name, one.pointer, one.other),
                weight=one.weight,
            )
        )
    return tuple(found)


def _rock_words(name: str, pointer: str, other: str) -> str:
    rock = name or "rock"
    if pointer == "contact":
        return f"{rock} above, {other} below: the country rock changes"
    words = {
        "stain": f"{rock} stained red or rusty",
        "veinlets": f"{rock} with quartz veinlets",
        "heavy": f"{rock}, heavy and dark",
    }
    return words.get(pointer, f"{rock}: {pointer}")


def _cautions(waters: Waters, reading: Reading, *, off_creek: bool) -> tuple[str, ...]:
    found = []
    if waters.basis == "digs":
        found.append(SHORT_CREEK)
    elif len(waters.rows) == 1:
        found.append(ONLY_CREEK)
    if waters.basis != "elevation":
        found.append(SUPPOSED_AREA)
    found += [BARREN, LAST_SOURCE]
    if off_creek or waters.basis == "elevation":
        found.append(SLOPES)
    worked = any(one.role == "worked" for one in reading.log.features)
    if worked or any(
        one.worked in {"worked", "tailings"} for one in reading.log.layers
    ):
        found.append(WORKINGS)
    return tuple(found)


def _assumptions(work: SourceWork, waters: Waters) -> dict[str, Any]:
    found: dict[str, Any] = {
        "source_strength_colors_km2_m3": 100.0,
        "stray_colors": 0.02,
        "walking_km_h": 1.5,
        "pan_hours": 0.25,
    }
    if waters.basis != "elevation":
        found["stream_width_km"] = DEFAULT_WIDTH_KM
        found["head_area_km2"] = UNKNOWN_HEAD_KM2
        if len(waters.rows) > 1:
            found["feeder_head_area_km2"] = HEAD_KM2
    else:
        found["slope_power"] = 0.5
    if work.pointed:
        found["rock_weight_most"] = 3.0
    if len(work.grain_piece):
        found["grain_weight_most"] = 4.0
    return found
