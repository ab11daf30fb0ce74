"""Layers on the globe: where formats that know only degrees put them.

A ground with a coordinate system lies where it lies. A blurred one is laid around the
point where equator and prime meridian cross, in the open sea, where nobody digs.
"""

from __future__ import annotations

import numpy as np

from pennyweight.exchange.coordinates import MapGrid
from pennyweight.handing.layers import FloatArray

#: Decimals of a degree that are handed out: 1 cm on the ground.
DECIMALS = 7
#: A plane that touches the globe at zero longitude and latitude.
OPEN_SEA = MapGrid(
    "+proj=tmerc +lat_0=0 +lon_0=0 +k=1 +x_0=0 +y_0=0 +datum=WGS84 +units=m +type=crs"
)


def on_globe(grid: MapGrid, part: FloatArray) -> list[tuple[float, float]]:
    """Return places as longitude and latitude, WGS 84.

    Parameters
    ----------
    grid : MapGrid
        That the places are on.
    part : ndarray, shape (n_places, 2)
        easting_m and northing_m [m].
    """
    longitude, latitude = grid.to_globe(part[:, 0], part[:, 1])
    pairs = zip(longitude.tolist(), latitude.tolist(), strict=True)
    return [(round(x, DECIMALS), round(y, DECIMALS)) for x, y in pairs]


def right_handed(ring: FloatArray, *, outer: bool) -> FloatArray:
    """Return a closed ring that runs as RFC 7946 asks.

    Parameters
    ----------
    ring : ndarray, shape (n_places, 2)
        Places; the last may repeat the first [m].
    outer : bool
        Outer rings run counterclockwise, holes clockwise.
    """
    if len(ring) > 1 and np.array_equal(ring[0], ring[-1]):
        ring = ring[:-1]
    east, north = ring[:, 0] - ring[0, 0], ring[:, 1] - ring[0, 1]
    turn = np.dot(east, np.roll(north, -1)) - np.dot(north, np.roll(east, -1))
    if (turn > 0.0) != outer:
        ring = ring[::-1]
    return np.vstack([ring, ring[:1]])
