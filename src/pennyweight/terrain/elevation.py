"""The surface of the ground as a grid: heights, shading and contours."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class ElevationModel:
    """Heights on a north-up grid in the ground's coordinate system.

    Attributes
    ----------
    elevation_m : ndarray, shape (n_rows, n_columns)
        Height of each cell [m], row 0 in the north; nan where unknown.
    west_m, north_m : float
        Outer corner of the first cell [m].
    cell_m : float
        Side of the square cells [m].
    """

    elevation_m: FloatArray
    west_m: float
    north_m: float
    cell_m: float

    @property
    def region(self) -> tuple[float, float, float, float]:
        """Outer edges: west, east, south, north [m]."""
        rows, columns = self.elevation_m.shape
        return (
            self.west_m,
            self.west_m + columns * self.cell_m,
            self.north_m - rows * self.cell_m,
            self.north_m,
        )
