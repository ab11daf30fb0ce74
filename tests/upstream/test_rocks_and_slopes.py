"""Rocks that point with little weight; lines of soil holes and the band they find."""

import numpy as np
import pytest

from pennyweight.upstream.rockevidence import (
    RockNote,
    find_pointers,
    point,
    read_pointers,
)
from pennyweight.upstream.slopelines import apex_m, find_band, lay_lines

DOWN = np.array([1, -1])
FOOT_M = np.array([100.0, 0.0])


def note(piece, above_m=0.0, name="schist", **said):
    words = {"kind": "bedrock", "stain": "", "veinlets": ""} | said
    return RockNote(piece, above_m, name=name, **words)


def test_rust_veinlets_and_heavy_rock_point():
    assert read_pointers(note(0, stain="rusty", veinlets="quartz")) == (
        "stain",
        "veinlets",
    )
    assert read_pointers(note(0, name="magnetite float")) == ("heavy",)
    assert read_pointers(note(0, veinlets="none")) == ()


def test_a_change_of_bedrock_on_the_way_up_is_a_contact():
    notes = (note(0, 10.0, "granite"), note(1, 20.0, "schist"))
    found = find_pointers(notes, FOOT_M, DOWN)
    assert [(one.pointer, one.note.name, one.other) for one in found] == [
        ("contact", "granite", "schist")
    ]


def test_the_same_rock_twice_is_no_contact():
    notes = (note(0, 10.0, "Schist"), note(1, 20.0, "schist "))
    assert find_pointers(notes, FOOT_M, DOWN) == ()


def test_bedrock_points_beside_it_and_float_above_it():
    ways = np.array([[0.0, 100.0, 400.0], [0.0, 100.0, 400.0]])
    above = np.array([[True, False, True], [True, False, True]])
    bed = find_pointers((note(0, stain="red"),), FOOT_M, DOWN)
    loose = find_pointers((note(0, stain="red", kind="float"),), FOOT_M, DOWN)
    assert point(bed, ways[:1], above[:1]).tolist() == [1.5, 1.5, 1.0]
    assert point(loose, ways[:1], above[:1]).tolist() == [1.5, 1.0, 1.5]


def test_all_rocks_together_weigh_three_at_most():
    many = find_pointers(tuple(note(0, stain="red") for _ in range(9)), FOOT_M, DOWN)
    assert point(many, np.zeros((9, 2)), np.ones((9, 2), bool)).max() == 3.0


def test_soil_lines_lie_on_both_banks_the_left_one_left():
    creek = np.array([[0.0, 100.0], [0.0, 60.0], [0.0, 0.0]])  # flows south
    lines = lay_lines(creek)
    left = [one for one in lines if one.bank == "left"]
    assert len(lines) == 6
    assert all((one.easting_m > 0.0).all() for one in left)
    assert [float(one.easting_m[0]) for one in left] == pytest.approx(
        [20.0, 40.0, 60.0]
    )


def test_steep_ground_gets_lines_closer_together():
    creek = np.array([[0.0, 100.0], [0.0, 0.0]])
    lines = lay_lines(creek, slope={"left": 0.5, "right": 0.1})
    assert {one.bank: one.carry_m for one in lines if one.number == 1} == {
        "left": 10.0,
        "right": 20.0,
    }


def test_a_band_is_found_where_its_colors_are():
    along = np.arange(0.0, 44.0, 4.0)
    colors = np.array([0, 0, 0, 1, 4, 9, 5, 1, 0, 0, 0])
    band = find_band(along, colors, np.full(11, 0.004))
    assert band.there_chance > 0.99
    assert band.middle_m.p10 < 20.0 < band.middle_m.p90
    assert band.half_width_m.p50 == pytest.approx(5.0, abs=2.5)


def test_an_empty_line_most_likely_has_no_band():
    band = find_band(np.arange(0.0, 44.0, 4.0), np.zeros(11), np.full(11, 0.004))
    assert band.there_chance < 0.5


def test_one_hole_is_no_line():
    with pytest.raises(ValueError, match="1 holes are no line"):
        find_band([0.0], [1.0], [0.004])


def test_a_narrowing_band_comes_to_its_point_uphill():
    assert apex_m([10.0, 20.0, 30.0], [6.0, 4.0, 2.0]) == pytest.approx(40.0)
    assert np.isnan(apex_m([10.0, 20.0], [3.0, 5.0]))
    assert np.isnan(apex_m([10.0], [3.0]))
