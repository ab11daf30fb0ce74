"""Draws of a long valley at fixed hyperparameters, block by block.

The unknowns are the columns of the lines; the ground between two lines is drawn when
its turn comes and may then be forgotten. Time grows with the length of the valley,
and what is held at once with the number of lines alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from pennyweight.progress import Progress, quiet
from pennyweight.streaks.between import GapDraws, ValleyGrid, stream_between
from pennyweight.streaks.counting import FieldCounts
from pennyweight.streaks.field import (
    Prior,
    center_field,
    draw_lines,
    factor_across,
    fit_field,
)
from pennyweight.streaks.steering import (
    NO_LINKS,
    Steering,
    leading_links,
    read_offsets,
)

FloatArray = npt.NDArray[np.float64]


def lay_prior(
    grid: ValleyGrid,
    line_s_m: FloatArray,
    hyper: tuple[float, float, float, float],
    *,
    length_s_m: float,
    steering: Sequence[Steering] | None = None,
) -> Prior:
    """Return the prior of the field on the lines of a valley.

    Parameters
    ----------
    grid : ValleyGrid
        Cells.
    line_s_m : ndarray, shape (n_lines,)
        Places of the lines, downstream [m].
    hyper : tuple of float
        sigma [-], l_n [m], r [-], smoothness [-].
    length_s_m : float
        Length scale along the valley [m].
    steering : sequence of Steering, optional
        Links of each gap; none where not given.

    Returns
    -------
    Prior
        A line follows the one above by exp(-ds / l_s), ds of 0.25 m or more.
    """
    sigma, length_n_m, size, smooth = hyper
    links = steering or [NO_LINKS] * (len(line_s_m) - 1)
    ends = np.ones((1, len(grid.n_m)))
    offsets = [
        read_offsets(grid.n_m, leading_links(one), ends, to_lower=False)[0]
        for one in links
    ]
    apart = np.maximum(np.diff(line_s_m), 0.25)
    return Prior(
        across=factor_across(grid.n_m, length_n_m, smooth),
        sigma=sigma,
        size=size,
        rho=np.exp(-apart / length_s_m),
        offset_m=np.array(offsets).reshape(len(apart), len(grid.n_m)),
    )


def stream_draws(
    counts: FieldCounts,
    prior: Prior,
    grid: ValleyGrid,
    *,
    length_s_m: float,
    n_draws: int,
    rng: np.random.Generator,
    progress: Progress = quiet,
) -> Iterator[GapDraws]:
    """Yield joint draws of the field of a valley, one gap between lines at a time.

    Parameters
    ----------
    counts : FieldCounts
        Counts of one horizon.
    prior : Prior
        As `lay_prior` gives it, without links.
    grid : ValleyGrid
        Cells.
    length_s_m : float
        Length scale along the valley [m].
    n_draws : int
        Number of draws [-].
    rng : numpy.random.Generator
        Source of randomness.
    progress : Progress, optional
        Told how far it is; may raise `Cancelled`.

    Yields
    ------
    GapDraws
        Downstream; together they hold every cell once.
    """
    progress(0.0, "fitting the field on the lines")
    field = center_field(fit_field(counts, prior), counts, prior)
    progress(0.5, "drawing the lines")
    lines = draw_lines(field, n_draws, rng)
    for gap in stream_between(
        (lines.mean_log, lines.log_mg_m2),
        grid,
        prior.across,
        sigma=prior.sigma,
        length_s_m=length_s_m,
        steering=[NO_LINKS] * len(prior.rho),
        rng=rng,
    ):
        yield gap
        share = gap.rows.stop / len(grid.s_m)
        progress(0.6 + 0.4 * share, "drawing the ground between the lines")
