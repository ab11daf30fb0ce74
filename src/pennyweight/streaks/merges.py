"""Streaks across the draws: which crossings make one, where they merge and part.

The crossings are the same in every draw, so a streak keeps its identity: it is a
chain of crossings whose links come together often enough. Where two chains meet in
one crossing both end and a new streak begins; where one parts, likewise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.streaks.tracing import Traced

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

#: Links and streaks less likely than this are left out.
LEAST_PROBABILITY = 0.2
#: Two links meet, or part, where they come together in this share of the draws that
#: have either [-]. Our choice.
TOGETHER = 0.35


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """A streak of one horizon: crossings downstream, and the links between them.

    Attributes
    ----------
    crossings : tuple of int
        Candidates, one a line [-].
    links : tuple of int
        Links between them [-].
    into, out_of : tuple of int
        Links that join it to a merge or a split below, and above [-].
    """

    crossings: tuple[int, ...]
    links: tuple[int, ...]
    into: tuple[int, ...] = ()
    out_of: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Meeting:
    """A merge or a split: links that share a crossing.

    Attributes
    ----------
    crossing : int
        The shared candidate [-].
    links : tuple of int
        The links [-].
    """

    crossing: int
    links: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """What the draws agree on."""

    chains: tuple[Chain, ...]
    merges: tuple[Meeting, ...]
    splits: tuple[Meeting, ...]


def agree_on_links(traced: Traced) -> IntArray:
    """Return the links that the draws agree on: likely, together, not crossing.

    Parameters
    ----------
    traced : Traced
        Horizon at a cutoff.

    Returns
    -------
    ndarray of int
        Indices among the possible links, likeliest first [-].
    """
    share = traced.linked.mean(axis=0) if traced.linked.size else np.zeros(0)
    line = traced.fit.crossings.line
    taken: list[int] = []
    for link in np.argsort(-share, kind="stable"):
        if share[link] < LEAST_PROBABILITY:
            break
        same = [
            other
            for other in taken
            if line[traced.parent[other]] == line[traced.parent[link]]
        ]
        if any(_crosses(traced, int(link), other) for other in same):
            continue
        shared = [
            other
            for other in same
            if traced.parent[other] == traced.parent[link]
            or traced.child[other] == traced.child[link]
        ]
        if all(_together(traced, int(link), other) for other in shared):
            taken.append(int(link))
    return np.array(taken, dtype=np.int64)


def _crosses(traced: Traced, one: int, other: int) -> bool:
    """Tell whether two links of one gap cross; candidates are in order across."""
    above = int(traced.parent[one] - traced.parent[other])
    below = int(traced.child[one] - traced.child[other])
    return above * below < 0


def _together(traced: Traced, one: int, other: int) -> bool:
    both = traced.linked[:, one] & traced.linked[:, other]
    either = traced.linked[:, one] | traced.linked[:, other]
    return float(both.sum()) >= TOGETHER * max(float(either.sum()), 1.0)


def find_pattern(traced: Traced, links: IntArray) -> Pattern:
    """Return chains, merges and splits made of agreed links.

    Parameters
    ----------
    traced : Traced
        Horizon at a cutoff.
    links : ndarray of int
        Agreed links [-].

    Returns
    -------
    Pattern
        A crossing belongs to one chain at most; with one line every crossing that is
        likely enough is a chain of its own.
    """
    into: dict[int, list[int]] = {}
    out_of: dict[int, list[int]] = {}
    for link in sorted(int(one) for one in links):
        into.setdefault(int(traced.child[link]), []).append(link)
        out_of.setdefault(int(traced.parent[link]), []).append(link)
    merges = tuple(
        Meeting(crossing=at, links=tuple(found))
        for at, found in into.items()
        if len(found) > 1
    )
    splits = tuple(
        Meeting(crossing=at, links=tuple(found))
        for at, found in out_of.items()
        if len(found) > 1
    )
    broken = {link for meeting in (*merges, *splits) for link in meeting.links}
    chains = []
    members = sorted(set(into) | set(out_of))
    for start in members:
        if any(link not in broken for link in into.get(start, ())):
            continue
        crossings, own = [start], []
        while True:
            onward = [one for one in out_of.get(crossings[-1], ()) if one not in broken]
            if not onward:
                break
            own.append(onward[0])
            crossings.append(int(traced.child[onward[0]]))
        chains.append(
            Chain(
                crossings=tuple(crossings),
                links=tuple(own),
                into=tuple(out_of.get(crossings[-1], ())),
                out_of=tuple(into.get(start, ())),
            )
        )
    if not len(links) and len(np.unique(traced.fit.crossings.line)) <= 1:
        share = traced.present().mean(axis=0)
        chains = [
            Chain(crossings=(at,), links=())
            for at in range(len(share))
            if share[at] >= LEAST_PROBABILITY
        ]
    return Pattern(chains=tuple(chains), merges=merges, splits=splits)


def chain_draws(traced: Traced, chain: Chain, *, n_lines: int) -> BoolArray:
    """Return in which draws a streak is there.

    Parameters
    ----------
    traced : Traced
        Horizon at a cutoff.
    chain : Chain
        The streak.
    n_lines : int
        Number of lines of the ground [-].

    Returns
    -------
    ndarray of bool, shape (n_draws,)
        Above cutoff at two adjacent lines and linked; with one line, above cutoff.
    """
    touching = list(chain.links + chain.into + chain.out_of)
    if n_lines == 1:
        return np.asarray(traced.present()[:, list(chain.crossings)].any(axis=1))
    own = list(chain.links) or touching
    return np.asarray(traced.linked[:, own].any(axis=1))
