"""A small invented ground, answered once, for the tests of this room."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pennyweight.answers.answer import BookName
from pennyweight.answers.reading import Reading
from pennyweight.records import (
    Attachment,
    Cleanup,
    Day,
    Dig,
    Feature,
    Grain,
    Ground,
    Layer,
    Log,
    Rock,
    Sample,
    Tally,
    Waypoint,
    Weighing,
)

#: Invented words that must never be found in a blurred file.
SECRETS = ("Hidden", "Secretsmith", "Nowhereville", "2026-07", "9QX", "Zzyx")
EAST, NORTH = 461300.0, 5099700.0
RING = [
    [14.4999, 46.0499],
    [14.5, 46.0499],
    [14.5, 46.05],
    [14.4999, 46.05],
    [14.4999, 46.0499],
]


def make_log() -> Log:
    """Return three lines of four digs with a rich middle; all of it invented."""
    names = [(line, number) for line in "ABC" for number in range(1, 5)]
    digs = tuple(
        Dig(
            dig=f"Hidden {line}{number}",
            line=f"Secretsmith {line}",
            kind="trench",
            easting_m=EAST + 15.0 * "ABC".index(line),
            northing_m=NORTH + 4.0 * number,
            elevation_m=320.0 - 0.3 * "ABC".index(line),
            bottom_m=1.2,
            stopped_by="bedrock",
            bedrock="Zzyx schist",
            date="2026-07-01",
            by="Secretsmith",
            landmark="the old mill of Nowhereville",
            note="9QX",
            bearing_deg=12.5,
            peg=f"Hidden {line}1",
            typed={"longitude": "14.5", "latitude": "46.05"},
            extra={"Nowhereville": "9QX"},
        )
        for line, number in names
    )
    samples = tuple(
        Sample(
            sample=f"9QX-{dig.dig}",
            dig=dig.dig,
            top_m=0.6,
            bottom_m=1.2,
            pans=10.0,
            date="2026-07-01",
            by="Secretsmith",
            method="pan",
        )
        for dig in digs
    )
    tallies = tuple(
        Tally(sample=one.sample, size_class="all", colors=(0, 60, 45, 1)[at % 4])
        for at, one in enumerate(samples)
    )
    return Log(
        ground=Ground(
            name="Hidden creek",
            log_id="Secretsmith",
            crs="EPSG:32633",
            swell=0.2,
            gold_price_per_g=80.0,
            currency="USD",
            costs={"wash_per_m3": 2.0, "strip_per_m3": 1.0},
            extra={"owner": "Secretsmith"},
        ),
        digs=digs,
        samples=samples,
        tallies=tallies,
        layers=(
            Layer(
                dig="Hidden A1",
                top_m=0.0,
                bottom_m=1.2,
                material="sandy gravel",
                base="Zzyx schist",
                note="9QX",
            ),
        ),
        weighings=(
            Weighing(
                weighing="Nowhereville",
                samples=("9QX-Hidden A1", "9QX-Hidden A2"),
                weighed_mg=30.0,
                note="Secretsmith",
            ),
        ),
        grains=(
            Grain(sample="9QX-Hidden A1", number=1, roundness="0.4", rim="Zzyx"),
            Grain(sample="9QX-Hidden A1", number=2, attached="iron"),
        ),
        rocks=(
            Rock(number=1, dig="Hidden A1", name="Zzyx granite", strike_deg=40.0),
            Rock(
                number=2, easting_m=EAST, northing_m=NORTH, kind="boulder", long_m=1.0
            ),
        ),
        days=(Day(date="2026-07-01", by="Secretsmith"),),
        cleanups=(Cleanup(cleanup="Hidden", area="Zzyx", weighed_mg=5.0),),
        features=(
            Feature(
                number=1,
                role="water",
                name="Hidden pond",
                geometry={"type": "Polygon", "coordinates": [RING]},
            ),
            Feature(
                number=2,
                role="tributary",
                geometry={"type": "LineString", "coordinates": RING[:3]},
            ),
            Feature(
                number=3,
                role="note",
                geometry={
                    "type": "GeometryCollection",
                    "geometries": [
                        {"type": "MultiPolygon", "coordinates": [[RING], [RING]]}
                    ],
                },
            ),
        ),
        waypoints=(Waypoint(name="Hidden", longitude=14.5, latitude=46.05),),
        attachments=(
            Attachment(
                file="Nowhereville.jpg",
                kind="photo",
                media_type="image/jpeg",
                sha256="",
                content=b"GPS of Nowhereville",
            ),
        ),
    )


def read(log: Log) -> Reading:
    """Return a reading of a record."""
    book = BookName(name="Hidden creek", id="9QX-book")
    return Reading(book=book, revision="1", log=log, made_at="2026-07-02T10:00:00Z")


@pytest.fixture(scope="session")
def reading() -> Reading:
    """Return a reading that all tests share, so that it is answered once."""
    return read(make_log())


@pytest.fixture(scope="session")
def placeless() -> Reading:
    """Return the same ground on a grid of its own."""
    log = make_log()
    return read(replace(log, ground=replace(log.ground, crs=None)))
