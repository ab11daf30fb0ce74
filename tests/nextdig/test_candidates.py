"""Places for the next dig, drawn by hand on a small ground."""

import numpy.testing as npt
import pytest

from pennyweight.nextdig.candidates import (
    FIRST_DIGS_M,
    FIRST_LINES_M,
    Candidate,
    OpenedDig,
    propose_candidates,
    propose_first_lines,
)


def line(
    name: str, s_m: float, *across: float, stopped_by: str = "bedrock"
) -> list[OpenedDig]:
    return [
        OpenedDig(
            name=f"{name}{at}",
            line=name,
            s_m=s_m,
            n_m=n_m,
            bottom_m=0.6,
            stopped_by=stopped_by,
        )
        for at, n_m in enumerate(across)
    ]


TWO_LINES = line("A", 10.0, -3.0, 0.0, 3.0) + line("B", 30.0, -3.0, 0.0, 3.0)


def places(found: list[Candidate], kind: str) -> list[tuple[float, float]]:
    return [(one.s_m, one.n_m) for one in found if one.kind == kind]


def test_a_gap_gets_a_line_half_way() -> None:
    found = propose_candidates(TWO_LINES, step_m=2.0)
    assert places(found, "gap dig") == [
        (20.0, -3.0),
        (20.0, -1.0),
        (20.0, 1.0),
        (20.0, 3.0),
    ]
    assert {one.beside for one in found if one.kind == "gap dig"} == {("A", "B")}


def test_ends_get_a_line_as_far_beyond() -> None:
    found = propose_candidates(TWO_LINES, step_m=3.0)
    assert {s_m for s_m, _ in places(found, "end dig")} == {-10.0, 50.0}


def test_sides_and_spaces_of_a_line_get_one_each() -> None:
    found = propose_candidates(TWO_LINES, step_m=2.0)
    assert places(found, "step-out")[:2] == [(10.0, -5.0), (10.0, 5.0)]
    assert places(found, "infill dig")[:2] == [(10.0, -1.5), (10.0, 1.5)]


def test_digs_that_stopped_short_are_deepened_from_where_they_stand() -> None:
    digs = TWO_LINES + line("C", 50.0, -3.0, 3.0, stopped_by="water")
    found = [
        one for one in propose_candidates(digs, step_m=2.0) if one.kind == "deepening"
    ]
    assert [one.beside for one in found] == [("C0",), ("C1",)]
    assert found[0].from_m == 0.6


def test_nothing_is_proposed_on_top_of_a_dig() -> None:
    digs = [*TWO_LINES, *line("odd", 20.2, -3.1)]
    assert (20.0, -3.0) not in places(propose_candidates(digs, step_m=2.0), "gap dig")


def test_one_line_gets_no_gap_and_no_end() -> None:
    found = propose_candidates(line("A", 10.0, -3.0, 3.0), step_m=2.0)
    assert {one.kind for one in found} == {"step-out", "infill dig"}


def test_no_dig_gives_no_candidate() -> None:
    assert propose_candidates([], step_m=2.0) == []


def test_a_step_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match=r"step_m is 0.0 m"):
        propose_candidates(TWO_LINES, step_m=0.0)


def test_the_first_program_is_lines_fifty_feet_apart() -> None:
    """100 m hold lines at 100, 84.76, ... from the lower end, 10 ft between digs."""
    found = propose_first_lines([], length_m=100.0)
    npt.assert_allclose([FIRST_LINES_M, FIRST_DIGS_M], [15.24, 3.048])
    lines = sorted({round(one.s_m, 2) for one in found}, reverse=True)
    assert lines[:2] == [100.0, 84.76]
    assert len(found) == 7 * 9
    assert (found[0].s_m, found[0].n_m) == (100.0, 0.0)


def test_the_first_program_begins_where_digs_are() -> None:
    found = propose_first_lines(line("A", 40.0, 0.0), length_m=100.0, half_width_m=4.0)
    assert (40.0, 0.0) not in [(one.s_m, one.n_m) for one in found]
    assert found[0].s_m == 40.0
    assert max(abs(one.n_m) for one in found) == pytest.approx(3.048)


def test_a_valley_without_length_is_refused() -> None:
    with pytest.raises(ValueError, match=r"length_m is 0.0 m"):
        propose_first_lines([], length_m=0.0)
