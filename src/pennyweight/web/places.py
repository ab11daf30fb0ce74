"""Where a dig lies: degrees from a phone, meters from a map, or a tape from a peg."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from pennyweight.exchange.coordinates import (
    open_grid,
    pick_utm,
    tape_from_peg,
    tape_in_direction,
)
from pennyweight.records import Dig, Log
from pennyweight.web.forms import FieldError, Filled, parse_number

#: What a tape from another dig is made of.
TAPE = frozenset({"peg", "toward", "along_m", "across_m", "bearing_deg"})

#: Largest degrees of each coordinate [deg].
DEGREES = {"longitude": 180.0, "latitude": 90.0}


def place_dig(
    log: Log, filled: Filled, form: Mapping[str, str], *, before: Dig | None = None
) -> str | None:
    """Fill in easting and northing from what was typed instead of them.

    Parameters
    ----------
    log : Log
        The record, for its map grid and its other digs.
    filled : Filled
        The dig's form; gets position or complaints.
    form : mapping
        `longitude` and `latitude` as typed, if they were.
    before : Dig, optional
        The dig as it was, of which the form says only what is to change.

    Returns
    -------
    str or None
        The map grid that the ground must get first, where it has none yet.
    """
    if form.get("longitude", "").strip() or form.get("latitude", "").strip():
        return _place_by_degrees(log, filled, form)
    if TAPE & (filled.values.keys() | filled.errors.keys()):
        was = {name: getattr(before, name, None) for name in TAPE}
        tape = was | {n: filled.values[n] for n in TAPE if n in filled.values}
        if tape["along_m"] is not None or tape["peg"]:
            _place_by_tape(log, filled, tape)
    return None


def _place_by_degrees(log: Log, filled: Filled, form: Mapping[str, str]) -> str | None:
    degrees: dict[str, float] = {}
    for name in DEGREES:
        try:
            degrees[name] = parse_degrees(form.get(name, ""), name)
        except FieldError as error:
            filled.errors[name] = str(error)
    if len(degrees) < len(DEGREES):
        return None
    crs = log.ground.crs
    try:
        wanted = crs or pick_utm(degrees["longitude"], degrees["latitude"])
    except ValueError as error:
        filled.errors["latitude"] = str(error)
        return None
    east, north = open_grid(wanted).to_grid(degrees["longitude"], degrees["latitude"])
    filled.values |= {"easting_m": float(east), "northing_m": float(north)}
    filled.bases |= {"easting", "northing"}
    filled.typed |= {name: form[name].strip() for name in DEGREES}
    return None if crs else wanted


def parse_degrees(text: str, name: str) -> float:
    """Return decimal degrees; south and west may be written as letters.

    Raises
    ------
    FieldError
        They are no number, or lie beyond the globe.
    """
    most = DEGREES[name]
    bare = text.strip().rstrip("°").strip()
    sign = -1.0 if bare[-1:].upper() in {"S", "W"} else 1.0
    value = sign * parse_number(bare.rstrip("NSEWnsew").strip().rstrip("°"))
    if abs(value) > most:
        msg = (
            f"{name} is {value:g}; it lies between -{most:.0f} and {most:.0f} degrees."
        )
        raise FieldError(msg)
    return value


def _place_by_tape(log: Log, filled: Filled, tape: Mapping[str, Any]) -> None:
    """Work out a position from peg, tape and direction, or say what is missing."""
    digs = {dig.dig: dig for dig in log.digs}
    peg = digs.get(tape["peg"] or "")
    if peg is None or peg.easting_m is None or peg.northing_m is None:
        named = tape["peg"] or "Nothing"
        filled.errors["peg"] = f"{named} is no dig with a place. Name one."
        return
    offset = {"along_m": tape["along_m"] or 0.0, "across_m": tape["across_m"] or 0.0}
    start = (peg.easting_m, peg.northing_m)
    toward = digs.get(tape["toward"] or "")
    if toward is not None:
        direction = _direction(peg, toward)
        if direction is None:
            filled.errors["toward"] = f"{toward.dig} has no other place than {peg.dig}."
            return
        east, north = tape_in_direction(start, direction, **offset)
    elif tape["bearing_deg"] is not None:
        bearing = tape["bearing_deg"]
        if log.ground.crs:
            bearing = open_grid(log.ground.crs).bearing_on_grid(
                bearing, easting_m=start[0], northing_m=start[1]
            )
        east, north = tape_from_peg(start, bearing, **offset)
    else:
        filled.errors["toward"] = (
            "Name the dig that the tape runs toward, or give its bearing."
        )
        return
    filled.values |= {"easting_m": float(east), "northing_m": float(north)}
    filled.bases |= {"easting", "northing"}


def _direction(peg: Dig, toward: Dig) -> tuple[float, float] | None:
    """Return the unit vector from one dig to another; None where there is none."""
    if toward.easting_m is None or toward.northing_m is None:
        return None
    east = toward.easting_m - (peg.easting_m or 0.0)
    north = toward.northing_m - (peg.northing_m or 0.0)
    length = math.hypot(east, north)
    return (east / length, north / length) if length > 0.0 else None
