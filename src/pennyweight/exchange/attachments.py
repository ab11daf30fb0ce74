"""Files that are kept whole: elevation models, sheets, photographs, tracks."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar

from pennyweight.errors import Finding
from pennyweight.exchange.columns import Table
from pennyweight.exchange.coordinates import MapGrid
from pennyweight.exchange.logtables import ATTACHMENTS
from pennyweight.exchange.photos import PhotoFacts, propose_dig, read_photo
from pennyweight.exchange.rasters import RASTER_ENDINGS, RasterFacts, read_facts
from pennyweight.exchange.rows import Rows
from pennyweight.records import Attachment, Dig

#: Media type by ending; the kind of a raster is seen in the file itself.
MEDIA_TYPES = {
    ".jpg": "image/jpeg",
    ".jpeg": "image/jpeg",
    ".tif": "image/tiff",
    ".tiff": "image/tiff",
    ".asc": "text/plain",
    ".grd": "application/octet-stream",
    ".dem": "text/plain",
    ".hgt": "application/octet-stream",
    ".dt0": "application/octet-stream",
    ".dt1": "application/octet-stream",
    ".dt2": "application/octet-stream",
    ".gpx": "application/gpx+xml",
}


@dataclass
class ReadAttachments:
    """What was attached to a log.

    Attributes
    ----------
    files : list of Attachment
        In file order.
    rasters, photos : dict
        Facts by file name.
    """

    TABLE: ClassVar[Table] = ATTACHMENTS

    files: list[Attachment] = field(default_factory=list)
    rasters: dict[str, RasterFacts] = field(default_factory=dict)
    photos: dict[str, PhotoFacts] = field(default_factory=dict)

    def degrees(self) -> list[tuple[float, float]]:
        """Return places of photos, or else middles of rasters: longitude, latitude."""
        places = [
            (facts.longitude, facts.latitude)
            for facts in self.photos.values()
            if facts.longitude is not None and facts.latitude is not None
        ]
        return places or [
            ((west + east) / 2.0, (south + north) / 2.0)
            for west, east, south, north in self._edges().values()
        ]

    def _edges(self) -> dict[str, tuple[float, float, float, float]]:
        return {
            name: facts.degrees
            for name, facts in self.rasters.items()
            if facts.degrees is not None
        }

    def with_digs(self, told: Rows | None) -> tuple[Attachment, ...]:
        """Return the attachments, with what `attachments.csv` says of them."""
        if told is None:
            return tuple(self.files)
        files = {attachment.file: attachment for attachment in self.files}
        for row in told.good():
            name = row.fields["file"]
            if name not in files:
                expected = "the name of a file of this log"
                told.refuse(row, "file", found=name, expected=expected)
                continue
            files[name] = replace(
                files[name],
                kind=row.fields.get("kind", files[name].kind),
                dig=row.fields.get("dig"),
                typed=row.typed,
                extra=row.extra,
            )
        return tuple(files.values())

    def find_places(
        self, grid: MapGrid, digs: Sequence[tuple[float, float]], named: Sequence[Dig]
    ) -> list[Finding]:
        """Return where rasters and photos fall, if not plainly on the ground."""
        return [
            *self._rasters_elsewhere(grid, digs),
            *self._photos_at_digs(grid, named),
        ]

    def _rasters_elsewhere(
        self, grid: MapGrid, digs: Sequence[tuple[float, float]]
    ) -> list[Finding]:
        found = []
        for name, facts in self.rasters.items():
            if facts.degrees is None:
                found.append(_unplaced(name, facts))
                continue
            if not digs:
                continue
            longitude, latitude = grid.to_globe(*zip(*digs, strict=True))
            west, east, south, north = facts.degrees
            inside = (longitude >= west) & (longitude <= east)
            inside &= (latitude >= south) & (latitude <= north)
            if not inside.all():
                outside = int((~inside).sum())
                found.append(
                    Finding(
                        where=name,
                        problem=f"{outside} of {len(digs)} digs lie outside of it; it "
                        f"covers longitude {west:.4f} to {east:.4f}, latitude "
                        f"{south:.4f} to {north:.4f}",
                        remedy="Check its coordinate system, and crs in ground.toml.",
                        weight="doubt",
                    )
                )
        return found

    def _photos_at_digs(self, grid: MapGrid, named: Sequence[Dig]) -> list[Finding]:
        found = []
        for name, facts in self.photos.items():
            if not facts.is_whole:
                problem = "the photograph is cut short; what is there was kept"
                remedy = "Copy it again from the camera."
                found.append(Finding(name, problem, remedy, "doubt"))
            if facts.longitude is None or facts.latitude is None:
                continue
            east, north = grid.to_grid(facts.longitude, facts.latitude)
            near = propose_dig(
                float(east), float(north), taken_at=facts.taken_at, digs=named
            )
            if near is not None:
                dig, away_m = near
                when = f" on {facts.taken_at[:10]}" if facts.taken_at else ""
                problem = f"taken{when} {away_m:.0f} m from dig {dig.dig}"
                remedy = f"Confirm in the book that it shows {dig.dig}."
                found.append(Finding(name, problem, remedy, "note"))
        return found


def _unplaced(name: str, facts: RasterFacts) -> Finding:
    west, east, south, north = facts.bounds
    return Finding(
        where=name,
        problem="it does not say its coordinate system; its own numbers run from "
        f"{west:.0f} to {east:.0f} and {south:.0f} to {north:.0f}",
        remedy="Save it again with its coordinate system, or check that these are "
        "meters of the ground's own.",
        weight="doubt",
    )


def read_attachments(
    files: Mapping[str, bytes],
    tracks: Mapping[str, str],
    attempt: Callable[..., Any],
) -> ReadAttachments:
    """Return the attachments among the files of a log.

    Parameters
    ----------
    files : mapping
        Name -> content.
    tracks : mapping
        GPX files to be kept whole -> their kind.
    attempt : callable
        Calls a reader with what follows it; gives None where it refuses.
    """
    found = ReadAttachments()
    for name, content in files.items():
        ending = f".{name.lower().rpartition('.')[2]}"
        kind = tracks.get(name, "")
        if ending in RASTER_ENDINGS:
            facts = attempt(read_facts, content, name)
            if facts is None:
                continue
            found.rasters[name] = facts
            kind = facts.kind
        elif ending in {".jpg", ".jpeg"}:
            photo = attempt(read_photo, content, name)
            if photo is None:
                continue
            found.photos[name] = photo
            kind = "photo"
        if kind:
            found.files.append(
                Attachment(
                    file=name,
                    kind=kind,
                    media_type=MEDIA_TYPES[ending],
                    sha256=hashlib.sha256(content).hexdigest(),
                    content=content,
                )
            )
    return found
