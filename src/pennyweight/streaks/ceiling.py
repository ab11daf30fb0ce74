"""How rich unsampled ground may be: bounded by the richest that any dig allows.

A lognormal field has no bound, and with a handful of digs its spread is hardly known:
a few draws would hold more gold than all others together, in ground that no sample
speaks for. The prior is bounded here; at what the digs have seen nothing changes.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.special import gammaincinv

from pennyweight.streaks.counting import FieldCounts

#: Ground richer than this many times the most that any dig allows is ruled out [-].
#: Our choice: of 44 made grounds with 8 to 15 digs none went beyond 9.2.
RICHEST_RATIO = 10.0
#: Probability of the limit that a dig's count allows [-].
ALLOWS = 0.90
#: Sharpness of the bend toward the bound [-]; at a third of it 0.3 % are taken off.
SHARPNESS = 4.0
#: Below this distance from the bound nothing is changed [ln].
FAR_LOG = 2.0


def ceiling_log(counts: FieldCounts) -> float:
    """Return the log of the accumulation above which no ground is supposed to lie.

    Parameters
    ----------
    counts : FieldCounts
        Of one horizon; one dig at least was washed.

    Returns
    -------
    float
        ln of `RICHEST_RATIO` times the greatest upper limit of a dig [ln mg/m2].

    Notes
    -----
    The one-sided 90 % limit of N counted colors is the gamma point of shape N + 1
    (Garwood 1936), over the dig's exposure.

    Examples
    --------
    One dig of exposure 1 without a color allows 2.3 mg/m2:

    >>> one = FieldCounts(line=np.zeros(1, int), n_m=np.zeros(1),
    ...                   colors=np.zeros(1), exposed=np.ones(1))
    >>> round(float(np.exp(ceiling_log(one))) / RICHEST_RATIO, 2)
    2.3
    """
    told = counts.exposed > 0.0
    most = gammaincinv(counts.colors[told] + 1.0, ALLOWS) / counts.exposed[told]
    return float(np.log(RICHEST_RATIO * most.max()))


def hold_below(fields: tuple[npt.NDArray[np.floating], ...], ceiling: float) -> None:
    """Bend the draws of a field so that none lies above the bound, in place.

    Parameters
    ----------
    fields : tuple of ndarray
        Log accumulation [ln mg/m2]; changed.
    ceiling : float
        The bound [ln mg/m2].

    Notes
    -----
    a / (1 + (a / C)^4)^(1/4) for accumulation a and bound C: order is kept.

    Examples
    --------
    >>> field = np.array([0.0, 50.0])
    >>> hold_below((field,), 10.0)
    >>> field.round(3).tolist()
    [0.0, 10.0]
    """
    for field in fields:
        near = field > ceiling - FAR_LOG
        above = field[near]
        over = np.logaddexp(0.0, SHARPNESS * (above - ceiling)) / SHARPNESS
        field[near] = above - over
