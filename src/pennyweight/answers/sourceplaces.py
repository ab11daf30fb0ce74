"""Places on the streams: stretches where gold may enter, and their lines."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pennyweight.answers.sourcework import SourceWork
from pennyweight.answers.streamverdicts import stream_of_piece
from pennyweight.answers.upstream import Gap, PieceChance, SourcePlace
from pennyweight.answers.waters import Waters
from pennyweight.terrain.streams import Streams

FloatArray = npt.NDArray[np.float64]

#: Places and gaps that are listed, and how likely they must be [-].
MOST_PLACES, LEAST_PROBABILITY = 12, 0.02
LEAST_GAP = 0.10


def piece_ends(work: SourceWork, streams: Streams) -> tuple[FloatArray, FloatArray]:
    """Return the chainages of the lower and the upper end of every piece."""
    low = streams.foot_m[work.pieces.reach] + work.pieces.above_m
    return low, low + work.pieces.tree.length_m


def _line_between(
    streams: Streams, reach: int, low_m: float, high_m: float
) -> tuple[FloatArray, FloatArray]:
    """Return the part of a reach's line between two chainages, downstream."""
    own = streams.points(reach)
    chainage = streams.chainage_m[own][::-1]
    inside = (chainage > low_m) & (chainage < high_m)
    at = np.concatenate([[low_m], chainage[inside], [high_m]])[::-1]
    east = np.interp(at, chainage, streams.easting_m[own][::-1])
    north = np.interp(at, chainage, streams.northing_m[own][::-1])
    return east, north


def place_on(streams: Streams, reach: int, chainage_m: float) -> tuple[float, float]:
    """Return easting and northing of a place on a reach."""
    east, north = _line_between(streams, reach, chainage_m, chainage_m)
    return float(east[0]), float(north[0])


def drawn_pieces(
    work: SourceWork, waters: Waters, streams: Streams
) -> tuple[PieceChance, ...]:
    """Return every piece with its line and its chances, for the pictures."""
    low, high = piece_ends(work, streams)
    stream = stream_of_piece(work, waters)
    found = []
    for piece in range(work.pieces.tree.n_reaches):
        reach = int(work.pieces.reach[piece])
        east, north = _line_between(streams, reach, low[piece], high[piece])
        found.append(
            PieceChance(
                stream=int(stream[piece]),
                easting_m=east,
                northing_m=north,
                from_m=float(low[piece]),
                to_m=float(high[piece]),
                source=float(work.together.source_chance[piece]),
                carries=float(work.together.carries_chance[piece]),
            )
        )
    return tuple(found)


def _stretches(work: SourceWork, waters: Waters) -> list[list[int]]:
    """Return the pieces of every stream in stretches that no sample parts."""
    stream = stream_of_piece(work, waters)
    cut = {*work.search.washed.piece.tolist(), *work.search.washed.find.tolist()}
    found: list[list[int]] = []
    for number, row in enumerate(waters.rows):
        pieces = [
            int(piece)
            for reach in row.reaches
            for piece in np.flatnonzero(work.pieces.reach == reach)
        ]
        for piece in pieces:
            begins = not found or stream[found[-1][-1]] != number
            if begins or piece in cut:
                found.append([])
            found[-1].append(piece)
    return found


def source_places(
    work: SourceWork, waters: Waters, streams: Streams
) -> tuple[SourcePlace, ...]:
    """Return the stretches where gold most likely enters, the likeliest first."""
    low, high = piece_ends(work, streams)
    found = []
    for own in _stretches(work, waters):
        chance = float(work.draws.source[:, own].any(axis=1).mean())
        if chance < LEAST_PROBABILITY:
            continue
        weight = work.together.source_chance[own]
        middle = 0.5 * (low[own] + high[own])
        center = float(np.average(middle, weights=np.maximum(weight, 1e-12)))
        piece = own[int(np.argmin(np.abs(middle - center)))]
        reach = int(work.pieces.reach[piece])
        east, north = place_on(
            streams, reach, float(np.clip(center, low[piece], high[piece]))
        )
        found.append(
            SourcePlace(
                easting_m=east,
                northing_m=north,
                stream=waters.rows[int(waters.stream_of[reach])].id,
                probability=chance,
                from_m=float(low[own].min()),
                to_m=float(high[own].max()),
            )
        )
    return tuple(sorted(found, key=lambda one: -one.probability)[:MOST_PLACES])


def find_gaps(work: SourceWork, waters: Waters, streams: Streams) -> tuple[Gap, ...]:
    """Return the stretches that no sample parts, and that may well hold the source."""
    return tuple(
        Gap(
            stream=one.stream,
            from_m=one.from_m,
            to_m=one.to_m,
            probability=one.probability,
        )
        for one in source_places(work, waters, streams)
        if one.probability >= LEAST_GAP
    )
