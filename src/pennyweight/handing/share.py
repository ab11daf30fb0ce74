"""Hand the record on in an open format; the ending of the name says which.

What goes out true says where the ground is, and so does this module to its caller.
What goes out blurred is made from a blurred record and from nothing else.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from pennyweight.answers.answer import BookName
from pennyweight.answers.mapping import NAME_A_GRID
from pennyweight.answers.reading import Reading
from pennyweight.errors import CallError
from pennyweight.exchange.coordinates import MapGrid, open_grid
from pennyweight.exchange.fieldlogwriting import replace_file, write_fieldlog
from pennyweight.handing.blurring import blur_log
from pennyweight.handing.fieldraster import make_field_raster
from pennyweight.handing.geojson import make_geojson
from pennyweight.handing.geopackage import make_geopackage
from pennyweight.handing.globe import OPEN_SEA
from pennyweight.handing.kml import make_kml
from pennyweight.handing.layers import MapContent, gather_layers
from pennyweight.handing.receivers import LINES, POINTS, make_gpx
from pennyweight.records import KEYS, Log

TRUE = "It says where the ground really is; whoever gets it can go there."
BLURRED = (
    "Blurred: turned at random, moved to a place of its own, without names, people, "
    "dates, notes, drawings, photos, files or money. The pattern of the digs and what "
    "was found remain, and may give the place away to someone who knows it."
)
#: What an interested reader must never take it for.
NO_RESOURCE = "Made by hand sampling; not a mineral resource or reserve under any code."
KINDS = {
    "": "field log",
    ".zip": "field log",
    ".gpkg": "GeoPackage",
    ".geojson": "GeoJSON",
    ".kml": "KML",
    ".gpx": "GPX",
    ".tif": "GeoTIFF",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedSummary:
    """What left, told to the one who lets it go.

    Attributes
    ----------
    path : Path
        What was written.
    kind : str
        Format.
    public : bool
        Whether it was blurred.
    counts : mapping
        What it holds, by table or layer.
    left_out : tuple of str
        What could not be handed on, with the reason.
    """

    path: Path
    kind: str
    public: bool
    counts: Mapping[str, int] = field(default_factory=dict)
    left_out: tuple[str, ...] = ()

    def __str__(self) -> str:
        """Return the summary in sentences."""
        held = ", ".join(f"{name} {number}" for name, number in self.counts.items())
        said = [BLURRED if self.public else TRUE]
        if held:
            said.append(f"It holds: {held.replace('_', ' ')}.")
        said += [f"Left out: {reason}" for reason in self.left_out]
        return " ".join(said)


def share_record(
    reading: Reading, path: Path, *, public: bool = False
) -> SharedSummary:
    """Write the record, or what was answered from it, and tell what leaves.

    Parameters
    ----------
    reading : Reading
        One look at a book.
    path : Path
        Ending in .zip or nothing (a folder): the field log; .gpkg, .geojson, .kml,
        .gpx: the answers as map layers; .tif: the best field.
    public : bool, optional
        The blurred variant.

    Raises
    ------
    CallError
        The ending is that of no format known here, or the format needs to know where
        on Earth the ground lies and the record does not say.
    TooLittleError
        There is no field to draw as a raster.
    """
    ending = path.suffix.lower()
    if ending not in KINDS:
        known = ", ".join(filter(None, KINDS))
        msg = (
            f"{path.name} ends in {ending}, which is no format known here; end the "
            f"name in one of {known}, or name a folder for a field log."
        )
        raise CallError(msg)
    if public:
        reading = _blurred(reading)
    counts: Mapping[str, int]
    left_out: tuple[str, ...] = ()
    if KINDS[ending] == "field log":
        write_fieldlog(reading.log, path)
        counts = _count_records(reading.log)
    elif ending == ".tif":
        replace_file(path, make_field_raster(reading))
        counts = {"bands": 2}
    else:
        content = gather_layers(reading)
        if ending == ".gpx":
            shown = (one for one in content.layers if one.name in (*POINTS, *LINES))
            content = replace(content, layers=tuple(shown))
        made = _MAKERS[ending](content, reading, public)
        replace_file(path, made)
        counts = {layer.name: len(layer.features) for layer in content.layers}
        left_out = content.left_out
    return SharedSummary(
        path=path, kind=KINDS[ending], public=public, counts=counts, left_out=left_out
    )


def _blurred(reading: Reading) -> Reading:
    """Return a reading of the blurred record, with nothing of the true one in it."""
    return Reading(
        book=BookName(name="Blurred record", id=""),
        revision="",
        log=blur_log(reading.log),
        made_at="",
        seed=reading.seed,
        progress=reading.progress,
    )


def _count_records(log: Log) -> dict[str, int]:
    counts = {name: len(getattr(log, name)) for name in KEYS if name != "ground"}
    return {name: number for name, number in counts.items() if number}


def _globe_grid(reading: Reading, public: bool) -> MapGrid:
    """Return the grid through which layers come onto the globe."""
    if public:
        return OPEN_SEA
    crs = reading.log.ground.crs
    if crs is None:
        msg = (
            "The ground has no coordinate system, and this format needs to know where "
            f"on Earth it lies. {NAME_A_GRID} Or share as .gpkg, .tif or .zip."
        )
        raise CallError(msg)
    return open_grid(crs)


def _about(
    content: MapContent, reading: Reading, *, public: bool
) -> list[tuple[str, str]]:
    """Return what the reader of a file must know."""
    rows = [("place", BLURRED if public else TRUE), ("meaning", NO_RESOURCE)]
    if not public:
        rows += [("ground", reading.book.name), ("made at", reading.made_at)]
    rows += [("caution", text) for text in content.cautions]
    rows += [("left out", text) for text in content.left_out]
    rows += [(f"assumed {key}", f"{one}") for key, one in content.assumptions.items()]
    return rows


def _geopackage(content: MapContent, reading: Reading, public: bool) -> bytes:
    crs = reading.log.ground.crs
    grid = open_grid(crs) if crs is not None else None
    about = _about(content, reading, public=public)
    return make_geopackage(content.layers, grid, about)


def _geojson(content: MapContent, reading: Reading, public: bool) -> bytes:
    return make_geojson(content.layers, _globe_grid(reading, public))


def _kml(content: MapContent, reading: Reading, public: bool) -> bytes:
    about = _about(content, reading, public=public)
    return make_kml(
        content.layers,
        _globe_grid(reading, public),
        title=reading.book.name,
        said="\n".join(f"{name}: {text}" for name, text in about),
    )


def _gpx(content: MapContent, reading: Reading, public: bool) -> bytes:
    return make_gpx(content.layers, _globe_grid(reading, public))


_MAKERS: Mapping[str, Callable[[MapContent, Reading, bool], Any]] = {
    ".gpkg": _geopackage,
    ".geojson": _geojson,
    ".kml": _kml,
    ".gpx": _gpx,
}
