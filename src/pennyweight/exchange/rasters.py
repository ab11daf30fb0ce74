"""Elevation models and scanned sheets: read onto the ground's grid, and written.

Read from memory, and only in formats that keep everything in the one file: GeoTIFF,
ESRI ASCII and Surfer grids, DTED, the USGS's DEM, SRTM's HGT. No other file is ever
opened for them. Heights come out in meters, north up, on square cells.
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator, Sequence
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
from rasterio.windows import Window

from pennyweight.errors import Refusal, RefusedError
from pennyweight.exchange.coordinates import GLOBE, open_grid
from pennyweight.terrain.elevation import ElevationModel
from pennyweight.units import FOOT_M

FloatArray = npt.NDArray[np.float64]
Region = tuple[float, float, float, float]

#: How the formats begin; a TIFF small or big, of either byte order.
_BEGINNINGS = {
    b"II*\x00": "GTiff",
    b"MM\x00*": "GTiff",
    b"II+\x00": "GTiff",
    b"MM\x00+": "GTiff",
    b"DSAA": "GSAG",
    b"DSBB": "GSBG",
    b"DSRB": "GS7BG",
    b"UHL1": "DTED",
    b"VOL1": "DTED",
    b"HDR1": "DTED",
}
#: Endings whose format does not show in how the file begins; all else is text.
_ENDINGS = {".hgt": "SRTMHGT", ".dem": "USGSDEM"}
#: Endings of files that may be elevation models or sheets.
RASTER_ENDINGS = (
    *(".tif", ".tiff", ".asc", ".grd"),
    *(".dem", ".hgt", ".dt0", ".dt1", ".dt2"),
)
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
        # A file cut short still has its beginning; its last row tells.
        raster.read(1, window=Window(0, raster.height - 1, raster.width, 1))
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
    """Return an elevation model on the ground's grid (see `read_mosaic`).

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
    return read_mosaic([(file, content)], crs, region=region, most_cells=most_cells)


def read_mosaic(
    tiles: Sequence[tuple[str, bytes]],
    crs: str | None,
    *,
    region: Region | None = None,
    around: Region | None = None,
    most_cells: int = MOST_KEPT_CELLS,
    unit: Literal["m", "ft"] | None = None,
) -> ElevationModel:
    """Return one elevation model out of several tiles, on the ground's grid.

    The cells are those of the finest tile. Where tiles overlap the finest that knows
    a height gives it; tiles outside of the region are left out.

    Parameters
    ----------
    tiles : sequence of (str, bytes)
        Name, for refusals, and content of each; at least one.
    crs : str or None
        The ground's coordinate system; None leaves a tile where it lies, and then all
        must be of the same system.
    region : tuple of float, optional
        West, east, south, north that are wanted [m]; cells outside are left out.
    around : tuple of float, optional
        The ground itself, west, east, south, north [m]: of too many cells the far
        ones are given up first, and cells are coarsened only if this still is too
        much.
    most_cells : int, optional
        Cells kept at most [-].
    unit : {"m", "ft"}, optional
        What the heights are, whatever the files say.

    Returns
    -------
    ElevationModel
        Heights [m]; nan where unknown.

    Raises
    ------
    RefusedError
        One cannot be read, or nothing of them lies in the region.
    """
    unit_m = open_grid(crs).unit_m if crs is not None else 1.0
    wanted = None if region is None else tuple(edge / unit_m for edge in region)
    target, places, refused = None if crs is None else _plane(crs), [], []
    for file, content in tiles:
        with _opened(content, file) as raster:
            source = _system(raster, crs, file)
            target = source if target is None else target
            place = _plan(raster, source, target, wanted=wanted)
            if place is None:
                expected = f"an elevation model that covers {region} of the ground"
                found = f"one over {tuple(raster.bounds)} of {source}"
                refused.append(Refusal(file, None, None, found, expected))
            else:
                places.append((place, file, content))
    if not places:
        raise RefusedError(refused)
    core = None if around is None else tuple(edge / unit_m for edge in around)
    whole = _join([place for place, _, _ in places], core, most_cells)
    heights = np.full((whole.rows, whole.columns), np.nan)
    for _, file, content in sorted(places, key=lambda one: one[0].cell):
        with _opened(content, file) as raster:
            source = _system(raster, crs, file)
            more = _heights(raster, source, target, place=whole, unit=unit)
        heights = np.where(np.isfinite(heights), heights, more)
    return ElevationModel(
        elevation_m=heights,
        west_m=whole.west * unit_m,
        north_m=whole.north * unit_m,
        cell_m=whole.cell * unit_m,
    )


def _system(raster: DatasetReader, crs: str | None, file: str) -> CRS | None:
    """Return the coordinate system of a raster, the likely one where it tells none."""
    source = raster.crs
    if source is None:
        left, bottom, right, top = raster.bounds
        source = _assumed((left, right, bottom, top), crs)
    if crs is None and source is not None and source.is_geographic:
        expected = "a ground with a coordinate system (crs in ground.toml)"
        found = "an elevation model in degrees"
        raise RefusedError([Refusal(file, None, None, found, expected)])
    return source


@contextmanager
def _opened(content: bytes, file: str) -> Iterator[DatasetReader]:
    """Open a raster in memory; whatever is wrong with it becomes a refusal."""
    expected = "a GeoTIFF or ASCII grid that is whole; save it again from its source"
    if not content:
        raise RefusedError([Refusal(file, None, None, "an empty file", expected)])
    try:
        with (
            _quiet(),
            MemoryFile(content, **_memory_name(file)) as memory,
            _open(memory, content, file) as raster,
        ):
            cells = raster.width * raster.height
            if cells > MOST_CELLS:
                found = f"{raster.width} x {raster.height} cells"
                limit = f"at most {MOST_CELLS} cells; cut out the valley"
                raise RefusedError([Refusal(file, None, None, found, limit)])
            yield raster
    except (RasterioError, CRSError, CPLE_BaseError, ValueError) as wrong:
        # The library names the file by its place in memory, which says nothing.
        found = re.sub(r"\S*[0-9a-f]{8}-[0-9a-f-]{27}\S*\s*", "", str(wrong))
        if "previous exception" in found:
            found = "cells that cannot be read"
        raise RefusedError([Refusal(file, None, None, found, expected)]) from wrong


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep the raster library from warning about what is judged here."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", NotGeoreferencedWarning)
        # Of the library's own use of its matrices.
        warnings.simplefilter("ignore", PendingDeprecationWarning)
        yield


def _memory_name(file: str) -> dict[str, str]:
    """Return the name that a file needs in memory: HGT tells its place by it."""
    found = re.search(r"[NS]\d{2}[EW]\d{3}\.hgt$", file, re.IGNORECASE)
    return {} if found is None else {"filename": found[0].upper()[:-3] + "hgt"}


def _open(memory: MemoryFile, content: bytes, file: str) -> DatasetReader:
    # Only drivers that read nothing beyond the bytes they are given.
    begins = (name for start, name in _BEGINNINGS.items() if content.startswith(start))
    ending = f".{file.lower().rpartition('.')[2]}"
    driver = next(begins, _ENDINGS.get(ending, "AAIGrid"))
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
    return _spread_cells((west, east, south, north), cell)


def _spread_cells(edges: tuple[float, float, float, float], cell: float) -> _Place:
    """Return the whole cells that fit between edges, from the north-west corner."""
    west, east, south, north = edges
    return _Place(
        float(west),
        float(north),
        float(cell),
        max(1, int(np.floor((east - west) / cell + 1e-6))),
        max(1, int(np.floor((north - south) / cell + 1e-6))),
    )


def _join(
    places: list[_Place], around: tuple[float, ...] | None, most_cells: int
) -> _Place:
    """Return one place that holds all, on the cells of the finest."""
    finest = min(places, key=lambda place: place.cell)
    cell = finest.cell
    west = min(place.west for place in places)
    north = max(place.north for place in places)
    east = max(place.west + place.columns * place.cell for place in places)
    south = min(place.north - place.rows * place.cell for place in places)
    if around is not None:
        west, east, south, north = _draw_in(
            (west, east, south, north), around, most=most_cells * cell**2
        )
    # On the finest tile's own cells, so that it is not resampled.
    west = finest.west - np.ceil((finest.west - west) / cell - 1e-6) * cell
    north = finest.north + np.ceil((north - finest.north) / cell - 1e-6) * cell
    kept = (east - west) / cell * ((north - south) / cell)
    if kept > most_cells:
        cell *= float(np.sqrt(kept / most_cells))
    return _spread_cells((west, east, south, north), cell)


def _edges(
    affine: Affine, columns: int, rows: int
) -> tuple[float, float, float, float]:
    """Return south, west, north, east of a grid that may be turned."""
    west, south, east, north = array_bounds(rows, columns, affine)
    return min(south, north), min(west, east), max(south, north), max(west, east)


def _draw_in(
    edges: tuple[float, float, float, float],
    around: tuple[float, ...],
    *,
    most: float,
) -> tuple[float, float, float, float]:
    """Return edges drawn in toward the ground until their area is not too large."""
    whole, core = np.array(edges), np.array(around)
    # The ground itself may reach beyond what is known.
    core[[0, 2]] = np.clip(core[[0, 2]], whole[[0, 2]], whole[[1, 3]])
    core[[1, 3]] = np.clip(core[[1, 3]], whole[[0, 2]], whole[[1, 3]])
    wide, high = whole[1] - whole[0], whole[3] - whole[2]
    if wide * high <= most:
        return edges
    core_wide, core_high = core[1] - core[0], core[3] - core[2]
    # (core_wide + t dx)(core_high + t dy) = most, for the share t that is kept.
    across, along = wide - core_wide, high - core_high
    halved = 0.5 * (core_wide * along + core_high * across)
    spare = max(most - core_wide * core_high, 0.0)
    square = across * along
    root = np.sqrt(halved**2 + square * spare)
    share = spare / (halved + root) if halved + root > 0.0 else 0.0
    west, east, south, north = core + min(share, 1.0) * (whole - core)
    return float(west), float(east), float(south), float(north)


def _heights(
    raster: DatasetReader,
    source: CRS | None,
    target: CRS | None,
    *,
    place: _Place,
    unit: str | None = None,
) -> FloatArray:
    """Return the heights of the planned cells [m]; nan where the raster knows none."""
    values = raster.read(1, out_dtype="float64", masked=True).filled(np.nan)
    values = values * raster.scales[0] + raster.offsets[0]
    if unit == "ft" or (unit is None and _in_feet(raster)):
        values *= FOOT_M
    values[(values < LOWEST_M) | (values > HIGHEST_M)] = np.nan
    first = raster.transform
    across = (place.west - first.c) / place.cell
    down = (first.f - place.north) / place.cell
    on_cells = all(abs(one - round(one)) < 1e-6 for one in (across, down))
    is_plain = first.b == first.d == 0.0 and np.isclose(first.a, place.cell, rtol=1e-9)
    if source == target and on_cells and is_plain and np.isclose(-first.e, first.a):
        return _cut_out(values, round(down), round(across), place=place)
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


def _cut_out(
    values: FloatArray, at_row: int, at_column: int, *, place: _Place
) -> FloatArray:
    """Return a window of an array, nan where it reaches beyond."""
    found = np.full((place.rows, place.columns), np.nan)
    first_row, first_column = max(at_row, 0), max(at_column, 0)
    part = values[
        first_row : max(at_row + place.rows, 0),
        first_column : max(at_column + place.columns, 0),
    ]
    down, across = first_row - at_row, first_column - at_column
    found[down : down + part.shape[0], across : across + part.shape[1]] = part
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
