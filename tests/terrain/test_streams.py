"""The stream tree of a surface, places snapped to it, and names given to it."""

import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.terrain.elevation import ElevationModel
from pennyweight.terrain.naming import DrawnLine, name_reaches
from pennyweight.terrain.routing import Routing, route_water
from pennyweight.terrain.snapping import snap_places
from pennyweight.terrain.streams import default_least_area_m2, find_streams


def valley_y() -> Routing:
    """Return two gutters, of columns 5 and 15, that meet and run on in column 10."""
    row, column = np.mgrid[0:40, 0:21].astype(np.float64)
    spread = np.clip((20.0 - row) / 20.0, 0.0, 1.0) * 5.0
    away = np.minimum(
        np.abs(column - (10.0 - spread)), np.abs(column - (10.0 + spread))
    )
    height = 100.0 + 1.5 * away - 0.4 * row
    return route_water(ElevationModel(height, 1000.0, 2000.0, 2.0))


def test_two_creeks_that_meet_are_three_reaches() -> None:
    streams = find_streams(valley_y(), least_area_m2=300.0)
    outlet = np.flatnonzero(streams.downstream < 0)
    assert streams.n_reaches == 3
    assert len(outlet) == 1
    npt.assert_array_equal(np.sort(streams.order), [1, 1, 2])
    assert streams.order[outlet[0]] == 2
    npt.assert_array_equal(np.sort(streams.upstream_of(int(outlet[0]))), [0, 1, 2])


def test_catchments_of_the_reaches_add_up_to_all_that_drains_out() -> None:
    routing = valley_y()
    streams = find_streams(routing, least_area_m2=300.0)
    outlet = int(np.flatnonzero(streams.downstream < 0)[0])
    assert streams.own_area_m2.sum() == pytest.approx(streams.area_m2[outlet])
    assert np.all(streams.own_area_m2 > 0.0)


def test_a_reach_ends_where_the_one_below_begins() -> None:
    streams = find_streams(valley_y(), least_area_m2=300.0)
    for reach, below in enumerate(streams.downstream):
        if below >= 0:
            npt.assert_array_equal(streams.line(reach)[-1], streams.line(below)[0])
            assert streams.foot_m[reach] == pytest.approx(streams.head_m[below])
        else:
            assert streams.foot_m[reach] == 0.0
    npt.assert_array_equal(np.argsort(streams.seq)[streams.downstream[:2]] >= 0, True)


def test_the_slope_of_a_straight_reach_is_that_of_its_valley() -> None:
    """The gutter falls 0.4 m in a cell of 2 m: 0.2, and a little at the meeting."""
    streams = find_streams(valley_y(), least_area_m2=300.0)
    outlet = int(np.flatnonzero(streams.downstream < 0)[0])
    assert streams.slope[outlet] == pytest.approx(0.2, rel=0.06)


def test_a_known_head_draws_a_stream_that_is_too_small_otherwise() -> None:
    routing = valley_y()
    few = find_streams(routing, least_area_m2=1500.0)
    head = np.array([[1000.0 + 11.0, 2000.0 - 5.0]])
    more = find_streams(routing, least_area_m2=1500.0, heads=head)
    assert more.length_m.sum() > few.length_m.sum() + 30.0


def test_long_reaches_are_parted() -> None:
    routing = valley_y()
    whole = find_streams(routing, least_area_m2=300.0)
    parted = find_streams(routing, least_area_m2=300.0, longest_m=12.0)
    assert parted.n_reaches > whole.n_reaches
    assert parted.length_m.sum() == pytest.approx(whole.length_m.sum())
    assert parted.length_m.max() < 24.0


def test_by_default_a_small_model_keeps_its_creek() -> None:
    """5,000 m2 would be none; 5 % of 3360 m2 are 168 m2, more than 25 cells."""
    routing = valley_y()
    assert np.nanmax(routing.catchment_m2) == 3360.0
    assert default_least_area_m2(routing) == pytest.approx(168.0)


def test_no_catchment_of_the_asked_size_is_refused() -> None:
    with pytest.raises(ValueError, match="the largest has 3360 m2"):
        find_streams(valley_y(), least_area_m2=1e6)


def test_places_are_snapped_to_the_nearest_stream() -> None:
    streams = find_streams(valley_y(), least_area_m2=300.0)
    outlet = int(np.flatnonzero(streams.downstream < 0)[0])
    middle = 1000.0 + 10.5 * 2.0
    snaps = snap_places(streams, [middle + 3.0, np.nan], [2000.0 - 61.0, 0.0])
    npt.assert_array_equal(snaps.reach, [outlet, -1])
    assert snaps.distance_m[0] == pytest.approx(3.0)
    assert snaps.easting_m[0] == pytest.approx(middle)
    # The last row's center lies 18 m further down.
    assert snaps.chainage_m[0] == pytest.approx(18.0)
    assert np.isnan(snaps.distance_m[1])


def test_a_place_too_far_off_lies_on_no_stream_but_its_distance_is_told() -> None:
    streams = find_streams(valley_y(), least_area_m2=300.0)
    snaps = snap_places(streams, [1300.0], [1950.0], farthest_m=50.0)
    assert snaps.reach[0] == -1
    assert snaps.distance_m[0] > 200.0


def test_a_wrong_snap_is_mended_by_naming_the_reach() -> None:
    streams = find_streams(valley_y(), least_area_m2=300.0)
    place = [1012.0], [1990.0]
    nearest = snap_places(streams, *place).reach[0]
    other = next(k for k in range(3) if k != nearest and streams.downstream[k] >= 0)
    mended = snap_places(streams, *place, onto=np.arange(3) == other)
    assert mended.reach[0] == other


def test_reaches_take_the_name_of_the_line_along_them() -> None:
    streams = find_streams(valley_y(), least_area_m2=300.0)
    left = DrawnLine(np.array([[1011.0, 2000.0], [1020.0, 1960.0]]), "Left Fork")
    astray = DrawnLine(np.array([[1500.0, 2000.0], [1500.0, 1960.0]]), "Elsewhere")
    named = name_reaches(streams, [left, astray], within_m=4.0)
    assert [name for name in named.name if name] == ["Left Fork"]
    assert [finding.where for finding in named.findings] == ['drawn line "Elsewhere"']
