"""The surface of the ground as a grid of heights, and heights read off it."""

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

    @property
    def centers(self) -> tuple[FloatArray, FloatArray]:
        """Easting of each column and northing of each row, at cell centers [m]."""
        rows, columns = self.elevation_m.shape
        east = self.west_m + (np.arange(columns, dtype=np.float64) + 0.5) * self.cell_m
        north = self.north_m - (np.arange(rows, dtype=np.float64) + 0.5) * self.cell_m
        return east, north


def read_heights(
    model: ElevationModel, easting_m: npt.ArrayLike, northing_m: npt.ArrayLike
) -> FloatArray:
    """Return the height of the surface at places, linear between cell centers.

    Beside unknown cells the known ones of the four share the weight. Within half a
    cell of the edge the edge's own cells are used.

    Parameters
    ----------
    model : ElevationModel
        The surface.
    easting_m, northing_m : array_like, shape (n_places,)
        Where [m]; nan where a place is unknown.

    Returns
    -------
    ndarray, shape (n_places,)
        Height [m]; nan outside the model, or where no cell around is known.
    """
    east = np.atleast_1d(np.asarray(easting_m, dtype=np.float64))
    north = np.atleast_1d(np.asarray(northing_m, dtype=np.float64))
    rows, columns = model.elevation_m.shape
    west_m, east_m, south_m, north_m = model.region
    inside = (east >= west_m) & (east <= east_m) & (north >= south_m)
    inside &= north <= north_m
    column = np.where(inside, (east - west_m) / model.cell_m - 0.5, 0.0)
    row = np.where(inside, (north_m - north) / model.cell_m - 0.5, 0.0)
    column, row = np.clip(column, 0, columns - 1), np.clip(row, 0, rows - 1)
    left, upper = np.floor(column).astype(np.intp), np.floor(row).astype(np.intp)
    total, weights = np.zeros_like(east), np.zeros_like(east)
    for down in (0, 1):
        for right in (0, 1):
            at_row = np.minimum(upper + down, rows - 1)
            at_column = np.minimum(left + right, columns - 1)
            weight = np.abs(1 - right - (column - left)) * np.abs(
                1 - down - row + upper
            )
            height = model.elevation_m[at_row, at_column]
            known = np.isfinite(height) & (weight > 0.0)
            total += np.where(known, height * weight, 0.0)
            weights += np.where(known, weight, 0.0)
    found = np.divide(
        total, weights, out=np.full_like(total, np.nan), where=weights > 0.0
    )
    return np.where(inside, found, np.nan)
