"""Which way the water runs is asked; what is drawn is kept, turned and taken out."""

import numpy as np
import pytest

from pennyweight.answers.frame import frame_ground
from pennyweight.answers.mapping import GroundMap
from pennyweight.records import Feature
from pennyweight.valley.coordinates import Centerline
from pennyweight.web.forms import FieldError
from pennyweight.web.sketches import (
    SKETCH_OF,
    direction_words,
    geometry_of,
    points_text,
    read_points,
    turned_around,
)
from tests.web.conftest import Visitor, words_of

BOOK = "/book/small"
DRAW = f"{BOOK}/seen/draw"
CRS = "EPSG:32610"
CREEK = "500008, 5399980\n500008, 5399960\n500010, 5399940"


def features_of(visitor: Visitor) -> tuple[Feature, ...]:
    found: tuple[Feature, ...] = visitor.app.state.shelf.desk("small").log.features
    return found


def downstream_northing(visitor: Visitor) -> float:
    """Return how far north the centerline leads [m]."""
    frame = frame_ground(visitor.app.state.shelf.desk("small").reading())
    assert frame.centerline is not None
    return float(frame.centerline.northing_m[-1] - frame.centerline.northing_m[0])


def test_places_are_read_in_grid_and_in_degrees() -> None:
    """On the central meridian of zone 10, 123 W, easting is 500000 m."""
    on_grid = read_points("500000, 5400000", CRS)
    assert on_grid[0, 0] == pytest.approx(-123.0)
    typed = f"{on_grid[0, 0]:.9f}; {on_grid[0, 1]:.9f}"
    np.testing.assert_allclose(read_points(typed, CRS), on_grid, atol=1e-8)
    lettered = f"{on_grid[0, 1]:.9f}N 123W"
    np.testing.assert_allclose(read_points(lettered, CRS), on_grid, atol=1e-8)


@pytest.mark.parametrize(
    ("text", "crs", "told"),
    [
        ("500000", CRS, "write two numbers"),
        ("here, there", CRS, "here"),
        ("500000, 5400000", None, "no map grid"),
        ("46N 47N", CRS, "one of N or S"),
        ("200E 46N", CRS, "no such degrees"),
    ],
)
def test_what_is_no_place_is_told(text: str, crs: str | None, told: str) -> None:
    with pytest.raises(FieldError, match=told):
        read_points(text, crs)


def test_an_area_is_closed_and_runs_counterclockwise() -> None:
    """RFC 7946, section 3.1.6: exterior rings are counterclockwise."""
    clockwise = np.array([[0.0, 0.0], [0.0, 1.0], [1.0, 1.0], [1.0, 1.0], [0.0, 0.0]])
    ring = geometry_of(SKETCH_OF["worked"], clockwise)["coordinates"][0]
    assert ring == [[1.0, 1.0], [0.0, 1.0], [0.0, 0.0], [1.0, 1.0]]


def test_a_drawing_with_too_few_points_is_told() -> None:
    twice = np.array([[1.0, 2.0], [1.0, 2.0]])
    with pytest.raises(FieldError, match="1 different points; it needs at least 2"):
        geometry_of(SKETCH_OF["centerline"], twice)


def test_points_come_back_as_they_were_typed() -> None:
    line = geometry_of(SKETCH_OF["centerline"], read_points(CREEK, CRS))
    rows = [row.split(", ") for row in CREEK.splitlines()]
    typed = "\n".join(f"{east}.00, {north}.00" for east, north in rows)
    assert points_text(line, CRS) == typed
    assert points_text({"type": "MultiPolygon", "coordinates": []}, CRS) is None


def test_a_line_turned_around_begins_at_its_other_end() -> None:
    parts = {"type": "MultiLineString", "coordinates": [[[0, 0], [1, 0]], [[2, 0]]]}
    assert turned_around(parts)["coordinates"] == [[[2, 0]], [[1, 0], [0, 0]]]


def test_a_direction_is_said_in_words() -> None:
    line = Centerline(np.array([0.0, 10.0]), np.array([0.0, -10.0]))
    assert direction_words(line) == "southeast"


@pytest.mark.parametrize("page", ["seen", "run"])
def test_the_way_of_the_water_is_asked_while_it_is_guessed(
    settled: Visitor, page: str
) -> None:
    words = words_of(settled.wait_for(f"{BOOK}/{page}").text)
    assert "Which way does the water run?" in words
    assert "a guess: toward the south, from line T1 to line T3" in words


@pytest.mark.parametrize(("way", "sign"), [("this", -1.0), ("other", 1.0)])
def test_the_answer_is_kept_as_a_centerline(
    small: Visitor, way: str, sign: float
) -> None:
    guessed = downstream_northing(small)
    assert small.send(f"{BOOK}/seen/flow", way=way, back="run").status_code == 303
    (line,) = features_of(small)
    assert line.role == "centerline"
    assert downstream_northing(small) == pytest.approx(-sign * guessed, abs=0.01)
    page = small.wait_for(f"{BOOK}/seen").text
    assert "Which way does the water run?" not in page
    assert 'data-role="flow"' in page


def test_the_answer_is_taken_back(small: Visitor) -> None:
    small.send(f"{BOOK}/seen/flow", way="other")
    desk = small.app.state.shelf.desk("small")
    batch = desk.book.batches(limit=1)[0]
    assert batch.why == "Said which way the water runs"
    small.send(f"{BOOK}/seen/undo", batch=batch.uuid)
    assert features_of(small) == ()


def test_a_second_answer_is_refused(small: Visitor) -> None:
    small.send(f"{BOOK}/seen/flow", way="this")
    assert small.send(f"{BOOK}/seen/flow", way="other").status_code == 409
    assert small.send(f"{BOOK}/seen/flow", way="").status_code == 409


def test_a_line_is_drawn_turned_changed_and_deleted(small: Visitor) -> None:
    small.send(DRAW, role="centerline", name="Creek", points=CREEK)
    (line,) = features_of(small)
    east, _ = GroundMap(CRS).from_degrees(*np.array(line.geometry["coordinates"]).T)
    np.testing.assert_allclose(east, [500008.0, 500008.0, 500010.0], atol=1e-3)
    small.send(f"{DRAW}/turn", number="1")
    turned = features_of(small)[0].geometry["coordinates"]
    assert turned == line.geometry["coordinates"][::-1]
    page = small.wait_for(f"{DRAW}?change=1").text
    assert "500010.00, 5399940.00" in page
    small.send(DRAW, role="centerline", name="Dry creek", points=CREEK, number="1")
    assert [one.name for one in features_of(small)] == ["Dry creek"]
    small.send(f"{DRAW}/remove", number="1")
    assert features_of(small) == ()


def test_a_new_centerline_takes_the_place_of_the_old_one(small: Visitor) -> None:
    small.send(DRAW, role="worked", points=CREEK)
    small.send(DRAW, role="centerline", points=CREEK)
    small.send(DRAW, role="centerline", name="Second", points=CREEK)
    assert [(one.number, one.role, one.name) for one in features_of(small)] == [
        (1, "worked", None),
        (2, "centerline", "Second"),
    ]


def test_what_is_wrong_with_points_stays_beside_them(small: Visitor) -> None:
    answer = small.send(DRAW, role="boundary", points="500008, 5399980")
    assert answer.status_code == 422
    assert "it needs at least 3" in words_of(answer.text)
    assert "500008, 5399980" in answer.text


def test_a_distance_is_measured_and_nothing_kept(small: Visitor) -> None:
    answer = small.send(DRAW, role="measure", points="500000, 5400000\n500003, 5400004")
    assert "Distance: 5 m" in words_of(answer.text)
    assert features_of(small) == ()


def test_a_place_on_the_map_begins_a_dig(small: Visitor) -> None:
    answer = small.send(DRAW, role="dig", points="500003, 5400004")
    assert answer.status_code == 303
    form = small.read(answer.headers["location"]).text
    assert 'value="500003.00"' in form
    assert 'value="5400004.00"' in form


def test_a_ground_without_a_grid_gets_one_by_its_first_drawing(
    visitor: Visitor,
) -> None:
    visitor.send("/new", name="Bare")
    visitor.send("/book/bare/seen/draw", role="note", points="-123.1, 48.7")
    log = visitor.app.state.shelf.desk("bare").log
    assert log.ground.crs == "EPSG:32610"
    assert len(log.features) == 1
    assert 'data-feature="0"' in visitor.wait_for("/book/bare/seen/draw").text
