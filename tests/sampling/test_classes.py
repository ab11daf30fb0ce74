"""What a size class means."""

import pytest

from pennyweight.sampling.classes import overlap_share, parse_class


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("0.25-0.5", 0.25, 0.5),
        ("0.25 to 0.5", 0.25, 0.5),
        ("0.25..0.5", 0.25, 0.5),
        ("20/40 mesh", 0.425, 0.85),
        ("<0.25", 0.1, 0.25),
        (">2", 2.0, 5.0),
        ("0-0.25", 0.1, 0.25),
        ("<40 mesh", 0.17, 0.425),
        ("No.2", 1.0, 4.0),
    ],
)
def test_a_class_has_bounds(name: str, low: float, high: float) -> None:
    found = parse_class(name)
    assert (found.low, found.high) == pytest.approx((low, high))


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("big", "size class is 'big'"),
        ("2-1", "from 2.0 to 1.0 mm"),
        ("21/40 mesh", "mesh is 21"),
    ],
)
def test_what_is_no_class_is_named(name: str, text: str) -> None:
    with pytest.raises(ValueError, match=text):
        parse_class(name)


def test_half_a_class_on_the_logarithm_is_covered_by_half() -> None:
    """1 to 2 mm covers half of 1 to 4 mm: both are a doubling."""
    assert overlap_share(parse_class("1-2"), parse_class("1-4")) == pytest.approx(0.5)


def test_classes_that_do_not_meet_or_differ_in_kind_cover_nothing() -> None:
    assert overlap_share(parse_class("1-2"), parse_class("2-4")) == 0.0
    assert overlap_share(parse_class("1-2"), parse_class("No.2")) == 0.0
    assert overlap_share(parse_class("all"), parse_class("1-2")) == 0.0
    assert overlap_share(parse_class("all"), parse_class("all")) == 1.0
