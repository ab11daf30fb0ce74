"""Joint draws of a horizon: which joins which, the field, and the doubt about mass.

The draws are in groups. A group shares a topology, hyperparameters and shifts of
lines, all drawn; within it the field is drawn given those. Every draw has its own
joint draw of the links and goes with the group whose topology is nearest to it.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
import numpy.typing as npt

from pennyweight.progress import Progress, quiet
from pennyweight.streaks.between import ValleyGrid, draw_between
from pennyweight.streaks.ceiling import ceiling_log, hold_below
from pennyweight.streaks.counting import FieldCounts
from pennyweight.streaks.crossings import Crossings
from pennyweight.streaks.field import (
    LineField,
    Prior,
    Readings,
    center_field,
    draw_lines,
    fit_field,
    read_lines,
)
from pennyweight.streaks.links import Topologies
from pennyweight.streaks.profiles import Profiles, draw_hyper
from pennyweight.streaks.steering import NO_LINKS, Steering
from pennyweight.streaks.streaming import lay_prior
from pennyweight.streaks.tracks import draw_tracks
from pennyweight.streaks.weights import weigh_draws

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: Newton's method rests after a step this small; what is left is about its square, far
#: below what a draw scatters [-].
REST = 0.1
#: Length scales along the valley that the evidence chooses from [m].
ALONG_M = (8.0, 16.0, 32.0, 64.0, 128.0, 256.0, 512.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Draws that share a topology, hyperparameters and shifts.

    Attributes
    ----------
    draws : ndarray of int, shape (n_in_group,)
        Which of the joint draws [-].
    topology : int
        The joint draw whose links steer the field [-].
    """

    draws: IntArray
    topology: int


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldDraws:
    """Draws of the log accumulation of one horizon.

    Attributes
    ----------
    lines : ndarray, shape (n_draws, n_lines, n_grid)
        On the lines [ln mg/m2].
    cells : ndarray of float32, shape (n_draws, n_rows, n_grid)
        In the cells [ln mg/m2].
    shift_m : ndarray, shape (n_draws, n_lines)
        By how much each line was written down too far left [m].
    track_n_m : ndarray, shape (n_draws, n_candidates)
        Where the crossings lie, shift taken off [m].
    log_weight : ndarray, shape (n_draws,)
        Log of the exact posterior over the approximation that the draws are from, a
        constant a group apart [-].
    group : ndarray of int, shape (n_draws,)
        Which group each draw belongs to [-].
    """

    lines: FloatArray
    cells: npt.NDArray[np.float32]
    shift_m: FloatArray
    track_n_m: FloatArray
    log_weight: FloatArray
    group: IntArray


def group_draws(linked: npt.NDArray[np.bool_], n_groups: int) -> list[Group]:
    """Return the joint draws parted among the topologies that come most often.

    Parameters
    ----------
    linked : ndarray of bool, shape (n_draws, n_links)
        Joint draws of the links [-].
    n_groups : int
        Groups wanted [-].

    Returns
    -------
    list of Group
        Every draw in exactly one group; a topology that many draws have makes
        several groups.
    """
    unique, first, inverse = np.unique(
        linked, axis=0, return_index=True, return_inverse=True
    )
    inverse = inverse.reshape(-1)
    count = np.bincount(inverse)
    kept = np.argsort(-count, kind="stable")[:n_groups]
    differ = (unique[:, None, :] != unique[None, kept, :]).sum(axis=-1)
    nearest = differ.argmin(axis=1)[inverse]
    groups = []
    each = max(len(linked) // n_groups, 1)
    for at, topology in enumerate(kept):
        mine = np.flatnonzero(nearest == at)
        parts = max(1, round(len(mine) / each))
        groups += [
            Group(draws=part, topology=int(first[topology]))
            for part in np.array_split(mine, parts)
            if len(part)
        ]
    return groups


def steer_gaps(
    crossings: Crossings,
    links: tuple[IntArray, IntArray],
    track_n_m: FloatArray,
    *,
    line_s_m: FloatArray,
) -> list[Steering]:
    """Return the steering of every gap between lines.

    Parameters
    ----------
    crossings : Crossings
        Candidates.
    links : tuple of ndarray of int, each shape (n_links,)
        Parent and child of each link [-].
    track_n_m : ndarray, shape (n_candidates,)
        Where the crossings lie [m].
    line_s_m : ndarray, shape (n_lines,)
        Places of all lines [m]; a link that passes a line by runs straight.

    Returns
    -------
    list of Steering
        One a gap.
    """
    parent, child = links
    above, below = crossings.line[parent], crossings.line[child]
    s_m = np.array([line_s_m[above], line_s_m[below]])
    slope = (track_n_m[child] - track_n_m[parent]) / np.maximum(s_m[1] - s_m[0], 0.5)
    gaps = []
    for line in range(len(line_s_m) - 1):
        here = np.flatnonzero((above <= line) & (below > line))
        if not len(here):
            gaps.append(NO_LINKS)
            continue
        start = track_n_m[parent[here]]
        upper, lower = (
            start + slope[here] * (line_s_m[at] - s_m[0, here])
            for at in (line, line + 1)
        )
        ends = below[here] == line + 1
        gaps.append(
            Steering(
                upper_n_m=upper,
                lower_n_m=np.where(ends, track_n_m[child[here]], lower),
                gold=np.exp(crossings.log_gold[parent[here]]),
            )
        )
    return gaps


@dataclass(slots=True)
class FieldMaker:
    """Fits and draws the field of one horizon, topology by topology.

    Attributes
    ----------
    counts : FieldCounts
        Counts on the lines, places as written down.
    grid : ValleyGrid
        Cells.
    line_s_m : ndarray, shape (n_lines,)
        Places of the lines [m].
    crossings, topologies : Crossings, Topologies
        Candidates and their joint draws.
    shift_sd_m : float
        Position error of a whole line [m].
    """

    counts: FieldCounts
    grid: ValleyGrid
    line_s_m: FloatArray
    crossings: Crossings
    topologies: Topologies
    shift_sd_m: float
    _start: FloatArray | None = None

    def _links_of(self, topology: int) -> tuple[IntArray, IntArray]:
        """Return parents and children of the links of one joint draw."""
        on = self.topologies.linked[topology]
        return self.topologies.parent[on], self.topologies.child[on]

    def _prior(
        self, hyper: FloatArray, length_s_m: float, steering: list[Steering]
    ) -> Prior:
        """Return the prior of one topology."""
        sigma, length_n_m, size, smooth = (float(value) for value in hyper)
        return lay_prior(
            self.grid,
            self.line_s_m,
            (sigma, length_n_m, size, smooth),
            length_s_m=length_s_m,
            steering=steering,
        )

    def weigh_lengths(self, hyper: FloatArray, topology: int) -> FloatArray:
        """Return the posterior weights of the length scales along the valley.

        Parameters
        ----------
        hyper : ndarray, shape (4,)
            sigma [-], l_n [m], r [-], smoothness [-].
        topology : int
            Joint draw whose links steer [-].

        Returns
        -------
        ndarray, shape (n_lengths,)
            Weights of `ALONG_M`, summing to 1 [-].
        """
        if len(self.line_s_m) < 2:
            return np.full(len(ALONG_M), 1.0 / len(ALONG_M))
        steering = steer_gaps(
            self.crossings,
            self._links_of(topology),
            self.crossings.n_m,
            line_s_m=self.line_s_m,
        )
        evidence = []
        readings: Readings | None = None
        for length_s_m in ALONG_M:
            prior = self._prior(hyper, length_s_m, steering)
            readings = read_lines(prior) if readings is None else readings
            evidence.append(self._fit(prior, self.counts, readings).evidence)
        weight = np.exp(np.array(evidence) - max(evidence))
        return np.asarray(weight / weight.sum())

    def _fit(
        self, prior: Prior, counts: FieldCounts, readings: Readings | None = None
    ) -> LineField:
        """Return the fitted field, started where the last one came to rest."""
        field = fit_field(
            counts, prior, start=self._start, rest=REST, readings=readings
        )
        self._start = field.log_mg_m2
        return field

    def draw_group(
        self,
        group: Group,
        hyper: FloatArray,
        length_s_m: float,
        *,
        noise: FloatArray,
        rng: np.random.Generator,
    ) -> FieldDraws:
        """Return the draws of one group.

        Parameters
        ----------
        group : Group
            Which draws, and the topology that steers them.
        hyper : ndarray, shape (4,)
            sigma [-], l_n [m], r [-], smoothness [-].
        length_s_m : float
            Length scale along the valley [m].
        noise : ndarray, shape (n_candidates + n_lines,)
            Standard normal numbers behind places and shifts [-].
        rng : numpy.random.Generator
            Source of randomness.

        Returns
        -------
        FieldDraws
            Of the group's draws, in their order.
        """
        links = self._links_of(group.topology)
        tracks = draw_tracks(
            self.crossings,
            links,
            self.line_s_m,
            shift_sd_m=self.shift_sd_m,
            sideways_m=self.topologies.sideways_m,
            noise=noise,
        )
        steering = steer_gaps(self.crossings, links, tracks.n_m, line_s_m=self.line_s_m)
        prior = self._prior(hyper, length_s_m, steering)
        moved = replace(
            self.counts, n_m=self.counts.n_m - tracks.shift_m[self.counts.line]
        )
        field = center_field(self._fit(prior, moved), moved, prior)
        n_draws = len(group.draws)
        lines = draw_lines(field, n_draws, rng)
        cells = draw_between(
            (lines.mean_log, lines.log_mg_m2),
            self.grid,
            prior.across,
            sigma=prior.sigma,
            length_s_m=length_s_m,
            steering=steering,
            rng=rng,
        )
        return FieldDraws(
            lines=lines.log_mg_m2,
            cells=cells,
            shift_m=np.tile(tracks.shift_m, (n_draws, 1)),
            track_n_m=np.tile(tracks.n_m, (n_draws, 1)),
            log_weight=weigh_draws(field, moved, prior, draws=lines),
            group=np.full(n_draws, group.draws[0]),
        )


def draw_field(
    maker: FieldMaker,
    profiles: Profiles,
    n_groups: int,
    *,
    rng: np.random.Generator,
    progress: Progress = quiet,
) -> FieldDraws:
    """Return the draws of all groups put together.

    Parameters
    ----------
    maker : FieldMaker
        Of one horizon.
    profiles : Profiles
        Whose hyperparameters the groups draw from.
    n_groups : int
        Groups wanted [-].
    rng : numpy.random.Generator
        Source of randomness.
    progress : Progress, optional
        Told how far it is.

    Returns
    -------
    FieldDraws
        In the order of the joint draws of the topologies; none far above what the
        digs allow.
    """
    linked = maker.topologies.linked
    groups = group_draws(linked, n_groups)
    hyper = draw_hyper(profiles, len(groups), rng)
    weight = maker.weigh_lengths(hyper[0], groups[0].topology)
    lengths = rng.choice(len(weight), size=len(groups), p=weight)
    n_draws, n_grid = len(linked), len(maker.grid.n_m)
    cells: npt.NDArray[np.float32] = np.empty(
        (n_draws, len(maker.grid.s_m), n_grid), dtype=np.float32
    )
    whole = FieldDraws(
        lines=np.empty((n_draws, len(maker.line_s_m), n_grid)),
        cells=cells,
        shift_m=np.empty((n_draws, len(maker.line_s_m))),
        track_n_m=np.empty((n_draws, len(maker.crossings.line))),
        log_weight=np.empty(n_draws),
        group=np.empty(n_draws, dtype=np.int64),
    )
    # Shifts in pairs of opposite sign, so that few groups give an even mean.
    size = (len(groups) + 1) // 2, len(maker.crossings.line) + len(maker.line_s_m)
    half = rng.standard_normal(size)
    noise = np.stack([half, -half], axis=1).reshape(-1, size[1])
    for at, group in enumerate(groups):
        progress(at / len(groups), "drawing the ground between the lines")
        made = maker.draw_group(
            group, hyper[at], ALONG_M[int(lengths[at])], noise=noise[at], rng=rng
        )
        for one in fields(FieldDraws):
            getattr(whole, one.name)[group.draws] = getattr(made, one.name)
    hold_below((whole.lines, whole.cells), ceiling_log(maker.counts))
    return whole


def draw_mass_noise(
    rel_sd: FloatArray, n_draws: int, *, rng: np.random.Generator
) -> FloatArray:
    """Return draws of the log factor on the mean mass of a color, line by line.

    Parameters
    ----------
    rel_sd : ndarray, shape (n_lines,)
        Relative standard deviation of the mean mass at each line [-].
    n_draws : int
        Number of draws [-].
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    ndarray, shape (n_draws, n_lines)
        Log factors with mean 1, each line's its own: what lines share is in the one
        factor over all gold [-].
    """
    log_sd = np.sqrt(np.log1p(rel_sd**2))
    z = rng.standard_normal((n_draws, len(rel_sd)))
    return np.asarray(z * log_sd - 0.5 * log_sd**2)
