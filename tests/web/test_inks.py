"""Page and pictures have the same inks, by day, by night and on paper."""

import re
from dataclasses import fields
from pathlib import Path

import pytest

from pennyweight.pictures.palette import DAY, NIGHT, PRINT, Palette
from pennyweight.pictures.svg import Look
from pennyweight.web.drawings import names_of, on_page

TOKENS = Path(__file__).parents[2] / "frontend" / "styles" / "tokens.css"
INK = re.compile(r"--([a-z0-9-]+):\s*(#[0-9a-f]{6});")


def inks_of(palette: Palette) -> dict[str, str]:
    return {
        one.name.replace("_", "-"): getattr(palette, one.name)
        for one in fields(palette)
    }


def blocks() -> list[dict[str, str]]:
    found = re.findall(r"\{([^{}]*--paper:[^{}]*)\}", TOKENS.read_text("utf-8"))
    return [dict(INK.findall(block)) for block in found]


@pytest.mark.parametrize(
    ("place", "palette"), [(0, DAY), (1, NIGHT), (2, NIGHT), (3, PRINT)]
)
def test_the_inks_of_the_page_are_those_of_the_pictures(
    place: int, palette: Palette
) -> None:
    assert blocks()[place] == inks_of(palette)


@pytest.mark.parametrize("palette", [DAY, NIGHT, PRINT])
def test_every_ink_has_a_name_of_its_own(palette: Palette) -> None:
    assert len(names_of(palette)) == len(fields(palette))


@pytest.mark.parametrize("look", [Look(), Look(night=True)])
def test_a_picture_takes_the_inks_of_the_page(look: Look) -> None:
    inks = look.palette
    drawn = f'<rect fill="{inks.paper}" stroke="{inks.ink}"/>'
    assert on_page(drawn, look) == '<rect fill="var(--paper)" stroke="var(--ink)"/>'
