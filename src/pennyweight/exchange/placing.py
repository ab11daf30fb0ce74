"""Where digs and rocks lie: every way of saying it, onto one map grid.

A row gives easting and northing, or longitude and latitude, or a tape from a peg; or
a waypoint has the dig's name. The first of these places the dig, the others check it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from pennyweight.errors import Finding
from pennyweight.exchange.coordinates import (
    MapGrid,
    open_grid,
    pick_utm,
    tape_from_peg,
    tape_in_direction,
)
from pennyweight.exchange.rows import Row, Rows
from pennyweight.records import Dig, Waypoint

#: Standard deviation of a position where the user says none [m]; a handheld
#: receiver under open sky. docs/sources.md, entry "receiver error".
RECEIVER_ERROR_M = 5.0
#: Two positions of one dig that differ by more than this many deviations are odd.
ODD_DEVIATIONS = 3.0
#: A transformation less accurate than this is told [m].
COARSE_M = 2.0

_GRID = ("easting_m", "northing_m", "easting_ft", "northing_ft")
_NOTHING = (
    "a position: easting and northing, or longitude and latitude, or peg with along "
    "and toward or bearing_deg, or a waypoint of that name in a .gpx file"
)
Position = tuple[float, float]


@dataclass(slots=True)
class Frame:
    """The map grid that everything is put on, and what was decided about it.

    Attributes
    ----------
    crs : str or None
        Name of the grid; None for a grid of the user's own.
    typed_crs : str or None
        Grid that eastings in the files are in, where it is another one.
    picked : bool
        Whether the program chose it.
    doubts : list of Finding
        What the user should know.
    """

    crs: str | None
    typed_crs: str | None = None
    picked: bool = False
    doubts: list[Finding] = field(default_factory=list)

    @property
    def grid(self) -> MapGrid | None:
        """The grid that everything is put on."""
        return None if self.crs is None else open_grid(self.crs)

    @property
    def typed_grid(self) -> MapGrid | None:
        """The grid that eastings in the files are in."""
        crs = self.typed_crs or self.crs
        return None if crs is None else open_grid(crs)


def choose_frame(
    declared: str | None,
    kept: str | None,
    *,
    has_eastings: bool,
    degrees: Callable[[], Sequence[Position]],
) -> Frame:
    """Return the grid to put everything on.

    Parameters
    ----------
    declared : str or None
        What `ground.toml` names.
    kept : str or None
        What the book already stands on; it wins, and what comes in is converted.
    has_eastings : bool
        Whether a row gives easting or northing.
    degrees : callable
        Returns places in degrees that tell the zone, where none is named.
    """
    if kept is not None:
        frame = Frame(kept)
        if declared is not None and declared != kept:
            frame.typed_crs = declared
            frame.doubts.append(
                Finding(
                    where="ground.toml, crs",
                    problem=f"this log is in {declared}, the book in {kept}; all "
                    f"positions were converted to {kept}",
                    remedy="Nothing, if both are right.",
                    weight="note",
                )
            )
    elif declared is not None:
        frame = Frame(declared)
    elif has_eastings:
        frame = Frame(None)
        frame.doubts.append(
            Finding(
                where="ground.toml, crs",
                problem="easting and northing are given but no coordinate system, so "
                "they were taken as meters of a grid of your own",
                remedy='Give crs, like "EPSG:32610", to place the ground on Earth.',
                weight="doubt",
            )
        )
    else:
        frame = _picked_frame(degrees())
    _tell_coarseness(frame)
    return frame


def _picked_frame(degrees: Sequence[Position]) -> Frame:
    """Return the UTM zone in the middle of the places, as a choice that is told."""
    if not degrees:
        return Frame(None)
    longitudes, latitudes = np.array(degrees).T
    # Turned about the first one, so that the middle is right across 180 degrees too.
    turned = (longitudes - longitudes[0] + 180.0) % 360.0 - 180.0
    longitude = float(np.median(turned) + longitudes[0])
    crs = pick_utm(longitude, float(np.median(latitudes)))
    note = Finding(
        where="ground.toml, crs",
        problem=f"no coordinate system is named; {crs} ({open_grid(crs).name}) was "
        "picked by longitude",
        remedy=f'Add crs = "{crs}" to keep it.',
        weight="note",
    )
    return Frame(crs, picked=True, doubts=[note])


def _tell_coarseness(frame: Frame) -> None:
    grid = frame.typed_grid
    if grid is None:
        return
    accuracy_m = grid.accuracy_m
    if accuracy_m is not None and accuracy_m <= COARSE_M:
        return
    off = "an unknown distance" if accuracy_m is None else f"{accuracy_m:.0f} m"
    frame.doubts.append(
        Finding(
            where=f"coordinate system {grid.crs}",
            problem=f"between {grid.name} and WGS 84 positions may be off by {off}, "
            "as no correction grid is at hand",
            remedy="Give all positions in one system, or measure them again in WGS 84.",
            weight="doubt",
        )
    )


def has_eastings(found: Rows | None) -> bool:
    """Tell whether any row gives easting or northing."""
    rows = found.rows if found is not None else []
    return any(name in row.fields for row in rows for name in _GRID)


def typed_degrees(found: Rows | None) -> list[Position]:
    """Return longitude and latitude of the rows that give both."""
    rows = found.rows if found is not None else []
    return [
        (row.fields["longitude"], row.fields["latitude"])
        for row in rows
        if row.fields.get("longitude") is not None
        and row.fields.get("latitude") is not None
    ]


@dataclass(slots=True)
class Placing:
    """Places the rows of one table.

    Attributes
    ----------
    found : Rows
        The table; easting_m and northing_m of its rows are filled in.
    frame : Frame
        The grid.
    waypoints : mapping
        By name.
    known : mapping
        Digs that the book already has.
    tolerance_m : float
        Two positions that differ by more are odd [m].
    doubts : list of Finding
        What was taken and looks odd.
    """

    found: Rows
    frame: Frame
    waypoints: Mapping[str, Waypoint] = field(default_factory=dict)
    known: Mapping[str, Dig] = field(default_factory=dict)
    tolerance_m: float = ODD_DEVIATIONS * RECEIVER_ERROR_M
    doubts: list[Finding] = field(default_factory=list)
    _taped: list[Row] = field(default_factory=list)
    _places: dict[str, Position] = field(default_factory=dict)

    def place_digs(self) -> None:
        """Fill in the position of every dig, or refuse it."""
        for name, dig in self.known.items():
            if dig.easting_m is not None and dig.northing_m is not None:
                self._places[name] = (dig.easting_m, dig.northing_m)
        by_degrees = self._from_degrees()
        for row in self.found.rows:
            if (
                "peg" in row.fields
                or "along_m" in row.fields
                or ("across_m" in row.fields)
            ):
                self._taped.append(row)
            place = self._by_grid(row)
            place = self._settle(row, place, by_degrees.get(row.number))
            if place is not None:
                self._take(row, place)
        self._place_taped()
        self._place_rest()
        self._check_reach()

    def place_rocks(self) -> None:
        """Fill in the position of every rock that gives one."""
        by_degrees = self._from_degrees()
        for row in self.found.rows:
            place = self._settle(row, self._by_grid(row), by_degrees.get(row.number))
            if place is not None:
                row.fields["easting_m"], row.fields["northing_m"] = place
            elif not row.refused and row.fields.get("dig") is None:
                expected = "a dig, or easting and northing or longitude and latitude"
                self.found.refuse(row, "dig", found="", expected=expected)
        self._check_reach()

    def _take(self, row: Row, place: Position) -> None:
        row.fields["easting_m"], row.fields["northing_m"] = place
        self._places[row.fields["dig"]] = place

    def _from_degrees(self) -> dict[int, Position]:
        """Return grid positions of rows with degrees, by row number."""
        rows: list[tuple[int, float, float]] = []
        for row in self.found.rows:
            pair = (row.fields.pop("longitude", None), row.fields.pop("latitude", None))
            if row.refused or pair == (None, None):
                continue
            if pair[0] is None or pair[1] is None:
                missing = "longitude" if pair[0] is None else "latitude"
                expected = "longitude and latitude, both"
                self.found.refuse(row, missing, found="", expected=expected)
            elif self.frame.grid is None:
                expected = 'a crs in ground.toml, like "EPSG:32610", beside eastings'
                self.found.refuse(row, "longitude", found=pair[0], expected=expected)
            else:
                rows.append((row.number, *pair))
        if not rows or self.frame.grid is None:
            return {}
        table = np.array(rows)
        east, north = self.frame.grid.to_grid(table[:, 1], table[:, 2])
        return {
            number: (float(x), float(y))
            for (number, _, _), x, y in zip(rows, east, north, strict=True)
        }

    def _by_grid(self, row: Row) -> Position | None:
        """Return a row's easting and northing in meters of the ground's grid."""
        given = {name: row.fields.pop(name, None) for name in _GRID}
        if row.refused or all(value is None for value in given.values()):
            return None
        grid = self.frame.typed_grid
        place: list[float] = []
        for axis in ("easting", "northing"):
            meters, feet = given[f"{axis}_m"], given[f"{axis}_ft"]
            if meters is None and feet is None:
                expected = "easting and northing, both"
                self.found.refuse(row, f"{axis}_m", found="", expected=expected)
                return None
            if meters is not None and feet is not None:
                expected = f"{axis} in meters or in feet, not both"
                self.found.refuse(row, f"{axis}_ft", found=feet, expected=expected)
                return None
            if feet is not None:
                if grid is None or grid.foot_m is None:
                    name = "no crs" if grid is None else grid.crs
                    expected = (
                        f"{axis}_m: the ground's system ({name}) has no foot of its own"
                    )
                    self.found.refuse(row, f"{axis}_ft", found=feet, expected=expected)
                    return None
                meters = feet * grid.foot_m
            place.append(float(meters))
        return self._checked(row, (place[0], place[1]))

    def _checked(self, row: Row, place: Position) -> Position | None:
        """Refuse degrees that were typed as meters, and convert to the book's grid."""
        grid = self.frame.typed_grid
        if grid is None:
            return place
        if abs(place[0]) <= 180.0 and abs(place[1]) <= 90.0:
            expected = (
                f"meters of {grid.crs}; these look like degrees, which go into the "
                "columns longitude and latitude"
            )
            found = f"{place[0]:g}, {place[1]:g}"
            self.found.refuse(row, "easting_m", found=found, expected=expected)
            return None
        if self.frame.typed_crs is not None and self.frame.grid is not None:
            east, north = self.frame.grid.to_grid(*grid.to_globe(*place))
            row.typed.pop("easting_ft", None)
            row.typed.pop("northing_ft", None)
            place = (float(east), float(north))
        return place

    def _settle(
        self, row: Row, first: Position | None, second: Position | None
    ) -> Position | None:
        """Return the first position that is there, checked by the other one."""
        if first is not None and second is not None:
            self._compare(row, first, second, "longitude and latitude")
        place = first or second
        if place is not None and not all(math.isfinite(one) for one in place):
            expected = f"a place that {self.frame.crs} reaches"
            found = f"{place[0]:g}, {place[1]:g}"
            name = "easting_m" if first is not None else "longitude"
            self.found.refuse(row, name, found=found, expected=expected)
            return None
        return place

    def _compare(
        self, row: Row, first: Position, second: Position, source: str
    ) -> None:
        away_m = math.dist(first, second)
        if away_m > self.tolerance_m:
            name = row.fields.get("dig", f"row {row.number}")
            self.doubts.append(
                Finding(
                    where=f"{self.found.file}, {name}",
                    problem=f"its position and its {source} are {away_m:.0f} m apart; "
                    "the position of the row was taken",
                    remedy="Correct the one that is wrong.",
                    weight="doubt",
                )
            )

    def _place_taped(self) -> None:
        """Place rows taped from pegs, pegs before what hangs on them."""
        waiting = [row for row in self._taped if self._tape_is_whole(row)]
        while ready := [
            (row, marks) for row in waiting if (marks := self._marks_of(row))
        ]:
            for row, (peg, mark) in ready:
                self._place_one_taped(row, peg, mark)
            done = {id(row) for row, _ in ready}
            waiting = [row for row in waiting if id(row) not in done]
        for row in waiting:
            for name in ("peg", "toward"):
                dig = row.fields.get(name)
                if dig is not None and self._place_of(dig) is None and not row.refused:
                    expected = f"a {name} that is a dig with coordinates of its own"
                    self.found.refuse(row, name, found=dig, expected=expected)

    def _tape_is_whole(self, row: Row) -> bool:
        """Tell whether a taped row says from where and which way."""
        fields = row.fields
        if row.refused:
            return False
        if fields.get("along_m") is None:
            self.found.refuse(
                row, "along_m", found="", expected="along, the distance from the peg"
            )
        elif fields.get("peg") is None:
            expected = "the dig that along is measured from"
            self.found.refuse(row, "peg", found="", expected=expected)
        elif fields.get("toward") is None and fields.get("bearing_deg") is None:
            expected = "toward (a dig) or bearing_deg (true, 0-360)"
            self.found.refuse(row, "toward", found="", expected=expected)
        elif fields["peg"] in {fields.get("toward"), fields.get("dig")}:
            expected = "a peg that is neither this dig nor the one looked toward"
            self.found.refuse(row, "peg", found=fields["peg"], expected=expected)
        return not row.refused

    def _place_of(self, dig: str) -> Position | None:
        place = self._places.get(dig)
        return place if place is not None else self._of_waypoint(dig)

    def _marks_of(self, row: Row) -> tuple[Position, Position | None] | None:
        """Return peg and mark of a tape; None while one of them has no place yet."""
        peg, toward = self._place_of(row.fields["peg"]), row.fields.get("toward")
        mark = None if toward is None else self._place_of(toward)
        if peg is None or (toward is not None and mark is None):
            return None
        return peg, mark

    def _place_one_taped(self, row: Row, peg: Position, mark: Position | None) -> None:
        fields = row.fields
        tape = {
            "along_m": fields["along_m"],
            "across_m": fields.get("across_m") or 0.0,
        }
        if mark is not None:
            length_m = math.dist(peg, mark)
            if length_m == 0.0:
                expected = f"a dig at another place than {fields['peg']}"
                found = fields["toward"]
                self.found.refuse(row, "toward", found=found, expected=expected)
                return
            direction = (
                (mark[0] - peg[0]) / length_m,
                (mark[1] - peg[1]) / length_m,
            )
            east, north = tape_in_direction(peg, direction, **tape)
        else:
            bearing_deg = fields["bearing_deg"]
            if self.frame.grid is not None:
                bearing_deg = self.frame.grid.bearing_on_grid(
                    bearing_deg, easting_m=peg[0], northing_m=peg[1]
                )
            east, north = tape_from_peg(peg, bearing_deg, **tape)
        taped = (float(east), float(north))
        if fields.get("easting_m") is not None:
            own = (fields["easting_m"], fields["northing_m"])
            self._compare(row, own, taped, "tape from the peg")
        else:
            self._take(row, taped)

    def _of_waypoint(self, name: str | None) -> Position | None:
        waypoint = self.waypoints.get(name or "")
        if waypoint is None or self.frame.grid is None:
            return None
        east, north = self.frame.grid.to_grid(waypoint.longitude, waypoint.latitude)
        return float(east), float(north)

    def _place_rest(self) -> None:
        """Check placed digs by their waypoints, and place or refuse the others."""
        for row in self.found.good():
            name = row.fields.get("dig")
            placed = row.fields.get("easting_m") is not None
            waypoint = self._of_waypoint(name)
            if placed and waypoint is not None:
                own = (row.fields["easting_m"], row.fields["northing_m"])
                self._compare(row, own, waypoint, "waypoint")
            elif waypoint is not None:
                self._take(row, waypoint)
            elif not placed and name in self.known:
                if name in self._places:
                    self._take(row, self._places[name])
            elif not placed:
                self.found.refuse(row, "easting_m", found="", expected=_NOTHING)

    def _check_reach(self) -> None:
        """Tell of digs beyond the area that the coordinate system is meant for."""
        if self.frame.grid is None:
            return
        rows = [row for row in self.found.good() if row.fields.get("easting_m")]
        if not rows:
            return
        longitude, latitude = self.frame.grid.to_globe(
            [row.fields["easting_m"] for row in rows],
            [row.fields["northing_m"] for row in rows],
        )
        beyond = []
        for row, x, y in zip(rows, longitude.tolist(), latitude.tolist(), strict=True):
            if not (math.isfinite(x) and math.isfinite(y)):
                expected = f"a place that {self.frame.crs} reaches"
                found = f"{row.fields['easting_m']:g}, {row.fields['northing_m']:g}"
                self.found.refuse(row, "easting_m", found=found, expected=expected)
            elif not self.frame.grid.reaches(x, y):
                beyond.append((row, x, y))
        if beyond:
            row, x, y = beyond[0]
            more = f" and {len(beyond) - 1} more" if len(beyond) > 1 else ""
            name = row.fields.get("dig", f"row {row.number}")
            self.doubts.append(
                Finding(
                    where=f"{self.found.file}, {name}{more}",
                    problem=f"longitude {x:.3f}, latitude {y:.3f} lies outside the "
                    f"area of {self.frame.grid.crs} ({self.frame.grid.name})",
                    remedy="Check crs and the columns easting and northing.",
                    weight="doubt",
                )
            )


def find_far_apart(
    digs: Iterable[Position], others: Iterable[Position], what: str
) -> list[Finding]:
    """Return a doubt if drawings or rasters lie far from the digs.

    Parameters
    ----------
    digs, others : iterable of (float, float)
        Easting and northing [m].
    what : str
        What the others are, for the text.
    """
    first, second = np.array(list(digs)), np.array(list(others))
    if not len(first) or not len(second):
        return []
    away_m = math.dist(np.median(first, axis=0), np.median(second, axis=0))
    if away_m < FAR_APART_M:
        return []
    return [
        Finding(
            where=what,
            problem=f"it lies {away_m / 1000.0:.0f} km from the digs",
            remedy="Check its coordinate system, and crs in ground.toml.",
            weight="doubt",
        )
    ]


#: Drawings and digs of one ground do not lie this far apart [m].
FAR_APART_M = 50_000.0
