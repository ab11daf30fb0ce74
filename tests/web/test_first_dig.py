"""Somebody with a notebook and no idea gets from an empty book to a first answer."""

from typing import Any

import pytest

from tests.web.conftest import Visitor, words_of

GUIDE = "/book/new/first"


@pytest.fixture
def newcomer(visitor: Visitor) -> Visitor:
    visitor.send("/new", name="New")
    return visitor


def ground_of(visitor: Visitor) -> Any:
    return visitor.app.state.shelf.desk("new").log.ground


def test_an_empty_book_opens_on_the_guide(newcomer: Visitor) -> None:
    page = newcomer.read("/book/new/seen")
    assert "Let us get to the first pan" in page.text


def test_six_answers_lead_to_what_the_pan_says(newcomer: Visitor) -> None:
    steps = [
        ("pan", {"pan": "6,5", "unit": "l"}),
        ("swell", {"hole": "10", "out": "12"}),
        ("dig", {"dig": "T1-1", "line": "T1", "bottom_m": "1.1"}),
        ("layer", {"dig": "T1-1", "top_m": "0.7", "bottom_m": "1.1"}),
        (
            "sample",
            {
                "sample": "a",
                "dig": "T1-1",
                "top_m": "0.7",
                "bottom_m": "1.1",
                "pans": "4",
            },
        ),
        ("colors", {"sample": "a", "size_class": "all", "colors": "5"}),
    ]
    for number, (name, form) in enumerate(steps):
        assert newcomer.read(f"{GUIDE}/{name}").status_code == 200
        location = newcomer.send(f"{GUIDE}/{name}", **form).headers["location"]
        after = steps[number + 1][0] if number + 1 < len(steps) else None
        assert location == (f"{GUIDE}/{after}" if after else "/book/new/pans")
    page = newcomer.wait_for("/book/new/pans")
    assert "mg/m³ (80 %:" in words_of(page.text)
    assert ground_of(newcomer).pan_volume_m3 == pytest.approx(0.0065)
    assert ground_of(newcomer).swell == pytest.approx(0.2)


@pytest.mark.parametrize("step", ["pan", "swell", "dig", "layer", "sample", "colors"])
def test_every_question_can_be_left_out(newcomer: Visitor, step: str) -> None:
    assert "Leave it out" in (page := newcomer.read(f"{GUIDE}/{step}").text) or (
        "Not washed yet" in page
    )


@pytest.mark.parametrize(
    ("step", "form", "told"),
    [
        ("pan", {"pan": "700", "unit": "l"}, "700 l is no pan"),
        ("pan", {"pan": "", "unit": "l"}, "Nothing is no number"),
        ("swell", {"hole": "10", "out": "25"}, "150%"),
        ("swell", {"hole": "0", "out": "2"}, "holds 0 buckets"),
        ("dig", {"dig": ""}, "Dig is needed"),
        ("dig", {"dig": "A", "latitude": "95", "longitude": "0"}, "latitude is 95"),
        ("layer", {"dig": "A", "top_m": "2", "bottom_m": "1"}, "begins at 2 m"),
        ("sample", {"sample": "a", "dig": "nowhere"}, "nowhere"),
        ("colors", {"sample": "a", "size_class": "all", "colors": "some"}, "some"),
    ],
)
def test_a_wrong_answer_is_told_and_stays(
    newcomer: Visitor, step: str, form: dict[str, str], told: str
) -> None:
    answer = newcomer.send(f"{GUIDE}/{step}", **form)
    assert answer.status_code == 422
    assert told in words_of(answer.text)


def test_gallons_are_understood(newcomer: Visitor) -> None:
    """1.5 US gallons x 3.785411784 l = 5.678 l."""
    newcomer.send(f"{GUIDE}/pan", pan="1.5", unit="gal")
    assert ground_of(newcomer).pan_volume_m3 == pytest.approx(0.005678, abs=1e-6)


def test_the_guide_warns_before_the_dig(newcomer: Visitor) -> None:
    assert "never dig alone" in newcomer.read(f"{GUIDE}/dig").text


def test_an_unknown_question_is_told(newcomer: Visitor) -> None:
    assert newcomer.read(f"{GUIDE}/boots").status_code == 404
