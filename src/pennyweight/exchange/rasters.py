"""Elevation models and scanned sheets: read onto the ground's grid, and written.

GeoTIFF and ESRI ASCII grids are read from memory; no other file is ever opened for
them. Heights come out in meters, north up, on square cells.
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
import rasterio
from rasterio._err import CPLE_BaseError
from rasterio.crs import CRS
from rasterio.errors import CRSError, NotGeoreferencedWarning, RasterioError
from rasterio.io import DatasetReader, MemoryFile
from rasterio.transform import Affine, array_bounds
from rasterio.warp import Resampling, calculate_default_transform, reproject
from rasterio.warp import transform_bounds as warp_bounds

from pennyweight.errors import Refusal, RefusedError
from pennyweight.exchange.coordinates import GLOBE, open_grid
from pennyweight.terrain.elevation import ElevationModel
from pennyweight.units import FOOT_M

FloatArray = npt.NDArray[np.float64]
Region = tuple[float, float, float, float]

#: How a TIFF begins, small and big, of either byte order; all else is text.
_TIFF = (b"II*\x00", b"MM\x00*", b"II+\x00", b"MM\x00+")
#: A raster of more cells is refused: no creek needs it, and a hostile file says so.
MOST_CELLS = 250_000_000
#: An elevation model is coarsened until it has no more cells than this.
MOST_KEPT_CELLS = 4_000_000
#: No surface of the Earth lies outside of these [m].
LOWEST_M, HIGHEST_M = -500.0, 9000.0
#: Units of height that say feet; the survey foot differs by 2 mm in 1000 m.
_FEET = ("ft", "feet", "foot", "us-ft", "ftus", "us survey foot", "foot_us")


@dataclass(frozen=True, slots=True)
class RasterFacts:
    """What a raster is and where it falls.

    Attributes
    ----------
    kind : {"elevation", "sheet"}
        Heights, or a picture.
    width, height : int
        Cells.
    crs : str or None
        Its coordinate system; None where the file does not tell.
    degrees : tuple of float or None
        West, east, south, north, WGS 84 [deg]; None where that cannot be told.
    bounds : tuple of float
        West, east, south, north in its own system.
    in_feet : bool
        Whether its heights are feet.
    """

    kind: Literal["elevation", "sheet"]
    width: int
    height: int
    crs: str | None
    degrees: Region | None
    bounds: Region
    in_feet: bool


def read_facts(content: bytes, file: str) -> RasterFacts:
    """Return what a raster is and where it falls, without reading its cells.

    Parameters
    ----------
    content : bytes
        The file.
    file : str
        Its name, for refusals.

    Raises
    ------
    RefusedError
        It cannot be read, or is larger than any creek needs.
    """
    with _opened(content, file) as raster:
        left, bottom, right, top = raster.bounds
        bounds = (left, right, min(bottom, top), max(bottom, top))
        crs = raster.crs
        if crs is None and _looks_like_degrees(bounds):
            crs = CRS.from_string(GLOBE)
        degrees = None
        if crs is not None:
            west, south, east, north = warp_bounds(crs, GLOBE, *raster.bounds)
            degrees = (west, east, south, north)
        return RasterFacts(
            kind="sheet" if _is_picture(raster) else "elevation",
            width=raster.width,
            height=raster.height,
            crs=None if raster.crs is None else raster.crs.to_string(),
            degrees=degrees,
            bounds=bounds,
            in_feet=_in_feet(raster),
        )


def read_elevation(
    content: bytes,
    crs: str | None,
    *,
    region: Region | None = None,
    most_cells: int = MOST_KEPT_CELLS,
    file: str = "elevation model",
) -> ElevationModel:
    """Return an elevation model on the ground's grid.

    A raster that does not say its system is taken to be in degrees where its numbers
    fit, else on the ground's grid. It is warped only if it has to be, and coarsened
    only where it has more cells than are kept.

    Parameters
    ----------
    content : bytes
        The file.
    crs : str or None
        The ground's coordinate system; None leaves the raster where it lies.
    region : tuple of float, optional
        West, east, south, north that are wanted [m]; cells outside are left out.
    most_cells : int, optional
        Cells kept at most [-].
    file : str, optional
        Its name, for refusals.

    Returns
    -------
    ElevationModel
        Heights [m]; nan where unknown.

    Raises
    ------
    RefusedError
        It cannot be read, or nothing of it lies in the region.
    """
    with _opened(content, file) as raster:
        source = raster.crs
        if source is None:
            left, bottom, right, top = raster.bounds
            source = _assumed((left, right, bottom, top), crs)
        if crs is None and source is not None and source.is_geographic:
            expected = "a ground with a coordinate system (crs in ground.toml)"
            found = "an elevation model in degrees"
            raise RefusedError([Refusal(file, None, None, found, expected)])
        target = _plane(crs) if crs is not None else source
        unit_m = open_grid(crs).unit_m if crs is not None else 1.0
        wanted = None
        if region is not None:
            wanted = tuple(edge / unit_m for edge in region)
        place = _plan(raster, source, target, wanted=wanted, most_cells=most_cells)
        if place is None:
            expected = f"an elevation model that covers {region} of the ground"
            found = f"one over {tuple(raster.bounds)} of {source}"
            raise RefusedError([Refusal(file, None, None, found, expected)])
        heights = _heights(raster, source, target, place=place)
    return ElevationModel(
        elevation_m=heights,
        west_m=place.west * unit_m,
        north_m=place.north * unit_m,
        cell_m=place.cell * unit_m,
    )


@contextmanager
def _opened(content: bytes, file: str) -> Iterator[DatasetReader]:
    """Open a raster in memory; whatever is wrong with it becomes a refusal."""
    expected = "a GeoTIFF or ASCII grid that is whole; save it again from its source"
    if not content:
        raise RefusedError([Refusal(file, None, None, "an empty file", expected)])
    try:
        with _quiet(), MemoryFile(content) as memory, _open(memory, content) as raster:
            cells = raster.width * raster.height
            if cells > MOST_CELLS:
                found = f"{raster.width} x {raster.height} cells"
                limit = f"at most {MOST_CELLS} cells; cut out the valley"
                raise RefusedError([Refusal(file, None, None, found, limit)])
            yield raster
    except (RasterioError, CRSError, CPLE_BaseError, ValueError) as wrong:
        # The library names the file by its place in memory, which says nothing.
        found = re.sub(r"\S*[0-9a-f]{8}-[0-9a-f-]{27}\S*\s*", "", str(wrong))
        raise RefusedError([Refusal(file, None, None, found, expected)]) from wrong


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep the raster library from warning about what is judged here."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", NotGeoreferencedWarning)
        # Of the library's own use of its matrices.
        warnings.simplefilter("ignore", PendingDeprecationWarning)
        yield


def _open(memory: MemoryFile, content: bytes) -> DatasetReader:
    # Only drivers that read nothing beyond the bytes they are given.
    driver = "GTiff" if content.startswith(_TIFF) else "AAIGrid"
    return rasterio.open(memory.name, driver=driver)


def _looks_like_degrees(bounds: Region) -> bool:
    west, east, south, north = bounds
    flat = east - west < 30.0 and north - south < 30.0
    return flat and west >= -180.0 and east <= 180.0 and -90 <= south < north <= 90


def _assumed(bounds: Region, crs: str | None) -> CRS | None:
    if _looks_like_degrees(bounds):
        return CRS.from_string(GLOBE)
    return _plane(crs) if crs is not None else None


def _plane(crs: str) -> CRS:
    """Return a ground's system for rasterio, heights of a compound one left out."""
    return CRS.from_wkt(open_grid(crs).well_known_text)


def _is_picture(raster: DatasetReader) -> bool:
    return raster.count > 1 or raster.dtypes[0] in {"uint8", "int8", "bool"}


def _in_feet(raster: DatasetReader) -> bool:
    unit = (raster.units[0] or "").strip().lower()
    if not unit and raster.crs is not None:
        # The height part of a compound system names its unit last.
        text = raster.crs.to_wkt().upper()
        _, marker, height_part = text.partition("VERT_CS")
        return bool(marker) and "FOOT" in height_part
    return unit in _FEET


@dataclass(frozen=True, slots=True)
class _Place:
    """Where the cells come to lie, in the units of the target system."""

    west: float
    north: float
    cell: float
    columns: int
    rows: int

    @property
    def transform(self) -> Affine:
        """From cells to places."""
        return Affine(self.cell, 0.0, self.west, 0.0, -self.cell, self.north)


def _plan(
    raster: DatasetReader,
    source: CRS | None,
    target: CRS | None,
    *,
    wanted: tuple[float, ...] | None,
    most_cells: int,
) -> _Place | None:
    """Return where the cells come to lie; None where nothing is wanted of it."""
    if source == target:
        affine, columns, rows = raster.transform, raster.width, raster.height
        cell = (abs(affine.a * affine.e - affine.b * affine.d)) ** 0.5
        south, west, north, east = _edges(affine, columns, rows)
    else:
        affine, columns, rows = calculate_default_transform(
            source, target, raster.width, raster.height, *raster.bounds
        )
        cell = affine.a
        south, west, north, east = _edges(affine, columns, rows)
    first_west, first_north = west, north
    if wanted is not None:
        # Snapped outward to whole cells, so that nothing is resampled needlessly.
        west = max(west, west + np.floor((wanted[0] - first_west) / cell) * cell)
        east = min(east, first_west + np.ceil((wanted[1] - first_west) / cell) * cell)
        south = max(
            south, first_north - np.ceil((first_north - wanted[2]) / cell) * cell
        )
        north = min(
            north, first_north - np.floor((first_north - wanted[3]) / cell) * cell
        )
    if east <= west or north <= south:
        return None
    kept = (east - west) / cell * ((north - south) / cell)
    if kept > most_cells:
        cell *= float(np.sqrt(kept / most_cells))
    return _Place(
        float(west),
        float(north),
        float(cell),
        max(1, int(np.floor((east - west) / cell + 1e-6))),
        max(1, int(np.floor((north - south) / cell + 1e-6))),
    )


def _edges(
    affine: Affine, columns: int, rows: int
) -> tuple[float, float, float, float]:
    """Return south, west, north, east of a grid that may be turned."""
    west, south, east, north = array_bounds(rows, columns, affine)
    return min(south, north), min(west, east), max(south, north), max(west, east)


def _heights(
    raster: DatasetReader, source: CRS | None, target: CRS | None, *, place: _Place
) -> FloatArray:
    """Return the heights of the planned cells [m]."""
    values = raster.read(1, out_dtype="float64", masked=True).filled(np.nan)
    values = values * raster.scales[0] + raster.offsets[0]
    if _in_feet(raster):
        values *= FOOT_M
    values[(values < LOWEST_M) | (values > HIGHEST_M)] = np.nan
    first = raster.transform
    across = (place.west - first.c) / place.cell
    down = (first.f - place.north) / place.cell
    on_cells = all(abs(one - round(one)) < 1e-6 for one in (across, down))
    is_plain = first.b == first.d == 0.0 and np.isclose(first.a, place.cell, rtol=1e-9)
    if source == target and on_cells and is_plain and np.isclose(-first.e, first.a):
        at_row, at_column = round(down), round(across)
        rows, columns = at_row + place.rows, at_column + place.columns
        return np.array(values[at_row:rows, at_column:columns])
    found = np.full((place.rows, place.columns), np.nan)
    ratio = place.cell / abs(first.a) if source == target else 1.0
    anywhere = CRS.from_epsg(3857)
    reproject(
        values,
        found,
        src_transform=first,
        src_crs=source or anywhere,
        src_nodata=np.nan,
        dst_transform=place.transform,
        dst_crs=target or anywhere,
        dst_nodata=np.nan,
        resampling=Resampling.average if ratio > 1.5 else Resampling.bilinear,
    )
    return found


def write_raster(
    bands: dict[str, FloatArray],
    *,
    west_m: float,
    north_m: float,
    cell_m: float,
    crs: str | None,
) -> bytes:
    """Return a GeoTIFF of one or more bands on square cells, north up.

    Parameters
    ----------
    bands : dict of str to ndarray, shape (n_rows, n_columns)
        Description and values of each; nan where unknown.
    west_m, north_m, cell_m : float
        Outer corner of the first cell, and its side [m].
    crs : str or None
        Coordinate system of the ground.
    """
    unit_m = open_grid(crs).unit_m if crs is not None else 1.0
    rows, columns = next(iter(bands.values())).shape
    transform = Affine(
        cell_m / unit_m, 0.0, west_m / unit_m, 0.0, -cell_m / unit_m, north_m / unit_m
    )
    profile: dict[str, Any] = {
        "driver": "GTiff",
        "dtype": "float32",
        "count": len(bands),
        "height": rows,
        "width": columns,
        "nodata": float("nan"),
        "compress": "deflate",
        "crs": None if crs is None else _plane(crs),
        "transform": transform,
    }
    with _quiet(), MemoryFile() as memory:
        with rasterio.open(memory.name, "w", **profile) as raster:
            for number, (description, values) in enumerate(bands.items(), 1):
                raster.write(values.astype(np.float32), number)
                raster.set_band_description(number, description)
        return bytes(memory.read())
