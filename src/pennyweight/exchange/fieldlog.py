"""The field log: a folder, .zip or single file of it, read into records.

The whole log is taken or none of it; every refusal is told at once. What is possible
but odd is taken, and told as a doubt.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from pennyweight.errors import Finding, Refusal, RefusedError
from pennyweight.exchange.attachments import ReadAttachments, read_attachments
from pennyweight.exchange.checks import (
    Names,
    check_table,
    check_weighings,
    find_double_volumes,
    find_finds,
)
from pennyweight.exchange.columns import Table
from pennyweight.exchange.features import FILE as FEATURES_FILE
from pennyweight.exchange.features import FeaturesRead, places_of, read_features
from pennyweight.exchange.gpx import GpxRead, merge_waypoints, read_gpx
from pennyweight.exchange.groundfile import FILE as GROUND_FILE
from pennyweight.exchange.groundfile import GroundRead, read_ground
from pennyweight.exchange.headings import plain
from pennyweight.exchange.logfiles import read_files
from pennyweight.exchange.logtables import TABLES
from pennyweight.exchange.placing import (
    ODD_DEVIATIONS,
    RECEIVER_ERROR_M,
    Frame,
    Placing,
    choose_frame,
    find_far_apart,
    has_eastings,
    typed_degrees,
)
from pennyweight.exchange.pocket import read_pockets
from pennyweight.exchange.pocketfile import is_pocket_file
from pennyweight.exchange.rasters import RASTER_ENDINGS
from pennyweight.exchange.rows import Row, Rows, read_rows
from pennyweight.exchange.tables import decode_text
from pennyweight.records import Dig, Ground, Log, Record, Waypoint

ATTACHMENTS_FILE = "attachments.csv"
PHOTOS = (".jpg", ".jpeg")
_BY_FILE = {table.file: table for table in TABLES}


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldLogRead:
    """What a field log held.

    Attributes
    ----------
    log : Log
        Everything that was understood.
    has_ground : bool
        Whether a `ground.toml` was there; else `log.ground` is the one handed in.
    refusals : tuple of Refusal
        What was left out; empty unless good rows were to be taken alone.
    ignored_columns : tuple of str
        "digs.csv: Weather"; kept with their rows.
    doubts : tuple of Finding
        What was taken and looks odd, or was decided by the program.
    assumptions : mapping
        What the program supplied.
    columns : mapping
        Field of `Log` -> the record fields that the file had a column for.
    refused_rows : mapping
        (file, row number) -> headings and cells of refused rows, as typed.
    """

    log: Log
    has_ground: bool = False
    refusals: tuple[Refusal, ...] = ()
    ignored_columns: tuple[str, ...] = ()
    doubts: tuple[Finding, ...] = ()
    assumptions: Mapping[str, Any] = field(default_factory=dict)
    columns: Mapping[str, frozenset[str]] = field(default_factory=dict)
    refused_rows: Mapping[tuple[str, int], Mapping[str, str]] = field(
        default_factory=dict
    )


def read_fieldlog(
    path: Path,
    *,
    skip_bad: bool = False,
    frame: Ground | None = None,
    known: Log | None = None,
) -> FieldLogRead:
    """Return the records of a field log.

    Parameters
    ----------
    path : Path
        A folder, a .zip of one, or one file of a log.
    skip_bad : bool, optional
        Take the good rows, and hand back the refusals.
    frame : Ground, optional
        The ground that the log belongs to; its coordinate system is kept. By default
        that of `known`.
    known : Log, optional
        What the book already has: rows may refer to its digs and samples.

    Raises
    ------
    CallError
        There is nothing at that path.
    RefusedError
        Something is wrong; the error carries every refusal.
    """
    reader = _Reader(known=known or Log(), skip_bad=skip_bad)
    if frame is None and known is not None:
        frame = known.ground
    return reader.read(read_files(path), frame)


@dataclass
class _Reader:
    """Reads one log: all files first, then what they say together."""

    known: Log
    skip_bad: bool
    refusals: list[Refusal] = field(default_factory=list)
    doubts: list[Finding] = field(default_factory=list)
    tables: dict[str, Rows] = field(default_factory=dict)
    unread: dict[str, str] = field(default_factory=dict)
    ground: GroundRead | None = None
    features: FeaturesRead = field(default_factory=lambda: FeaturesRead((), (), ()))
    tracks: dict[str, GpxRead] = field(default_factory=dict)

    def read(self, files: dict[str, bytes], frame: Ground | None) -> FieldLogRead:
        """Return what the files say together."""
        self._sort_out(files)
        attached = read_attachments(files, self._tracks_to_keep(), self._try)
        crs_refused = any(
            refusal.file == GROUND_FILE and refusal.column == "crs"
            for refusal in self.refusals
        )
        if crs_refused and not (frame and frame.crs):
            # Nothing can be placed, so there are no good rows.
            raise RefusedError(self._all_refusals())
        grid = self._frame(frame, attached)
        waypoints, twice = merge_waypoints(
            [(file, read.waypoints) for file, read in self.tracks.items()]
        )
        self.doubts += twice
        by_name = {waypoint.name: waypoint for waypoint in waypoints}
        self._place(grid, by_name)
        self._check()
        records = self._records()
        records["digs"] = (
            *records.get("digs", ()),
            *self._known_digs(grid, by_name),
        )
        log = Log(
            ground=self._ground(grid, frame),
            **records,
            features=self.features.features,
            waypoints=waypoints,
            attachments=attached.with_digs(self.tables.get(ATTACHMENTS_FILE)),
        )
        self._tell_distances(grid, log, attached)
        refusals = self._all_refusals()
        if refusals and not self.skip_bad:
            raise RefusedError(refusals)
        return FieldLogRead(
            log=log,
            has_ground=self.ground is not None,
            refusals=refusals,
            ignored_columns=self._ignored(),
            doubts=tuple(self.doubts),
            assumptions={"crs": grid.crs} if grid.picked else {},
            columns={
                rows.table.part: frozenset(rows.headings)
                for rows in self.tables.values()
            },
            refused_rows=self._refused_rows(),
        )

    def _try(self, read: Callable[..., Any], *given: Any) -> Any:
        """Return what a reader gives; None where it refuses the whole file."""
        try:
            return read(*given)
        except RefusedError as refused:
            self.refusals += refused.refusals
            return None

    def _sort_out(self, files: dict[str, bytes]) -> None:
        """Read every file by what its name says it is."""
        pockets: dict[str, bytes] = {}
        for name, content in files.items():
            lower = name.lower()
            if lower == GROUND_FILE:
                self.ground = self._try(read_ground, content, name)
            elif lower == FEATURES_FILE:
                found = self._try(read_features, content, name)
                self.features = found or self.features
            elif lower.endswith(".gpx"):
                track = self._try(read_gpx, content, name)
                if track is not None:
                    self.tracks[name] = track
            elif lower.endswith((".json", ".txt")) and is_pocket_file(content):
                pockets[name] = content
            elif (table := _table_of(lower, content, len(files) == 1)) is not None:
                rows = self._try(read_rows, content, table, name)
                if rows is not None:
                    self.tables[table.file] = rows
                else:
                    self.unread[table.file] = name
            elif not lower.endswith((*PHOTOS, *RASTER_ENDINGS)):
                self._not_read(name, alone=len(files) == 1)
        self._take_pockets(pockets)
        self.refusals += self.features.refusals
        self.doubts += self.features.doubts
        for track in self.tracks.values():
            self.refusals += track.refusals
            self.doubts += track.doubts
        self.refusals += self.ground.refusals if self.ground is not None else ()

    def _take_pockets(self, pockets: Mapping[str, bytes]) -> None:
        """Read what phones wrote; all of them together."""
        found = read_pockets(pockets, self.known)
        self.refusals += found.refusals
        self.doubts += found.doubts
        for file, rows in found.tables.items():
            if file in self.tables:
                expected = f"either pocket files or {file}; take them in one by one"
                self.refusals.append(Refusal(rows.file, None, None, file, expected))
            else:
                self.tables[file] = rows

    def _not_read(self, name: str, *, alone: bool) -> None:
        expected = f"one of {', '.join([GROUND_FILE, FEATURES_FILE, *_BY_FILE])}"
        expected += ", a .gpx, .jpg or .tif, or a file of the pocket form"
        if name.lower().endswith((".heic", ".heif")):
            expected = "a JPEG; save the photo as .jpg"
        if alone:
            self.refusals.append(Refusal(name, None, None, name, expected))
        elif not name.lower().endswith((".md", ".txt")):
            self.doubts.append(
                Finding(
                    where=name,
                    problem="the file was not read: no file of a log has this name",
                    remedy=f"Expected is {expected}.",
                    weight="note",
                )
            )

    def _tracks_to_keep(self) -> dict[str, str]:
        """Return the GPX files that hold more than waypoints, to be kept whole."""
        return {
            name: "track"
            for name, track in self.tracks.items()
            if track.tracks or track.routes
        }

    def _frame(self, frame: Ground | None, attached: ReadAttachments) -> Frame:
        """Return the grid that everything is put on."""

        def degrees() -> list[tuple[float, float]]:
            named = (
                typed_degrees(self.tables.get("digs.csv")),
                typed_degrees(self.tables.get("rocks.csv")),
                [
                    (waypoint.longitude, waypoint.latitude)
                    for track in self.tracks.values()
                    for waypoint in track.waypoints
                ],
                [
                    place
                    for feature in self.features.features
                    for place in places_of(feature.geometry)
                ],
                attached.degrees(),
            )
            return next(filter(None, named), [])

        try:
            grid = choose_frame(
                self.ground.ground.crs if self.ground is not None else None,
                frame.crs if frame is not None else None,
                has_eastings=has_eastings(self.tables.get("digs.csv"))
                or has_eastings(self.tables.get("rocks.csv")),
                degrees=degrees,
            )
        except ValueError as wrong:
            # Without a grid nothing can be placed, so there are no good rows.
            self.refusals.append(
                Refusal(GROUND_FILE, None, "crs", "no crs", f"a crs: {wrong}")
            )
            raise RefusedError(self._all_refusals()) from wrong
        self.doubts += grid.doubts
        return grid

    def _ground(self, grid: Frame, frame: Ground | None) -> Ground:
        if self.ground is not None:
            return replace(self.ground.ground, crs=grid.crs)
        return replace(frame or Ground(), crs=grid.crs)

    def _place(self, grid: Frame, waypoints: Mapping[str, Waypoint]) -> None:
        """Put digs and rocks on the grid."""
        for file in ("digs.csv", "rocks.csv"):
            if (rows := self.tables.get(file)) is None:
                continue
            placing = Placing(
                rows,
                grid,
                waypoints=waypoints if file == "digs.csv" else {},
                known={dig.dig: dig for dig in self.known.digs},
                tolerance_m=ODD_DEVIATIONS * self._error_m,
            )
            if file == "digs.csv":
                placing.place_digs()
            else:
                placing.place_rocks()
            self.doubts += placing.doubts

    def _known_digs(self, grid: Frame, waypoints: Mapping[str, Waypoint]) -> list[Dig]:
        """Return digs of the book that a waypoint gives a position for the first time.

        Those that have one are checked by it.
        """
        rows = self.tables.get("digs.csv")
        here = {row.fields.get("dig") for row in rows.rows} if rows else set()
        placed = []
        for dig in self.known.digs:
            waypoint = waypoints.get(dig.dig)
            if dig.dig in here or waypoint is None or grid.grid is None:
                continue
            east, north = grid.grid.to_grid(waypoint.longitude, waypoint.latitude)
            place = (float(east), float(north))
            if dig.easting_m is None or dig.northing_m is None:
                placed.append(replace(dig, easting_m=place[0], northing_m=place[1]))
                continue
            away_m = math.dist((dig.easting_m, dig.northing_m), place)
            if away_m > ODD_DEVIATIONS * self._error_m:
                problem = (
                    f"the waypoint of that name lies {away_m:.0f} m from dig {dig.dig}"
                )
                remedy = "Correct the one that is wrong; the book was left as it is."
                self.doubts.append(
                    Finding(f"waypoint {dig.dig}", problem, remedy, "doubt")
                )
        return placed

    @property
    def _error_m(self) -> float:
        """Standard deviation of a position [m]."""
        ground = self.ground.ground if self.ground is not None else self.known.ground
        return ground.receiver_error_m or RECEIVER_ERROR_M

    def _check(self) -> None:
        """Refuse what rows must not say together."""
        digs = Names("dig", known=_of(self.known.digs, "dig"), strict=self.skip_bad)
        samples = Names(
            "sample", known=_of(self.known.samples, "sample"), strict=self.skip_bad
        )
        for names, file in ((digs, "digs.csv"), (samples, "samples.csv")):
            names.unread = self.unread.get(file, "")
            if (rows := self.tables.get(file)) is not None:
                names.add(rows)
        for table in (*TABLES, None):
            rows = self.tables.get(table.file if table else ATTACHMENTS_FILE)
            if rows is None:
                continue
            check_table(rows, digs, samples)
            if rows.table.file == "weighings.csv":
                weighed = {one.weighing: one.samples for one in self.known.weighings}
                check_weighings(rows, samples, weighed)
            if rows.table.file == "samples.csv":
                self.doubts += [*find_double_volumes(rows), *find_finds(rows)]
            self.doubts += rows.doubts
        self.refusals += [*digs.refusals(), *samples.refusals()]

    def _records(self) -> dict[str, tuple[Any, ...]]:
        """Return the good rows of every table as records."""
        return {
            rows.table.part: _records_of(rows)
            for file, rows in self.tables.items()
            if file != ATTACHMENTS_FILE
        }

    def _tell_distances(self, grid: Frame, log: Log, attached: ReadAttachments) -> None:
        """Tell of drawings, rasters and photos that lie elsewhere, or at a dig."""
        if grid.grid is None:
            return
        places = [
            (dig.easting_m, dig.northing_m)
            for dig in log.digs or self.known.digs
            if dig.easting_m is not None and dig.northing_m is not None
        ]
        drawn = [
            place for feature in log.features for place in places_of(feature.geometry)
        ]
        if drawn:
            east, north = grid.grid.to_grid(*zip(*drawn, strict=True))
            pairs = zip(east.tolist(), north.tolist(), strict=True)
            self.doubts += find_far_apart(places, pairs, FEATURES_FILE)
        digs = {dig.dig: dig for dig in (*self.known.digs, *log.digs)}
        self.doubts += attached.find_places(grid.grid, places, list(digs.values()))

    def _all_refusals(self) -> tuple[Refusal, ...]:
        found = [*self.refusals]
        for rows in self.tables.values():
            found += rows.refusals
        # A cell may be wrong in two ways, but a person mends it once.
        unique = dict.fromkeys(found)
        order = {file: at for at, file in enumerate([GROUND_FILE, *_BY_FILE])}
        return tuple(
            sorted(unique, key=lambda one: (order.get(one.file, 99), one.row or 0))
        )

    def _ignored(self) -> tuple[str, ...]:
        named = [
            f"{rows.file}: {heading}"
            for rows in self.tables.values()
            for heading in rows.unknown
        ]
        unknown = self.ground.unknown if self.ground is not None else ()
        return (*(f"{GROUND_FILE}: {key}" for key in unknown), *named)

    def _refused_rows(self) -> dict[tuple[str, int], dict[str, str]]:
        return {
            (rows.file, row.number): dict(
                zip(rows.sheet_headings, row.cells, strict=True)
            )
            for rows in self.tables.values()
            for row in rows.rows
            if row.refused
        }


def _table_of(name: str, content: bytes, alone: bool) -> Table | None:
    """Return which table a file is; a lone one may tell by its headings."""
    if (table := _BY_FILE.get(name)) is not None:
        return table
    if name == ATTACHMENTS_FILE:
        return ReadAttachments.TABLE
    if not (alone and name.endswith((".csv", ".tsv", ".txt"))):
        return None
    try:
        first = decode_text(content, name).lstrip().partition("\n")[0]
    except RefusedError:
        return None
    for separator in ("\t", ";", ","):
        have = {plain(cell.strip('" \r')) for cell in first.split(separator)}
        fitting = [table for table in TABLES if _fit(table, have)]
        if fitting:
            return max(fitting, key=lambda table: _fit(table, have))
    return None


def _fit(table: Table, have: set[str]) -> int:
    """Return how many headings fit, 0 unless all needed ones and most do."""
    names = {heading.rpartition("_")[0] for heading in have} | have
    needed = {one.name for one in table.columns if one.need != "optional"}
    if not needed or not needed <= names:
        return 0
    known = sum(one.name in names for one in table.columns)
    return known if 2 * known >= len(have) else 0


def _of(records: Collection[Record], name: str) -> frozenset[str]:
    return frozenset(getattr(record, name) for record in records)


def _records_of(rows: Rows) -> tuple[Record, ...]:
    """Return the good rows as records, numbering those without a key."""
    record, counted_by = rows.table.record, rows.table.counted_by
    if counted_by is None:
        return tuple(
            record(**row.fields, typed=row.typed, extra=row.extra)
            for row in rows.good()
        )
    counts: dict[tuple[Any, ...], int] = {}
    found = []
    for row in rows.good():
        group = tuple(row.fields.get(name) for name in counted_by)
        counts[group] = counts.get(group, 0) + 1
        found.append(_numbered(record, row, counts[group]))
    return tuple(found)


def _numbered(record: type[Record], row: Row, number: int) -> Record:
    fields = {**row.fields, "number": number}
    return record(**fields, typed=row.typed, extra=row.extra)
