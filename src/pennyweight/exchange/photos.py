"""Photographs: where, when and which way they were taken, by their EXIF.

Only the head of the file is read. A photo without a position is kept; which dig it
shows is proposed from place and date, and the user confirms.

References
----------
CIPA DC-008, Exif 2.32, GPS attribute information; docs/sources.md, entry "Exif".
"""

from __future__ import annotations

import datetime
import io
import math
import warnings
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from PIL import ExifTags, Image, UnidentifiedImageError

from pennyweight.errors import Refusal, RefusedError
from pennyweight.records import Dig

#: Marks of files that phones write as HEIC and people rename to .jpg.
_HEIC = (b"heic", b"heix", b"hevc", b"mif1", b"msf1", b"avif")
_END_OF_JPEG = b"\xff\xd9"
#: A photo this far from every dig belongs to none [m].
REACH_M = 100.0
#: A day between photo and dig counts like this distance [m] ...
METERS_A_DAY = 10.0
#: ... and an unknown date like this many days.
UNKNOWN_DAYS = 5.0


@dataclass(frozen=True, slots=True)
class PhotoFacts:
    """What a photograph says of itself; None where it is silent.

    Attributes
    ----------
    longitude, latitude : float or None
        WGS 84 [deg].
    elevation_m : float or None
        Above sea level, as the phone has it [m].
    taken_at : str or None
        Local time, ISO 8601.
    bearing_deg : float or None
        Where the camera looked [deg].
    bearing_is_true : bool
        From true north; else from magnetic north.
    is_whole : bool
        Whether the file has its end.
    """

    longitude: float | None
    latitude: float | None
    elevation_m: float | None
    taken_at: str | None
    bearing_deg: float | None
    bearing_is_true: bool
    is_whole: bool


def read_photo(content: bytes, file: str) -> PhotoFacts:
    """Return what a photograph says of itself.

    Parameters
    ----------
    content : bytes
        The file.
    file : str
        Its name, for refusals.

    Raises
    ------
    RefusedError
        It is no JPEG photograph.
    """
    if content[4:8] == b"ftyp" and content[8:12] in _HEIC:
        found = f"an {content[8:12].decode()} file"
        expected = "a JPEG; on the phone choose the most compatible camera format"
        raise RefusedError([Refusal(file, None, None, found, expected)])
    try:
        place, details = _read_exif(content)
    except (
        UnidentifiedImageError,
        Image.DecompressionBombError,
        OSError,
        SyntaxError,
        ValueError,
        TypeError,
        KeyError,
        EOFError,
    ) as wrong:
        found = f"{len(content)} bytes that are no JPEG"
        expected = "a JPEG photograph; copy it again from the camera"
        raise RefusedError([Refusal(file, None, None, found, expected)]) from wrong
    return PhotoFacts(
        **_position(place),
        taken_at=_time(details.get(ExifTags.Base.DateTimeOriginal)),
        bearing_deg=_within(place.get(ExifTags.GPS.GPSImgDirection), 0.0, 360.0),
        bearing_is_true=place.get(ExifTags.GPS.GPSImgDirectionRef, "T") != "M",
        is_whole=_END_OF_JPEG in content[-65_536:],
    )


def _read_exif(content: bytes) -> tuple[dict[int, Any], dict[int, Any]]:
    """Return the tags about place, and those about the picture."""
    with warnings.catch_warnings():
        # Damaged tags are left out; what is there is checked by the caller.
        warnings.simplefilter("ignore", UserWarning)
        with Image.open(io.BytesIO(content), formats=["JPEG", "MPO"]) as image:
            exif = image.getexif()
            place = dict(exif.get_ifd(ExifTags.IFD.GPSInfo))
            return place, dict(exif.get_ifd(ExifTags.IFD.Exif))


def _position(place: dict[int, Any]) -> dict[str, float | None]:
    """Return the position, if all of it is there and possible."""
    gps = ExifTags.GPS
    latitude = _degrees(place.get(gps.GPSLatitude), place.get(gps.GPSLatitudeRef), 90.0)
    longitude = _degrees(
        place.get(gps.GPSLongitude), place.get(gps.GPSLongitudeRef), 180.0
    )
    # Cameras without a fix write zeros.
    if latitude is None or longitude is None or latitude == longitude == 0.0:
        return {"longitude": None, "latitude": None, "elevation_m": None}
    height = _within(place.get(gps.GPSAltitude), 0.0, 9000.0)
    if height is not None and place.get(gps.GPSAltitudeRef) in {1, b"\x01"}:
        height = -height
    return {"longitude": longitude, "latitude": latitude, "elevation_m": height}


def _degrees(parts: Any, side: Any, limit: float) -> float | None:
    """Return degrees, minutes and seconds as degrees; south and west negative."""
    if not isinstance(parts, tuple) or len(parts) != 3:
        return None
    values = [_within(part, 0.0, limit) for part in parts]
    if side not in {"N", "S", "E", "W"} or values[0] is None:
        return None
    minutes, seconds = values[1] or 0.0, values[2] or 0.0
    found = values[0] + minutes / 60.0 + seconds / 3600.0
    if found > limit:
        return None
    return -found if side in {"S", "W"} else found


def _within(value: Any, low: float, high: float) -> float | None:
    """Return a rational of the file as a number, if it is a possible one."""
    try:
        number = float(value)
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return number if math.isfinite(number) and low <= number <= high else None


def _time(text: Any) -> str | None:
    if not isinstance(text, str):
        return None
    try:
        taken = datetime.datetime.strptime(  # noqa: DTZ007 - the camera's own clock
            text.strip("\x00 "), "%Y:%m:%d %H:%M:%S"
        )
    except ValueError:
        return None
    return taken.isoformat()


def propose_dig(
    easting_m: float,
    northing_m: float,
    *,
    taken_at: str | None,
    digs: Iterable[Dig],
) -> tuple[Dig, float] | None:
    """Return the dig that a photo most likely shows, and how far away it was.

    Parameters
    ----------
    easting_m, northing_m : float
        Where the photo was taken [m].
    taken_at : str or None
        When, ISO 8601.
    digs : iterable of Dig
        Those that may be shown; digs without a place are passed over.

    Returns
    -------
    tuple of (Dig, float) or None
        The dig and its distance [m]; None where none is near.
    """
    best: tuple[float, Dig, float] | None = None
    for dig in digs:
        if dig.easting_m is None or dig.northing_m is None:
            continue
        away_m = math.hypot(dig.easting_m - easting_m, dig.northing_m - northing_m)
        if away_m > REACH_M:
            continue
        score = away_m + METERS_A_DAY * _days_between(taken_at, dig.date)
        if best is None or score < best[0]:
            best = (score, dig, away_m)
    return None if best is None else (best[1], best[2])


def _days_between(taken_at: str | None, date: str | None) -> float:
    if taken_at is None or date is None:
        return UNKNOWN_DAYS
    taken = datetime.date.fromisoformat(taken_at[:10])
    return float(min(abs((taken - datetime.date.fromisoformat(date)).days), 60))
