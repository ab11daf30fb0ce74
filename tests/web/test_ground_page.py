"""What is given for the whole ground is changed in the reader's units."""

import pytest

from pennyweight.records import Ground
from pennyweight.web.given import FIELD_OF, GIVEN, read_given, stands
from tests.web.conftest import Visitor, words_of

PAGE = "/book/small/seen/ground"


def ground_of(visitor: Visitor) -> Ground:
    ground: Ground = visitor.app.state.shelf.desk("small").log.ground
    return ground


def form_of(ground: Ground, **changed: str) -> dict[str, str]:
    return {one.name: stands(one, ground, feet=False) for one in GIVEN} | changed


def test_only_what_was_changed_is_kept() -> None:
    ground = Ground(name="A", pan_volume_m3=0.0065123456)
    assert read_given(form_of(ground), ground, feet=False) == ({}, {})
    values, _ = read_given(form_of(ground, swell="25"), ground, feet=False)
    assert values == {"swell": 0.25}


def test_feet_and_gallons_are_understood() -> None:
    """A US gallon is 3.785411784 l; a foot is 0.3048 m."""
    form = {"name": "A", "pan_volume_m3": "2", "min_pay_m": "1"}
    values, errors = read_given(form, Ground(name="A"), feet=True)
    assert not errors
    assert values["pan_volume_m3"] == pytest.approx(0.007570823568)
    assert values["min_pay_m"] == pytest.approx(0.3048)


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("swell", "150", "150 is not taken"),
        ("name", "", "needed"),
        ("crs", "EPSG:0", "EPSG:0"),
        ("fineness", "pure", "pure"),
        ("pan_volume_m3", "900", "900"),
    ],
)
def test_what_cannot_be_is_told(name: str, text: str, told: str) -> None:
    ground = Ground(name="A")
    _, errors = read_given(form_of(ground, **{name: text}), ground, feet=False)
    assert told in errors[name]


def test_the_ground_is_changed_on_its_page(small: Visitor) -> None:
    form = form_of(ground_of(small), swell="0", name="Other name")
    assert small.send(PAGE, **form).status_code == 303
    assert ground_of(small).swell == 0.0
    assert "Other name" in words_of(small.read("/").text)


def test_a_wrong_value_stays_beside_its_field(small: Visitor) -> None:
    answer = small.send(PAGE, **form_of(ground_of(small), swell="much"))
    assert answer.status_code == 422
    assert 'value="much"' in answer.text


def test_an_assumption_leads_to_the_field_that_takes_its_place(
    visitor: Visitor,
) -> None:
    assert FIELD_OF["swell"] == "swell"
    visitor.send("/new", name="Bare")
    visitor.ask("/book/bare/seen/digs/add", dig="A")
    visitor.ask(
        "/book/bare/seen/samples/add",
        sample="a",
        dig="A",
        top_m="0.2",
        bottom_m="0.6",
        pans="3",
    )
    visitor.ask("/book/bare/seen/tallies/add", sample="a", size_class="all", colors="4")
    page = visitor.wait_for("/book/bare/pans").text
    assert 'href="/book/bare/seen/ground#swell"' in page
