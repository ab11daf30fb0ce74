"""Inks are told apart on the paper that they stand on."""

import itertools

import pytest

from pennyweight.pictures.palette import (
    DAY,
    NIGHT,
    PRINT,
    Palette,
    contrast,
    palette_css,
)

PAPERS = pytest.mark.parametrize(
    "inks", [DAY, NIGHT, PRINT], ids=["day", "night", "print"]
)


def test_black_on_white_has_the_greatest_contrast() -> None:
    """WCAG 2.1: (1 + 0.05) / (0 + 0.05) = 21."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


@PAPERS
def test_text_reads_on_the_paper(inks: Palette) -> None:
    assert contrast(inks.ink, inks.paper) > 7.0
    assert contrast(inks.soft_ink, inks.paper) > 4.5
    assert contrast(inks.gold, inks.paper) > 4.5
    assert contrast(inks.danger, inks.paper) > 4.5
    assert contrast(inks.water_ink, inks.paper) > 4.5


@PAPERS
def test_the_richest_stands_out_most_from_the_paper(inks: Palette) -> None:
    steps = [contrast(ink, inks.paper) for ink in inks.ramp]
    assert steps == sorted(steps)
    assert steps[-1] > 7.0


@PAPERS
def test_neighboring_grades_differ_in_gray_print(inks: Palette) -> None:
    assert all(contrast(a, b) > 1.3 for a, b in itertools.pairwise(inks.ramp))


def test_the_page_takes_the_same_inks_by_name() -> None:
    css = palette_css()
    assert f"--gold: {DAY.gold};" in css
    assert f"--grade-5: {NIGHT.grade_5};" in css
