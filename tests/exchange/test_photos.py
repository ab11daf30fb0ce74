"""Photographs: position, time and bearing, whole and damaged."""

import io
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from PIL import ExifTags, Image

from pennyweight.errors import RefusedError
from pennyweight.exchange.photos import propose_dig, read_photo
from pennyweight.records import Dig, Ground, Log

GPS = ExifTags.GPS
PLACE: dict[int, Any] = {
    GPS.GPSLatitudeRef: "N",
    GPS.GPSLatitude: (46.0, 3.0, 0.0),
    GPS.GPSLongitudeRef: "E",
    GPS.GPSLongitude: (14.0, 30.0, 0.0),
    GPS.GPSAltitudeRef: b"\x00",
    GPS.GPSAltitude: 312.0,
    GPS.GPSImgDirectionRef: "T",
    GPS.GPSImgDirection: 217.5,
}


def photo(place: dict[int, Any] | None = None, time: str = "") -> bytes:
    """Return a small JPEG with the EXIF given."""
    exif = Image.Exif()
    if place:
        exif[ExifTags.IFD.GPSInfo] = place
    if time:
        exif[ExifTags.IFD.Exif] = {ExifTags.Base.DateTimeOriginal: time}
    kept = io.BytesIO()
    noise = np.random.default_rng(1).bytes(64 * 64 * 3)
    Image.frombytes("RGB", (64, 64), noise).save(kept, "JPEG", exif=exif)
    return kept.getvalue()


def test_position_time_and_bearing_are_read() -> None:
    facts = read_photo(photo(PLACE, "2026:07:01 10:20:30"), "a.jpg")
    assert facts.latitude == pytest.approx(46.05)
    assert facts.longitude == pytest.approx(14.5)
    assert (facts.elevation_m, facts.bearing_deg) == (312.0, 217.5)
    assert facts.bearing_is_true
    assert facts.taken_at == "2026-07-01T10:20:30"
    assert facts.is_whole


def test_south_west_and_below_the_sea_are_negative() -> None:
    place = PLACE | {
        GPS.GPSLatitudeRef: "S",
        GPS.GPSLongitudeRef: "W",
        GPS.GPSAltitudeRef: b"\x01",
        GPS.GPSImgDirectionRef: "M",
    }
    facts = read_photo(photo(place), "a.jpg")
    assert facts.latitude == pytest.approx(-46.05)
    assert facts.longitude == pytest.approx(-14.5)
    assert facts.elevation_m == -312.0
    assert not facts.bearing_is_true


def test_a_photo_without_exif_is_taken_without_a_place() -> None:
    facts = read_photo(photo(), "a.jpg")
    assert (facts.longitude, facts.latitude, facts.taken_at) == (None, None, None)


@pytest.mark.parametrize(
    "change",
    [
        {GPS.GPSLatitude: (0.0, 0.0, 0.0), GPS.GPSLongitude: (0.0, 0.0, 0.0)},
        {GPS.GPSLatitude: (91.0, 0.0, 0.0)},
        {GPS.GPSLatitude: (90.0, 59.0, 0.0)},
        {GPS.GPSLatitudeRef: "X"},
        {GPS.GPSLatitude: 46.0},
        {GPS.GPSLongitude: (14.0, 30.0)},
    ],
)
def test_an_impossible_position_is_no_position(change: dict[int, Any]) -> None:
    facts = read_photo(photo(PLACE | change), "a.jpg")
    assert (facts.longitude, facts.latitude, facts.elevation_m) == (None, None, None)


def test_a_time_that_no_clock_shows_is_no_time() -> None:
    assert read_photo(photo(PLACE, "1999:99:99 99:99:99"), "a.jpg").taken_at is None


@pytest.mark.parametrize("content", [b"", b"GIF89a", b"\xff\xd8\xff", bytes(100)])
def test_what_is_no_jpeg_is_refused(content: bytes) -> None:
    with pytest.raises(RefusedError) as refused:
        read_photo(content, "a.jpg")
    assert refused.value.refusals[0].found == f"{len(content)} bytes that are no JPEG"


def test_damaged_tags_are_left_out() -> None:
    content = photo(PLACE, "2026:07:01 10:20:30")
    # Latitude is tag 2, three rationals; its values are said to lie far outside.
    at = content.index(b"\x00\x02\x00\x05\x00\x00\x00\x03")
    broken = content[: at + 8] + b"\x7f\xff\xff\xff" + content[at + 12 :]
    assert read_photo(broken, "a.jpg").latitude is None


def test_a_damaged_list_of_tags_is_left_out() -> None:
    content = photo(PLACE)
    at = content.index(b"\x88\x25\x00\x04\x00\x00\x00\x01")
    broken = content[: at + 4] + b"\x7f\xff\xff\xff" + content[at + 8 :]
    assert read_photo(broken, "a.jpg").latitude is None


def test_heic_under_a_false_name_is_refused_with_the_way_out() -> None:
    with pytest.raises(RefusedError) as refused:
        read_photo(b"\x00\x00\x00\x18ftypheic" + bytes(40), "a.jpg")
    assert refused.value.refusals[0].found == "an heic file"
    assert "most compatible" in refused.value.refusals[0].expected


def test_a_photo_cut_short_is_taken_and_told(read_log: Callable[..., Any]) -> None:
    content = photo(PLACE)
    read = read_log({"a.jpg": content[: len(content) // 2]})
    assert read.log.attachments[0].kind == "photo"
    assert "cut short" in read.doubts[-1].problem


def test_the_dig_shown_is_proposed_by_place_and_date() -> None:
    digs = [
        Dig(dig="near", easting_m=5.0, northing_m=0.0, date="2026-05-01"),
        Dig(dig="that day", easting_m=12.0, northing_m=0.0, date="2026-07-01"),
        Dig(dig="far", easting_m=500.0, northing_m=0.0, date="2026-07-01"),
        Dig(dig="nowhere"),
    ]
    found = propose_dig(0.0, 0.0, taken_at="2026-07-01T10:00:00", digs=digs)
    assert found is not None
    assert (found[0].dig, found[1]) == ("that day", 12.0)


def test_without_a_date_the_nearest_dig_is_proposed() -> None:
    digs = [
        Dig(dig="A", easting_m=20.0, northing_m=0.0),
        Dig(dig="B", easting_m=5.0, northing_m=0.0),
        Dig(dig="C", easting_m=9.0, northing_m=0.0),
    ]
    found = propose_dig(0.0, 0.0, taken_at=None, digs=digs)
    assert found is not None
    assert found[0].dig == "B"


def test_far_from_every_dig_none_is_proposed() -> None:
    digs = [Dig(dig="A", easting_m=500.0, northing_m=0.0)]
    assert propose_dig(0.0, 0.0, taken_at=None, digs=digs) is None


def test_a_photo_is_kept_and_its_dig_shown_for_confirmation(
    read_log: Callable[..., Any],
) -> None:
    content = photo(PLACE, "2026:07:01 10:20:30")
    read = read_log(
        {
            "ground.toml": 'crs = "EPSG:32633"\n',
            "digs.csv": "dig,longitude,latitude,date\nT1,14.5,46.0501,2026-07-01\n",
            "a.jpg": content,
        }
    )
    (kept,) = read.log.attachments
    assert (kept.content, kept.dig) == (content, None)
    (doubt,) = read.doubts
    assert doubt.problem == "taken on 2026-07-01 11 m from dig T1"
    assert doubt.remedy == "Confirm in the book that it shows T1."


def test_a_lone_photo_is_tied_to_a_dig_of_the_book(
    read_log: Callable[..., Any],
) -> None:
    book = Log(
        ground=Ground(crs="EPSG:32633"),
        digs=(Dig(dig="T1", easting_m=461318.7, northing_m=5099724.4),),
    )
    (doubt,) = read_log({"a.jpg": photo(PLACE)}, known=book).doubts
    assert doubt.problem == "taken 0 m from dig T1"


def test_a_photo_without_a_place_is_kept_without_a_dig(
    read_log: Callable[..., Any], base: dict[str, str | bytes]
) -> None:
    read = read_log({**base, "a.jpg": photo()})
    assert (len(read.log.attachments), read.doubts) == (1, ())


def test_a_photo_alone_tells_the_zone(read_log: Callable[..., Any]) -> None:
    assert read_log({"a.jpg": photo(PLACE)}).log.ground.crs == "EPSG:32633"


def test_a_broken_photo_refuses_the_log(refuse_log: Callable[..., Any]) -> None:
    (refusal,) = refuse_log({"a.jpg": b""})
    assert refusal.file == "a.jpg"
