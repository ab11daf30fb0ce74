"""Hours of a dig, redone by hand."""

import numpy.testing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pennyweight.nextdig.effort import dig_effort, worked_hours_per_day
from pennyweight.records import Day


def test_hours_of_a_dig_agree_with_hand_arithmetic() -> None:
    """0.5 m2 to 0.9 m in firm ground: (0.9 + 0.27) x 0.5 / 0.7 = 0.836 h.

    12 pans are 1.2 h; 0.45 m3 to fill at 2 m3/h and 0.25 h are 0.475 h.
    """
    effort = dig_effort(0.9, 12.0)
    npt.assert_allclose(effort.digging, 0.836, atol=0.001)
    npt.assert_allclose(effort.washing, 1.2)
    npt.assert_allclose(effort.other, 0.475)
    npt.assert_allclose(effort.hours, 2.511, atol=0.001)


def test_deepening_clears_the_old_dig_at_the_pace_of_loose_ground() -> None:
    """0.6 m old: 0.72 x 0.5 / 1.0 = 0.36 h; then to 0.9 m 0.45 x 0.5 / 0.7."""
    effort = dig_effort(0.9, 0.0, from_m=0.6)
    npt.assert_allclose(effort.digging, 0.36 + 0.3214, atol=0.001)


def test_an_unknown_word_counts_as_firm() -> None:
    assert dig_effort(1.0, 0.0, packing="odd") == dig_effort(1.0, 0.0, packing="firm")


@given(st.floats(0.1, 2.0), st.floats(0.05, 1.0), st.floats(0.0, 40.0))
def test_deeper_and_more_never_takes_less(
    depth_m: float, more_m: float, pans: float
) -> None:
    shallow = dig_effort(depth_m, pans)
    assert dig_effort(depth_m + more_m, pans).hours > shallow.hours
    assert dig_effort(depth_m, pans + 1.0).hours > shallow.hours
    assert dig_effort(depth_m, pans, packing="cemented").hours > shallow.hours


def test_a_dig_that_goes_up_is_refused() -> None:
    with pytest.raises(ValueError, match=r"from 0.8 m to 0.5 m with 3 pans"):
        dig_effort(0.5, 3, from_m=0.8)


def test_a_diary_tells_the_hours_of_a_day() -> None:
    days = [
        Day(date="2025-06-01", dug_hours=4.0),
        Day(date="2025-06-02", dug_hours=6.0),
        Day(date="2025-06-03"),
    ]
    assert worked_hours_per_day(days) == 5.0
    assert worked_hours_per_day(days[2:]) is None
