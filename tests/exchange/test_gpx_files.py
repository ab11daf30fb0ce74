"""GPX files: waypoints give or check positions; odd and broken files are told."""

from collections.abc import Callable
from typing import Any

import gpxpy
import numpy.testing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pennyweight.errors import RefusedError
from pennyweight.exchange.gpx import DrawnLine, read_gpx, write_gpx
from pennyweight.records import Dig, Ground, Log, Waypoint

HEAD = '<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="x">'
T1 = '<wpt lat="46.05" lon="14.5"><ele>312.5</ele><name>T1</name></wpt>'
TRACK = '<trk><trkseg><trkpt lat="46" lon="14"/></trkseg></trk>'
ROUTE = '<rte><rtept lat="46" lon="14"/></rte>'


def gpx(*parts: str) -> bytes:
    return (HEAD + "\n".join(parts) + "</gpx>").encode()


def refusal_of(content: bytes) -> Any:
    with pytest.raises(RefusedError) as refused:
        read_gpx(content, "way.gpx")
    return refused.value.refusals[0]


def test_a_waypoint_is_read_with_all_that_receivers_write() -> None:
    content = gpx(
        '<wpt lat="46.05" lon="14.5"><ele>312.5</ele>'
        "<time>2026-07-01T10:00:00Z</time><name> T1 </name><cmt>peg</cmt>"
        "<desc>big boulder</desc><src>receiver</src><sym>Flag</sym><type>dig</type>"
        "</wpt>"
    )
    (found,) = read_gpx(content, "way.gpx").waypoints
    assert (found.name, found.longitude, found.latitude) == ("T1", 14.5, 46.05)
    assert found.elevation_m == 312.5
    assert found.time == "2026-07-01T10:00:00+00:00"
    assert found.note == "big boulder"
    assert found.extra == {
        "cmt": "peg",
        "src": "receiver",
        "sym": "Flag",
        "type": "dig",
    }


def test_a_comment_is_the_note_where_there_is_no_description() -> None:
    content = gpx('<wpt lat="46" lon="14"><name>A</name><cmt>wet</cmt></wpt>')
    (found,) = read_gpx(content, "way.gpx").waypoints
    assert (found.note, found.extra) == ("wet", {})


def test_gpx_1_0_and_vendors_extensions_are_read() -> None:
    content = (
        b'<gpx xmlns="http://www.topografix.com/GPX/1/0" version="1.0" creator="x">'
        b'<wpt lat="46" lon="14"><name>A</name>'
        b'<x:deep xmlns:x="urn:vendor">1</x:deep></wpt></gpx>'
    )
    assert read_gpx(content, "way.gpx").waypoints[0].name == "A"


def test_a_waypoint_without_a_name_is_named_after_the_file() -> None:
    read = read_gpx(gpx('<wpt lat="46" lon="14"/>'), "july.gpx")
    assert read.waypoints[0].name == "july 1"


def test_a_byte_order_mark_is_tolerated() -> None:
    assert read_gpx(b"\xef\xbb\xbf" + gpx(T1), "way.gpx").waypoints[0].name == "T1"


def test_tracks_and_routes_are_counted() -> None:
    read = read_gpx(gpx(T1, TRACK, ROUTE), "way.gpx")
    assert (read.tracks, read.routes, len(read.waypoints)) == (1, 1, 1)
    assert read.doubts == ()


def test_a_file_of_routes_only_is_told() -> None:
    (doubt,) = read_gpx(gpx(ROUTE), "way.gpx").doubts
    assert doubt.problem == "it holds only routes, which give no dig a position"


@pytest.mark.parametrize(
    ("point", "column", "found"),
    [
        ('<wpt lat="912.4" lon="14"><name>A</name></wpt>', "lat", "912.4"),
        ('<wpt lat="46" lon="-181"><name>A</name></wpt>', "lon", "-181.0"),
        ('<wpt lat="nan" lon="14"><name>A</name></wpt>', "lat", "nan"),
    ],
)
def test_a_waypoint_nowhere_on_the_globe_is_refused_with_its_line(
    point: str, column: str, found: str
) -> None:
    (refusal,) = read_gpx(gpx(T1, point), "way.gpx").refusals
    assert (refusal.row, refusal.column) == (2, column)
    assert refusal.found == f"{found} at waypoint A"


def test_one_name_at_two_places_is_a_doubt_and_the_first_is_taken() -> None:
    again = T1.replace("46.05", "46.06")
    read = read_gpx(gpx(T1, T1, again), "way.gpx")
    assert [one.latitude for one in read.waypoints] == [46.05]
    assert len(read.doubts) == 1


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"no xml",
        b"<gpx><wpt></gpx>",
        gpx('<wpt lat="undefined" lon="14"/>'),
        b"\xff\xff",
    ],
)
def test_broken_files_are_refused(content: bytes) -> None:
    assert refusal_of(content).expected.startswith("a GPX file")


def test_broken_xml_is_refused_with_its_line() -> None:
    assert refusal_of(HEAD.encode() + b"\n<wpt>\n</gpx>").row == 3


@pytest.mark.parametrize(
    "declaration",
    [
        '<!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>',
        '<!DOCTYPE gpx [<!ENTITY x SYSTEM "file:///etc/passwd">]>',
        '<!DOCTYPE gpx SYSTEM "http://localhost/gpx.dtd">',
    ],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_entities_are_refused_before_anything_is_parsed(
    declaration: str, encoding: str
) -> None:
    text = f'<?xml version="1.0"?>{declaration}{gpx(T1).decode()}'
    assert "document type" in refusal_of(text.encode(encoding)).found


TEXT = st.text(
    st.characters(min_codepoint=0x20, exclude_categories=["Cs", "Cc", "Cn"]),
    min_size=1,
).filter(lambda text: text == text.strip() and text != "")
WAYPOINTS = st.builds(
    Waypoint,
    name=TEXT,
    longitude=st.floats(-180, 180),
    latitude=st.floats(-90, 90),
    elevation_m=st.none() | st.floats(-400, 9000),
    time=st.none() | st.just("2026-07-01T10:00:00+00:00"),
    note=st.none() | TEXT,
    extra=st.dictionaries(st.sampled_from(["src", "sym", "type"]), TEXT),
)


@given(st.lists(WAYPOINTS, max_size=4, unique_by=lambda one: one.name))
def test_waypoints_read_back_as_they_were_written(points: list[Waypoint]) -> None:
    assert read_gpx(write_gpx(points), "w.gpx").waypoints == tuple(points)


def test_letters_that_xml_cannot_hold_are_left_out() -> None:
    content = write_gpx([Waypoint(name="A\x07B", longitude=1.0, latitude=2.0)])
    assert read_gpx(content, "w.gpx").waypoints[0].name == "AB"


def test_lines_are_written_as_tracks_that_another_reader_sees() -> None:
    line = DrawnLine("Streak A", "likely", ((14.5, 46.05), (14.501, 46.05)))
    (track,) = gpxpy.parse(write_gpx([], [line])).tracks
    assert (track.name, track.description) == ("Streak A", "likely")
    points = [(one.longitude, one.latitude) for one in track.segments[0].points]
    assert points == list(line.places)


def test_a_waypoint_gives_a_dig_its_position(read_log: Callable[..., Any]) -> None:
    read = read_log(
        {
            "ground.toml": 'crs = "EPSG:32633"\n',
            "digs.csv": "dig,line\nT1,A\n",
            "way.gpx": gpx(T1),
        }
    )
    (dig,) = read.log.digs
    npt.assert_allclose(
        (dig.easting_m, dig.northing_m), (461318.7484, 5099724.3725), atol=0.01
    )
    assert read.log.waypoints[0].elevation_m == 312.5


def test_a_waypoint_tells_the_zone_and_places_a_peg(
    read_log: Callable[..., Any],
) -> None:
    read = read_log(
        {
            "digs.csv": "dig,peg,bearing_deg,along_m\nT1,,,\nT2,T1,0,10\n",
            "way.gpx": gpx(T1),
        }
    )
    first, second = read.log.digs
    assert read.log.ground.crs == "EPSG:32633"
    assert second.northing_m - first.northing_m == pytest.approx(10.0, abs=0.01)


def test_a_waypoint_checks_a_position(read_log: Callable[..., Any]) -> None:
    files = {
        "ground.toml": 'crs = "EPSG:32633"\n',
        "digs.csv": "dig,easting_m,northing_m\nT1,461418.75,5099724.37\n",
        "way.gpx": gpx(T1),
    }
    (doubt,) = read_log(files).doubts
    assert doubt.where == "digs.csv, T1"
    assert "its waypoint are 100 m apart" in doubt.problem


def test_a_lone_gpx_places_and_checks_digs_of_the_book(
    read_log: Callable[..., Any],
) -> None:
    book = Log(
        ground=Ground(crs="EPSG:32633"),
        digs=(
            Dig(dig="T1"),
            Dig(dig="T2", easting_m=461318.7, northing_m=5099724.4),
            Dig(dig="T3", easting_m=461318.7, northing_m=5099724.4),
        ),
    )
    points = gpx(T1, T1.replace("T1", "T2"), T1.replace("T1", "T3").replace("5", "6"))
    read = read_log({"way.gpx": points}, known=book)
    assert [dig.dig for dig in read.log.digs] == ["T1"]
    assert read.log.digs[0].easting_m == pytest.approx(461318.7484, abs=0.01)
    assert [one.where for one in read.doubts] == ["waypoint T3"]


def test_a_file_with_a_track_is_kept_whole(read_log: Callable[..., Any]) -> None:
    content = gpx(T1, TRACK)
    read = read_log({"walk.gpx": content, "way.gpx": gpx(T1)})
    (kept,) = read.log.attachments
    assert (kept.file, kept.kind, kept.media_type) == (
        "walk.gpx",
        "track",
        "application/gpx+xml",
    )
    assert kept.content == content
    assert len(read.log.waypoints) == 1


def test_two_files_that_disagree_on_a_waypoint_are_a_doubt(
    read_log: Callable[..., Any],
) -> None:
    read = read_log({"a.gpx": gpx(T1), "b.gpx": gpx(T1.replace("46.05", "46.06"))})
    assert [one.latitude for one in read.log.waypoints] == [46.05]
    assert any(one.where == "b.gpx, waypoint T1" for one in read.doubts)


def test_a_broken_gpx_refuses_the_log(refuse_log: Callable[..., Any]) -> None:
    (refusal,) = refuse_log({"way.gpx": "<gpx>"})
    assert refusal.file == "way.gpx"


def test_a_page_of_the_web_is_no_gpx() -> None:
    refusal = refusal_of(b"<html><body/></html>")
    assert refusal.found == "a file whose first element is html"


@pytest.mark.parametrize("height", ["1e999", "-9999", "99999"])
def test_a_height_that_the_earth_does_not_have_is_unknown(height: str) -> None:
    content = gpx(T1.replace("312.5", height))
    assert read_gpx(content, "way.gpx").waypoints[0].elevation_m is None


def test_entities_are_not_opened() -> None:
    content = b'<!DOCTYPE a [<!ENTITY b "cc">]>' + gpx(T1.replace("T1", "&b;"))
    assert "document type declaration" in refusal_of(content).found


def test_a_day_of_walking_is_read_whole() -> None:
    """A receiver that writes a point a second: 100,000 of them, and waypoints."""
    point = '<trkpt lat="46.05" lon="14.5"/>'
    track = f"<trk><trkseg>{point * 100_000}</trkseg></trk>"
    read = read_gpx(gpx(T1, track), "way.gpx")
    assert (len(read.waypoints), read.tracks) == (1, 1)
