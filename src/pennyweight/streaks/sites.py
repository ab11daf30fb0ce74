"""Where the digs lie, and the lines that they form across the valley.

Lines are numbered downstream. A dig that belongs to no line joins others that lie
at nearly the same distance downstream, or is a line of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: Digs without a line that lie closer than this downstream form one [m]. Our choice.
LINE_GAP_M = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A dig in the straightened valley.

    Attributes
    ----------
    dig : str
        Its name.
    line : str or None
        The trench that it belongs to, as written down.
    s_m, n_m : float
        Meters downstream and meters left [m].
    """

    dig: str
    line: str | None
    s_m: float
    n_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sites:
    """All digs with a place, and their lines in order downstream.

    Attributes
    ----------
    digs : tuple of str
        Names, in the order of the record.
    s_m, n_m : ndarray, shape (n_digs,)
        Meters downstream and meters left [m].
    line_index : ndarray of int, shape (n_digs,)
        Which line each dig belongs to [-].
    lines : tuple of str
        Names of the lines, downstream.
    line_s_m : ndarray, shape (n_lines,)
        Mean place of each line [m].
    """

    digs: tuple[str, ...]
    s_m: FloatArray
    n_m: FloatArray
    line_index: IntArray
    lines: tuple[str, ...]
    line_s_m: FloatArray


def arrange_sites(places: Sequence[Place]) -> Sites:
    """Return the digs with their lines put in order downstream.

    Parameters
    ----------
    places : sequence of Place
        Digs whose place is known.

    Returns
    -------
    Sites
        Lines sorted by their mean s; two lines of one mean keep the record's order.

    Examples
    --------
    >>> sites = arrange_sites([Place(dig="a", line="L2", s_m=15.0, n_m=0.0),
    ...                        Place(dig="b", line="L1", s_m=0.0, n_m=1.0)])
    >>> sites.lines
    ('L1', 'L2')
    """
    names = _line_names(places)
    s_m = np.array([place.s_m for place in places], dtype=np.float64)
    unique = list(dict.fromkeys(names))
    number = np.array([unique.index(name) for name in names], dtype=np.int64)
    means = np.array([s_m[number == at].mean() for at in range(len(unique))])
    order = np.argsort(means, kind="stable")
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    return Sites(
        digs=tuple(place.dig for place in places),
        s_m=s_m,
        n_m=np.array([place.n_m for place in places], dtype=np.float64),
        line_index=rank[number] if len(number) else number,
        lines=tuple(unique[at] for at in order),
        line_s_m=means[order] if len(order) else means,
    )


def _line_names(places: Sequence[Place]) -> list[str]:
    """Return a line's name for each dig, grouping those that have none."""
    names: list[str] = [place.line or "" for place in places]
    taken = set(names)
    loose = sorted(
        (at for at, place in enumerate(places) if not place.line),
        key=lambda at: (places[at].s_m, at),
    )
    name, before = "", float("-inf")
    for at in loose:
        if places[at].s_m - before > LINE_GAP_M:
            name = places[at].dig
            while name in taken:
                name += "'"
            taken.add(name)
        before = places[at].s_m
        names[at] = name
    return names
