"""The user's names of creeks, given to the reaches that lie along what was drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from pennyweight.errors import Finding
from pennyweight.terrain.streams import Streams

FloatArray = npt.NDArray[np.float64]

#: A reach takes a name where more of its length than this lies along the line [-].
ALONG_SHARE = 0.5


@dataclass(frozen=True)
class DrawnLine:
    """A creek as the user drew it.

    Attributes
    ----------
    places : ndarray, shape (n_points, 2)
        Easting and northing in the order drawn [m].
    name : str or None
        The user's name for it.
    main : bool
        The creek itself, drawn downstream; a feeder may be drawn either way.
    """

    places: FloatArray
    name: str | None = None
    main: bool = False

    @property
    def said(self) -> str:
        """How the line is called in a sentence."""
        if self.name:
            return f'"{self.name}"'
        return "the centerline" if self.main else "a drawn tributary without a name"


def name_reaches(
    streams: Streams, lines: Sequence[DrawnLine], *, within_m: float
) -> Streams:
    """Return the tree with the names of the drawn lines that its reaches follow.

    Parameters
    ----------
    streams : Streams
        The tree, from a surface.
    lines : sequence of DrawnLine
        What the user drew.
    within_m : float
        How far from a line a stream may run and still be the same [m].

    Returns
    -------
    Streams
        With names; a drawn line that no reach follows is told as a finding.
    """
    from shapely import LineString, distance, points  # noqa: PLC0415 - costs 0.1 s

    middle, length_m, reach = _pieces(streams)
    total_m = np.maximum(np.bincount(reach, length_m, streams.n_reaches), 1e-12)
    at = points(middle)
    best = np.full(streams.n_reaches, ALONG_SHARE)
    names, findings = list(streams.name), list(streams.findings)
    for line in lines:
        if len(np.unique(line.places, axis=0)) < 2:
            continue
        near = distance(at, LineString(line.places)) <= within_m
        share = np.bincount(reach, length_m * near, streams.n_reaches) / total_m
        follows = share > best
        best = np.where(follows, share, best)
        for number in np.flatnonzero(follows):
            names[number] = line.name
        if not np.any(share > ALONG_SHARE):
            findings.append(_not_followed(line, within_m))
    return replace(streams, name=tuple(names), findings=tuple(findings))


def _pieces(
    streams: Streams,
) -> tuple[FloatArray, FloatArray, npt.NDArray[np.int64]]:
    """Return middle, length and reach of every piece of the streams."""
    place = np.column_stack([streams.easting_m, streams.northing_m])
    inner = np.diff(streams.point_reach) == 0
    middle = (0.5 * (place[1:] + place[:-1]))[inner]
    length_m = np.hypot(*(place[1:] - place[:-1])[inner].T)
    return middle, length_m, streams.point_reach[:-1][inner]


def _not_followed(line: DrawnLine, within_m: float) -> Finding:
    return Finding(
        where=f"drawn line {line.said}",
        problem=(
            f"no stream of the elevation model runs within {within_m:.0f} m of it for "
            "most of a reach"
        ),
        remedy="Check the line, or whether the elevation model lies where it should.",
        weight="doubt",
    )
