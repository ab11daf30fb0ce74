"""What stands beside the streaks is told in the reader's units."""

from dataclasses import replace

from pennyweight.answers.traceparts import HandCompared, HandDoubt, Hinge
from pennyweight.cli.tellingcompany import tell_company
from pennyweight.units import METRIC, Measures
from tests.pictures import made_answers


def told(measures: Measures = METRIC) -> str:
    answer = replace(
        made_answers.trace(),
        hinges=(
            Hinge(
                kind="link",
                what="whether streak D runs on from line 3 to line 4",
                share=0.41,
                easting_m=612100.0,
                northing_m=5401150.0,
            ),
            Hinge(kind="shared error", what="how full the pans were", share=0.6),
        ),
        by_hand=HandCompared(
            joins=9,
            agree=2,
            doubts=tuple(
                HandDoubt(from_dig=f"a{at}", to_dig="b", why="no streak runs there")
                for at in range(7)
            ),
        ),
    )
    return "\n".join(tell_company(answer, measures))


def test_meetings_projections_and_open_links_are_told() -> None:
    words = told()
    assert "Streaks B and C: 70\N{NO-BREAK SPACE}%, likely" in words
    assert "612100 E, 5401150 N" in words
    assert "Streak E downstream" in words


def test_joins_beyond_five_are_counted() -> None:
    words = told()
    assert words.count("Dig a") == 5
    assert "And 2 more." in words
