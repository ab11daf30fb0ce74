"""Shaded relief: the surface as if lit from one side."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pennyweight.terrain.elevation import ElevationModel

FloatArray = npt.NDArray[np.float64]

#: Light from the north-west at half height: drawing custom, so that hills are not
#: read as hollows. Our assumption, no source.
LIGHT_AZIMUTH_DEG, LIGHT_HEIGHT_DEG = 315.0, 45.0


def surface_slopes(model: ElevationModel) -> tuple[FloatArray, FloatArray]:
    """Return how much the surface rises toward the east and toward the north.

    Parameters
    ----------
    model : ElevationModel
        The surface.

    Returns
    -------
    tuple of ndarray, shapes (n_rows, n_columns)
        Rise over run toward east and toward north [-]; nan where the cell itself is
        unknown. An unknown neighbor counts as level with the cell; beyond the edge
        the surface is carried on straight.

    References
    ----------
    Horn 1981, Proceedings of the IEEE 69: 14-47 (third-order differences over the
    eight neighbors); docs/sources.md, entry "shaded relief".
    """
    height = model.elevation_m
    padded = _carry_on(_carry_on(height, 0), 1)
    rows, columns = height.shape

    def neighbor(down: int, right: int) -> FloatArray:
        """Heights of the cells that many rows south and columns east."""
        found = padded[1 + down : 1 + down + rows, 1 + right : 1 + right + columns]
        return np.where(np.isfinite(found), found, height)

    east = neighbor(-1, 1) + 2.0 * neighbor(0, 1) + neighbor(1, 1)
    west = neighbor(-1, -1) + 2.0 * neighbor(0, -1) + neighbor(1, -1)
    north = neighbor(-1, -1) + 2.0 * neighbor(-1, 0) + neighbor(-1, 1)
    south = neighbor(1, -1) + 2.0 * neighbor(1, 0) + neighbor(1, 1)
    span_m = np.where(np.isfinite(height), 8.0 * model.cell_m, np.nan)
    return (east - west) / span_m, (north - south) / span_m


def _carry_on(height: FloatArray, axis: int) -> FloatArray:
    """Add one straight-on row before and after along an axis."""
    along = np.moveaxis(height, axis, 0)
    inner = along[[1, -2]] if len(along) > 1 else along[[0, 0]]
    ends = 2.0 * along[[0, -1]] - inner
    return np.moveaxis(np.concatenate([ends[:1], along, ends[1:]]), 0, axis)


def hillshade(
    model: ElevationModel,
    *,
    azimuth_deg: float = LIGHT_AZIMUTH_DEG,
    height_deg: float = LIGHT_HEIGHT_DEG,
    exaggeration: float = 1.0,
) -> npt.NDArray[np.uint8]:
    """Return the brightness of every cell under a light, as a gray picture.

    Parameters
    ----------
    model : ElevationModel
        The surface.
    azimuth_deg : float
        Where the light comes from, clockwise from north [deg].
    height_deg : float
        Of the light above the horizon [deg].
    exaggeration : float
        How much heights are stretched, above 0 [-].

    Returns
    -------
    ndarray of uint8, shape (n_rows, n_columns)
        1 (dark) to 255 (bright); 0 where the height is unknown.

    Raises
    ------
    ValueError
        The exaggeration is not above 0.

    Notes
    -----
    Brightness is the cosine between the surface's normal and the light, none below
    0 (Lambert's law).

    References
    ----------
    Horn 1981, Proceedings of the IEEE 69: 14-47; docs/sources.md, entry "shaded
    relief".
    """
    if not exaggeration > 0.0:
        msg = f"exaggeration is {exaggeration}; heights are stretched by more than 0."
        raise ValueError(msg)
    azimuth, height = np.deg2rad(azimuth_deg), np.deg2rad(height_deg)
    to_east, to_north = (exaggeration * rise for rise in surface_slopes(model))
    toward_light = np.sin(height) - np.cos(height) * (
        to_east * np.sin(azimuth) + to_north * np.cos(azimuth)
    )
    cosine = toward_light / np.sqrt(1.0 + to_east**2 + to_north**2)
    gray = np.rint(1.0 + 254.0 * np.clip(cosine, 0.0, 1.0))
    return np.where(np.isfinite(gray), gray, 0.0).astype(np.uint8)
