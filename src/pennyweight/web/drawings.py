"""Pictures for the page: the width of the reader's screen, the inks of the page."""

from __future__ import annotations

from dataclasses import fields

from markupsafe import Markup

from pennyweight.pictures.palette import DAY
from pennyweight.pictures.svg import Look
from pennyweight.web.page import NARROW_PX, WIDE_PX, Ask, ink_by_name

#: "#rrggbb" by day -> name of the ink on the page.
INKS = {getattr(DAY, one.name): one.name.replace("_", "-") for one in fields(DAY)}


def look_of(ask: Ask, *, wide_px: int = WIDE_PX) -> Look:
    """Return how pictures are drawn for whoever asks."""
    width_px = NARROW_PX if ask.narrow else wide_px
    return Look(measures=ask.measures, width_px=width_px)


def on_page(svg: str) -> Markup:
    """Return a picture as part of a page: its inks turn with day and night."""
    return Markup(ink_by_name(svg, INKS))  # noqa: S704 - drawn by us, text escaped
