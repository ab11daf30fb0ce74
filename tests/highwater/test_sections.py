"""Water in a cross section."""

import numpy as np
import pytest

from pennyweight.highwater.resistance import LAWS
from pennyweight.highwater.sections import (
    Section,
    box_section,
    discharge_at,
    level_of,
    water_at,
)

NOTCH = Section(np.array([0.0, 5.0, 10.0]), np.array([5.0, 0.0, 5.0]))
STEPPED = Section(
    np.array([0.0, 1.0, 9.0, 9.5, 19.5, 20.0]), np.array([6.0, 0.0, 0.0, 1.0, 1.0, 6.0])
)


def test_a_notch_by_hand() -> None:
    """2 m of water in sides of 45 degrees: 4 m2, 4 m wide, 5.657 m of bed."""
    area, width, radius = water_at(NOTCH, [2.0, -1.0])
    assert area.tolist() == pytest.approx([4.0, 0.0])
    assert width.tolist() == pytest.approx([4.0, 0.0])
    assert radius.tolist() == pytest.approx([4.0 / (4.0 * 2.0**0.5), 0.0])


def test_a_box_is_as_wide_as_said() -> None:
    """10 m wide, 1 m deep: 10 m2 over 12 m of bed, but for the lean of the walls."""
    area, _, radius = water_at(box_section(10.0), [1.0])
    assert area[0] == pytest.approx(10.0, rel=1e-3)
    assert radius[0] == pytest.approx(10.0 / 12.0, rel=1e-3)


def test_discharge_by_hand() -> None:
    """Area times Ferguson's speed at the hydraulic radius."""
    found = discharge_at(NOTCH, [2.0], slope=0.02, stones_m=0.2)
    speed = LAWS[0].speed(np.array([2.0**-0.5]), np.asarray(0.02), np.asarray(0.2))
    assert found[0] == pytest.approx(4.0 * float(speed[0]), rel=1e-9)


def test_the_level_of_a_discharge_is_the_way_back() -> None:
    flow = discharge_at(NOTCH, [0.5, 3.0], slope=0.02, stones_m=0.2)
    found = level_of(NOTCH, flow, slope=0.02, stones_m=0.2)
    assert found.tolist() == pytest.approx([0.5, 3.0], abs=0.002)


def test_more_water_never_stands_lower_over_a_bench() -> None:
    levels = level_of(STEPPED, np.linspace(0.0, 150.0, 60), slope=0.01, stones_m=0.2)
    assert np.all(np.diff(levels) >= 0.0)


def test_water_over_the_banks_has_no_level() -> None:
    assert np.isnan(level_of(NOTCH, 1e6, slope=0.02, stones_m=0.2)[0])


def test_sections_and_discharges_that_cannot_be_are_named() -> None:
    with pytest.raises(ValueError, match="1 stations"):
        Section(np.array([0.0]), np.array([0.0]))
    with pytest.raises(ValueError, match=r"stations are \[0\. 0\.\]"):
        Section(np.array([0.0, 0.0]), np.array([0.0, 1.0]))
    with pytest.raises(ValueError, match=r"width is 0\.0 m"):
        box_section(0.0)
    with pytest.raises(ValueError, match=r"discharge is -1\.0"):
        level_of(NOTCH, -1.0, slope=0.02, stones_m=0.2)
