"""The sampled stretch as a whole: gold, gravel, and whether there is any streak."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.streaks.fit import StreakFit
from pennyweight.streaks.sites import Sites
from pennyweight.streaks.tracing import Traced

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlineSums:
    """Sums over the outline, one value a draw.

    Attributes
    ----------
    gold_g, gold_above_g : ndarray, shape (n_draws,)
        All gold, and that of ground above the cutoff [g].
    gravel_m3 : ndarray, shape (n_draws,), or None
        Ground from the surface to the depth to which bedrock was taken up [m3].
    pay_m3 : ndarray, shape (n_draws,)
        Pay of all horizons [m3].
    """

    gold_g: FloatArray
    gold_above_g: FloatArray
    gravel_m3: FloatArray | None
    pay_m3: FloatArray


def has_outline(sites: Sites) -> bool:
    """Tell whether two lines have two digs each, so that they enclose ground.

    Parameters
    ----------
    sites : Sites
        Digs and lines.

    Returns
    -------
    bool
        Whether there is an outline.
    """
    wide = 0
    for line in range(len(sites.lines)):
        n_m = sites.n_m[sites.line_index == line]
        wide += len(n_m) > 1 and float(np.ptp(n_m)) > 0.0
    return wide >= 2


def sum_outline(
    fit: StreakFit, *, cutoff_mg_m3: float, min_pay_m: float
) -> OutlineSums:
    """Return gold and gravel inside the outline of the sampled stretch.

    Parameters
    ----------
    fit : StreakFit
        All horizons.
    cutoff_mg_m3, min_pay_m : float
        Bank grade [mg/m3] and least thickness [m].

    Returns
    -------
    OutlineSums
        In every draw.
    """
    area = (fit.grid.inside * fit.grid.ds_m * fit.grid.dn_m).astype(np.float32)
    n_draws = len(fit.horizons[0].cell_mg_m2)
    gold, above, pay = np.zeros(n_draws), np.zeros(n_draws), np.zeros(n_draws)
    for horizon in fit.horizons:
        here = horizon.cell_mg_m2 * area
        gold += here.sum(axis=(1, 2), dtype=np.float64) / 1000.0
        thick = np.nan_to_num(horizon.cell_pay_m)
        pay += (thick * area).sum(axis=(1, 2), dtype=np.float64)
        needed = cutoff_mg_m3 * np.maximum(horizon.cell_pay_m, np.float32(min_pay_m))
        rich = np.where(horizon.cell_mg_m2 > needed, here, np.float32(0.0))
        above += rich.sum(axis=(1, 2), dtype=np.float64) / 1000.0
    gravel = None
    if fit.bottom_m is not None:
        gravel = (fit.bottom_m * area).sum(axis=(1, 2), dtype=np.float64)
    return OutlineSums(gold_g=gold, gold_above_g=above, gravel_m3=gravel, pay_m3=pay)


def probability_of_any(traced: Sequence[Traced], fit: StreakFit) -> float:
    """Return the share of draws with at least one streak.

    Parameters
    ----------
    traced : sequence of Traced
        All horizons at one cutoff.
    fit : StreakFit
        What they belong to.

    Returns
    -------
    float
        Above cutoff at two adjacent lines and linked; with one line, above cutoff [-].
    """
    one_line = len(fit.sites.lines) == 1
    found = [one.present() if one_line else one.linked for one in traced]
    anywhere = [draws.any(axis=1) for draws in found if draws.shape[1]]
    return float(np.any(anywhere, axis=0).mean()) if anywhere else 0.0
