"""Where water runs over a surface: sinks, directions, catchments, height above it.

The filling of sinks, the order of the cells and the sums along the flow are those of
pyflwdir (docs/decisions say why); only the choice of the steepest of the eight falls
is our own, since the library keeps the direction in which the filling came.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from pennyweight.progress import Progress, quiet
from pennyweight.terrain.elevation import ElevationModel

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Routing:
    """How water runs over an elevation model, one way out of every cell.

    Attributes
    ----------
    model : ElevationModel
        The surface as it was given.
    filled_m : ndarray, shape (n_rows, n_columns)
        The surface with its sinks filled to their lowest way out [m]; nan unknown.
    below : ndarray of int, shape (n_cells,)
        Flat index of the cell that each drains into; -1 where water leaves the model
        and where nothing is known.
    order : ndarray of int, shape (n_known,)
        Flat indices of the known cells, from their outlets up.
    catchment_m2 : ndarray, shape (n_rows, n_columns)
        Area that drains through each cell, its own included [m2]; nan unknown.
    """

    model: ElevationModel
    filled_m: FloatArray
    below: IndexArray
    order: IndexArray
    catchment_m2: FloatArray

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of the model."""
        rows, columns = self.model.elevation_m.shape
        return int(rows), int(columns)

    @cached_property
    def carved_m(self) -> FloatArray:
        """The surface with its sinks cut open along the flow instead of filled [m]."""
        from pennyweight.terrain.kernels import carve  # noqa: PLC0415 - numba is slow

        height = self.model.elevation_m.astype(np.float64).ravel().copy()
        carve(height, self.below, self.order)
        return height.reshape(self.shape)

    @cached_property
    def way_m(self) -> FloatArray:
        """Way along the flow from each cell to where its water leaves [m]."""
        from pennyweight.terrain.kernels import lengthen  # noqa: PLC0415

        way = lengthen(self.below, self.order, self.shape[1])
        return np.asarray(way).reshape(self.shape) * self.model.cell_m

    @cached_property
    def cut_off(self) -> Mask:
        """Whether the catchment of each cell touches the edge of what is known.

        There the true catchment may be larger than the one that was counted.
        """
        edge = _edge(np.isfinite(self.filled_m))
        count = _sum_along(edge.astype(np.float64).ravel(), self.below, self.order)
        inside = count - edge.ravel()
        return np.asarray(inside.reshape(self.shape) > 0.0)

    def places(self, cells: IndexArray) -> tuple[FloatArray, FloatArray]:
        """Return where cells lie.

        Parameters
        ----------
        cells : ndarray of int, shape (n_cells,)
            Flat indices [-].

        Returns
        -------
        tuple of ndarray
            easting_m, northing_m of their centers [m].
        """
        east, north = self.model.centers
        row, column = np.divmod(np.asarray(cells), self.shape[1])
        return east[column], north[row]

    def cells(self, easting_m: FloatArray, northing_m: FloatArray) -> IndexArray:
        """Return the cell under each place.

        Parameters
        ----------
        easting_m, northing_m : ndarray, shape (n_places,)
            Where [m].

        Returns
        -------
        ndarray of int, shape (n_places,)
            Flat indices [-]; -1 outside of the model and where nothing is known.
        """
        rows, columns = self.shape
        model = self.model
        column = np.floor((np.asarray(easting_m) - model.west_m) / model.cell_m)
        row = np.floor((model.north_m - np.asarray(northing_m)) / model.cell_m)
        inside = (row >= 0) & (row < rows) & (column >= 0) & (column < columns)
        flat = np.where(inside, row * columns + column, 0).astype(np.int64)
        known = inside & np.isfinite(self.filled_m.ravel()[flat])
        return np.where(known, flat, -1)


def route_water(model: ElevationModel, progress: Progress = quiet) -> Routing:
    """Return how water runs over a surface.

    Sinks are filled to their lowest way out (Wang & Liu 2006); water goes down the
    steepest of the eight falls (O'Callaghan & Mark 1984), and over flats the way that
    the filling came. It leaves the model only at the edge of what is known.

    Parameters
    ----------
    model : ElevationModel
        The surface [m]; nan where unknown.
    progress : Progress, optional
        Told how far it is; may raise to stop.

    Returns
    -------
    Routing
        Directions, order and catchments.

    Raises
    ------
    ValueError
        No cell of the model is known.

    References
    ----------
    Wang, L. & Liu, H. (2006), Int. J. Geogr. Inf. Sci. 20(2), 193-213.
    O'Callaghan, J. F. & Mark, D. M. (1984), Comput. Vision Graph. 28, 323-344.
    """
    from pyflwdir import core, core_d8, dem  # noqa: PLC0415 - numba is slow

    from pennyweight.terrain.kernels import steepen  # noqa: PLC0415

    known = np.isfinite(model.elevation_m)
    if not known.any():
        msg = (
            f"none of the {model.elevation_m.size} cells of the elevation model has a "
            "height; take one that covers the ground."
        )
        raise ValueError(msg)
    height, lowest_m = _on_steps(model.elevation_m)
    progress(0.0, "filling sinks")
    filled, directions = dem.fill_depressions(height, nodata=np.nan)
    progress(0.6, "following the water")
    steepen(filled, directions)
    below, pits, _ = core_d8.from_array(directions, dtype=np.int64)
    order = core.idxs_seq(below, pits, np.int64(-1))
    progress(0.8, "adding up catchments")
    # The library lets an outlet drain into itself.
    below[below == np.arange(below.size)] = -1
    cells = _sum_along(known.astype(np.float64).ravel(), below, order)
    area_m2 = np.where(known, cells.reshape(known.shape) * model.cell_m**2, np.nan)
    progress(1.0, "following the water")
    filled_m = np.where(known, filled.astype(np.float64) + lowest_m, np.nan)
    # Cells that were not filled keep the height that they had, to the last digit.
    same = np.abs(filled - height) <= 0.0
    filled_m = np.where(same, model.elevation_m, filled_m)
    return Routing(model, filled_m, below, order.astype(np.int64), area_m2)


def height_above_drainage(routing: Routing, drainage: Mask) -> FloatArray:
    """Return how far each cell lies above the stream cell that it drains to.

    Parameters
    ----------
    routing : Routing
        How water runs.
    drainage : ndarray of bool, shape (n_rows, n_columns)
        Which cells are stream [-].

    Returns
    -------
    ndarray, shape (n_rows, n_columns)
        Height of the filled surface above the nearest drainage [m]; nan unknown. A
        cell that leaves the model without meeting a stream is measured from where it
        leaves.

    References
    ----------
    Rennó, C. D. et al. (2008), Remote Sens. Environ. 112, 3469-3481;
    Nobre, A. D. et al. (2011), J. Hydrol. 404, 13-29.
    """
    from pyflwdir import dem  # noqa: PLC0415 - numba is slow

    below = np.where(routing.below < 0, np.arange(routing.below.size), routing.below)
    above = dem.height_above_nearest_drain(
        below, routing.order, drainage.ravel(), routing.filled_m.ravel()
    )
    above = np.asarray(above, dtype=np.float64).reshape(routing.shape)
    return np.where(np.isfinite(routing.filled_m), above, np.nan)


def outline_catchment(routing: Routing, cell: int) -> Mask:
    """Return which cells drain through one.

    Parameters
    ----------
    routing : Routing
        How water runs.
    cell : int
        Flat index of the cell [-].

    Returns
    -------
    ndarray of bool, shape (n_rows, n_columns)
        True where water passes the cell, itself included.

    Raises
    ------
    ValueError
        The cell lies outside of the model.
    """
    from pennyweight.terrain.kernels import mark_above  # noqa: PLC0415

    if not 0 <= cell < routing.below.size:
        msg = f"cell {cell} is not one of the model's {routing.below.size}."
        raise ValueError(msg)
    mask = np.zeros(routing.below.size, dtype=np.bool_)
    mask[cell] = True
    mark_above(mask, routing.below, routing.order)
    return mask.reshape(routing.shape)


def _on_steps(elevation_m: FloatArray) -> tuple[npt.NDArray[np.float32], float]:
    """Return heights above the lowest as whole steps of a power of two, and it [m].

    The library reckons in single precision. With 2^23 steps over the relief (0.5 mm
    in 4000 m) its sums and differences are exact, so that a filled sink comes out
    perfectly flat; otherwise rounding would make dents in it, and water run in rings.
    """
    lowest_m, highest_m = float(np.nanmin(elevation_m)), float(np.nanmax(elevation_m))
    relief_m = max(highest_m - lowest_m, 1e-6)
    step_m = 2.0 ** np.ceil(np.log2(relief_m) - 23.0)
    steps = np.round((elevation_m - lowest_m) / step_m)
    return (steps * step_m).astype(np.float32), lowest_m


def _sum_along(own: FloatArray, below: IndexArray, order: IndexArray) -> FloatArray:
    """Return what each cell holds plus all that drains into it."""
    from pyflwdir import streams  # noqa: PLC0415 - numba is slow

    to_itself = np.where(below < 0, np.arange(below.size), below)
    return np.asarray(streams.accuflux(to_itself, order, own, nodata=-1.0))


def _edge(known: Mask) -> Mask:
    """Return which known cells have an unknown one, or the outside, beside them."""
    from scipy.ndimage import binary_erosion  # noqa: PLC0415

    inner = binary_erosion(known, np.ones((3, 3), dtype=np.bool_), border_value=0)
    return np.asarray(known & ~inner)
