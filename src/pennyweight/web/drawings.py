"""Pictures for the page: the width of the reader's screen, the inks of the page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from functools import cache

from markupsafe import Markup

from pennyweight.pictures.palette import Palette
from pennyweight.pictures.svg import Look
from pennyweight.web.page import NARROW_PX, WIDE_PX, Ask


def look_of(ask: Ask, *, wide_px: int = WIDE_PX) -> Look:
    """Return how pictures are drawn for whoever asks."""
    width_px = NARROW_PX if ask.narrow else wide_px
    return Look(measures=ask.measures, night=ask.dark, width_px=width_px)


@cache
def names_of(palette: Palette) -> Mapping[str, str]:
    """Return the name that each ink of a palette has on the page."""
    return {
        getattr(palette, one.name): one.name.replace("_", "-")
        for one in fields(palette)
    }


def on_page(svg: str, look: Look) -> Markup:
    """Return a picture as part of a page: its inks turn with day and night.

    The page has the same inks by name, so that its own rules, such as those for
    print, hold inside of pictures too.
    """
    for ink, name in names_of(look.palette).items():
        svg = svg.replace(f'"{ink}"', f'"var(--{name})"')
    return Markup(svg)  # noqa: S704 - drawn by us, text escaped
