"""Which samples speak of worked ground, and what it is then said to hold."""

from dataclasses import replace

import numpy as np
import pytest
from pyproj import Transformer

from pennyweight.answers.answer import BookName
from pennyweight.answers.reading import Reading
from pennyweight.answers.workedground import draw_worked_mg_m3, grade_kinds
from pennyweight.records import Dig, Feature, Ground, Layer, Log, Sample, Tally

CRS = "EPSG:32606"
EAST_0, NORTH_0 = 500_000.0, 5_300_000.0


def area(role: str, west_m: float, east_m: float) -> Feature:
    """Return a strip across the whole ground."""
    back = Transformer.from_crs(CRS, "EPSG:4326", always_xy=True)
    corners = [(west_m, -9), (east_m, -9), (east_m, 9), (west_m, 9), (west_m, -9)]
    ring = [list(back.transform(EAST_0 + x, NORTH_0 + y)) for x, y in corners]
    return Feature(
        number=1,
        role=role,
        name="old diggings",
        geometry={"type": "Polygon", "coordinates": [ring]},
    )


def ground(worked: str | None = None, *, drawn: bool = True) -> Reading:
    """Return ten digs along a creek: five poor ones in the east, five rich ones."""
    digs, samples, tallies, layers = [], [], [], []
    for at in range(10):
        name = f"D{at}"
        digs.append(
            Dig(
                dig=name,
                line=f"L{at // 2}",
                easting_m=EAST_0 + 10.0 * (at // 2) + 60.0 * (at % 2),
                northing_m=NORTH_0 + at % 3,
                bottom_m=1.0,
            )
        )
        samples.append(
            Sample(
                sample=f"S{at}",
                dig=name,
                top_m=0.0,
                bottom_m=1.0,
                volume_m3=0.02,
                state="bank",
            )
        )
        tallies.append(
            Tally(sample=f"S{at}", size_class="all", colors=4 if at % 2 else 40)
        )
        if worked:
            layers.append(Layer(dig=name, top_m=0.0, bottom_m=1.0, worked=worked))
    return Reading(
        book=BookName(name="invented", id="1"),
        revision="1",
        log=Log(
            ground=Ground(crs=CRS),
            digs=tuple(digs),
            layers=tuple(layers),
            samples=tuple(samples),
            tallies=tuple(tallies),
            features=(area("worked", 55.0, 130.0),) if drawn else (),
        ),
        made_at="2026-08-01T12:00:00+00:00",
    )


def test_samples_inside_an_area_drawn_as_worked_give_it_its_own_grade() -> None:
    """A tenth of the colors in the same volume is about a tenth of the grade."""
    found = grade_kinds(ground())
    assert found.marked
    assert (found.worked.digs, found.virgin.digs) == (5, 5)
    assert found.worked.grade_mg_m3 is not None
    assert found.virgin.grade_mg_m3 is not None
    ratio = found.worked.grade_mg_m3.p50 / found.virgin.grade_mg_m3.p50
    assert ratio == pytest.approx(0.1, rel=0.25)


def test_what_a_layer_says_goes_before_the_area() -> None:
    found = grade_kinds(ground("virgin"))
    assert found.worked.samples == 0
    assert found.worked.grade_mg_m3 is None
    assert grade_kinds(ground("tailings", drawn=False)).virgin.samples == 0


def test_a_layer_that_is_not_known_leaves_it_to_the_area() -> None:
    assert grade_kinds(ground("unknown")).worked.samples == 5


def test_ground_without_a_mark_is_all_of_one_kind() -> None:
    found = grade_kinds(ground(drawn=False))
    assert not found.marked
    assert found.virgin.samples == 10
    assert draw_worked_mg_m3(ground(drawn=False), 10) is None


def test_draws_of_worked_ground_are_the_same_at_every_call() -> None:
    reading = ground()
    first, again = (draw_worked_mg_m3(reading, 50) for _ in range(2))
    assert first is not None
    assert again is not None
    assert np.array_equal(first, again)
    assert (first > 0.0).all()


def test_a_sample_without_depths_is_told_by_its_place() -> None:
    reading = ground("virgin")
    bare = tuple(replace(one, top_m=None, bottom_m=None) for one in reading.log.samples)
    reading.log = replace(reading.log, samples=bare)
    assert grade_kinds(reading).worked.samples == 5
