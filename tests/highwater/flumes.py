"""Channels with known answers for the flood to run in."""

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq

from pennyweight.highwater.reach import Reach

FloatArray = npt.NDArray[np.float64]
G = 9.81


def flume(
    bed_m: FloatArray,
    cell_m: float,
    *,
    manning_n: float = 1e-9,
    level_m: float | None = None,
    closed: bool = False,
) -> Reach:
    """Return a channel three cells wide, water in at the left and out at the right."""
    bed = np.tile(bed_m, (3, 1))
    outlet = np.zeros(bed.shape, np.bool_)
    outlet[:, -1] = not closed
    return Reach(
        bed,
        cell_m,
        np.array([[row, 0] for row in range(3)]),
        manning_n=manning_n,
        exact_inflow=True,
        outlet=outlet,
        outlet_level_m=level_m,
    )


def bump(n_cells: int = 100) -> tuple[FloatArray, FloatArray, float]:
    """Return x, bed and cell of the bump of 0.2 m in a channel of 25 m."""
    cell_m = 25.0 / n_cells
    x_m = np.linspace(0.5 * cell_m, 25.0 - 0.5 * cell_m, n_cells, dtype=np.float64)
    bed_m: FloatArray = np.maximum(0.0, 0.2 - 0.05 * (x_m - 10.0) ** 2)
    return x_m, bed_m, cell_m


def depths_by_bernoulli(
    unit_m2_s: float, bed_m: FloatArray, head_m: float, *, quick: npt.NDArray[np.bool_]
) -> FloatArray:
    """Return depths of equal head; the shallow, quick root where so marked."""
    critical_m = (unit_m2_s**2 / G) ** (1.0 / 3.0)

    def excess(depth_m: float, bed: float) -> float:
        return bed + depth_m + unit_m2_s**2 / (2.0 * G * depth_m**2) - head_m

    found = []
    for bed, shallow in zip(bed_m, quick, strict=True):
        if excess(critical_m, bed) > -1e-12:
            found.append(critical_m)
        elif shallow:
            found.append(brentq(excess, 1e-3, critical_m, args=(bed,)))
        else:
            found.append(brentq(excess, critical_m, 10.0, args=(bed,)))
    return np.array(found)


def meandering_valley(n_cells: int, cell_m: float) -> Reach:
    """Return an invented valley that falls to the south by 1.2 in 100."""
    length_m = n_cells * cell_m
    along = (np.arange(n_cells) + 0.5) * cell_m
    across, down = np.meshgrid(along, along)
    middle = length_m / 2.0 + 0.12 * length_m * np.sin(4.0 * np.pi * down / length_m)
    off = np.abs(across - middle)
    bed = 700.0 + 0.012 * (length_m - down) + 0.02 * off
    bed += 1.5 * np.clip((off - 9.0) / 4.0, 0.0, 1.0) + 0.35 * np.maximum(off - 40, 0)
    bed += 0.1 * np.sin(across / 3.0) * np.cos(down / 5.0)
    return Reach(bed, cell_m, np.array([[0, int(middle[0, 0] / cell_m)]]))
