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
        ("colors", {"sample": "a", "colors.all": "5"}),
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
        ("pan", {"pan": "700", "unit": "l"}, "A pan of 700 l is no pan"),
        ("pan", {"size": "own"}, "Write what you measured"),
        ("pan", {"bucket": "18", "bucket_pans": "0"}, "0 pans fill no bucket"),
        ("pan", {"pan": "", "unit": "l"}, "Choose a size"),
        ("swell", {"hole": "10", "out": "25"}, "150%"),
        ("swell", {"hole": "0", "out": "2"}, "holds 0 buckets"),
        ("dig", {"dig": ""}, "Dig is needed"),
        ("dig", {"dig": "A", "latitude": "95", "longitude": "0"}, "latitude is 95"),
        ("layer", {"dig": "A", "top_m": "2", "bottom_m": "1"}, "begins at 2 m"),
        ("sample", {"sample": "a", "dig": "nowhere"}, "nowhere"),
        ("colors", {"sample": "a", "colors.all": "5"}, "There is no sample a"),
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


def test_a_pan_may_be_told_by_its_rim(newcomer: Visitor) -> None:
    """336 in3 x (14 / 16)^3 x 0.016387064 l = 3.6887 l."""
    page = words_of(newcomer.read(f"{GUIDE}/pan").text)
    assert "14 inch about 3.7 liters, 225 cubic inches" in page
    assert "scaled, no source" in page
    assert newcomer.send(f"{GUIDE}/pan", size="14").status_code == 303
    ground = ground_of(newcomer)
    assert ground.pan_volume_m3 == pytest.approx(0.0036887, abs=1e-7)
    assert ground.extra == {"pan_size_in": "14"}


def test_a_bucket_measures_the_pan_and_takes_the_place_of_its_rim(
    newcomer: Visitor,
) -> None:
    """5 US gallons are 18.927 l; in 4 pans 4.7318 l each."""
    newcomer.send(f"{GUIDE}/pan", size="14")
    form = {"bucket": "5", "bucket.unit": "gal", "bucket_pans": "4", "size": "14"}
    newcomer.send(f"{GUIDE}/pan", **form)
    assert ground_of(newcomer).pan_volume_m3 == pytest.approx(0.0047318, abs=1e-7)
    assert ground_of(newcomer).extra == {}


def test_the_number_of_pans_is_never_supposed(newcomer: Visitor) -> None:
    page = newcomer.read(f"{GUIDE}/sample").text
    assert 'name="pans" value=""' in page


def test_a_depth_goes_on_as_it_was_typed(newcomer: Visitor) -> None:
    newcomer.send(f"{GUIDE}/dig", dig="B1", bottom_m="50 in", bottom_m__unit="ft")
    page = newcomer.read(f"{GUIDE}/layer").text
    assert 'id="bottom_m" name="bottom_m" value="50"' in page
    unit = page.split('name="bottom_m.unit"')[1].split("</select>")[0]
    assert "<option selected>in</option>" in unit


def test_who_reads_in_feet_is_asked_in_feet(newcomer: Visitor) -> None:
    newcomer.client.cookies.set("units", "feet")
    page = newcomer.read(f"{GUIDE}/dig").text
    unit = page.split('name="bottom_m.unit"')[1].split("</select>")[0]
    assert "<option selected>ft</option>" in unit


def test_a_bad_field_gets_the_focus(newcomer: Visitor) -> None:
    page = newcomer.send(f"{GUIDE}/dig", dig="B1", bottom_m="deep").text
    field = page.split('id="bottom_m"')[1].split(">")[0]
    assert "autofocus" in field
    assert page.count("autofocus") == 1
    assert "4 ft 2 in" in words_of(page)


def test_the_ground_takes_a_pan_by_its_rim_as_well(newcomer: Visitor) -> None:
    """12 inches: 152 in3 x 0.016387064 l = 2.4908 l."""
    page = newcomer.read("/book/new/seen/ground").text
    assert "14 in (3.7 l)" in page
    form = {"name": "New", "pan_volume_m3": "12 inch"}
    assert newcomer.send("/book/new/seen/ground", **form).status_code == 303
    assert ground_of(newcomer).pan_volume_m3 == pytest.approx(0.0024908, abs=1e-7)
    assert ground_of(newcomer).extra == {"pan_size_in": "12"}
    newcomer.send("/book/new/seen/ground", name="New", pan_volume_m3="3")
    assert ground_of(newcomer).extra == {}


def test_the_swell_is_asked_again_where_it_is_wrong(newcomer: Visitor) -> None:
    page = newcomer.send(f"{GUIDE}/swell", hole="10", out="some").text
    assert page.count("autofocus") == 1
    assert "autofocus" in page.split('id="out"')[1].split(">")[0]
