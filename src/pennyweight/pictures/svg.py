"""A small builder of SVG text, and how a picture is to look.

Presentation attributes only (no style sheet, no script, nothing fetched), so that a
picture looks the same inside the page, alone in a file and on paper. Coordinates
are pixels, y down, rounded to a hundredth.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

from pennyweight.pictures.palette import DAY, NIGHT, PRINT, Palette
from pennyweight.units import METRIC, Measures

SANS = "'Source Sans 3', sans-serif"
SERIF = "'Source Serif 4', serif"

#: Below this width labels drop by importance and type is a little smaller [px].
NARROW_PX = 560

#: Characters that XML 1.0 does not allow, not even escaped.
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


class Markup(str):
    """Text that is SVG already and is not escaped again."""

    __slots__ = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How a picture is to look; the same answer drawn for page, phone or paper.

    Attributes
    ----------
    measures : Measures
        Units of the reader.
    night : bool
        Dark ground, light ink.
    width_px : int
        Width of the picture [px].
    paper : bool
        For print: white ground, no night.
    """

    measures: Measures = METRIC
    night: bool = False
    width_px: int = 960
    paper: bool = False

    @property
    def palette(self) -> Palette:
        """The inks."""
        if self.paper:
            return PRINT
        return NIGHT if self.night else DAY

    def name(self, part: str) -> str:
        """Return an id for a part, unlike those of other looks on the same page."""
        light = "print" if self.paper else "night" if self.night else "day"
        return f"{part}-{self.width_px}-{light}"

    @property
    def narrow(self) -> bool:
        """Whether the picture is drawn for a phone."""
        return self.width_px < NARROW_PX

    @property
    def text_px(self) -> float:
        """Size of ordinary text in the picture [px]."""
        return 12.5 if self.narrow else 13.0

    @property
    def small_px(self) -> float:
        """Size of second text in the picture [px]."""
        return 12.0


def number_text(value: float) -> str:
    """Return a coordinate as short text, to a hundredth of a pixel.

    >>> number_text(12.0), number_text(-0.001), number_text(3.456)
    ('12', '0', '3.46')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def escape_text(text: str) -> str:
    """Return text that is inert inside SVG, whatever it holds."""
    return escape(_NOT_XML.sub("\ufffd", text), quote=True)


def element(
    tag: str, *children: str | None, **attributes: str | float | None
) -> Markup:
    """Return one SVG element.

    Parameters
    ----------
    tag : str
        Its name.
    *children : str or None
        `Markup` goes in as it is, other text is escaped, None is left out.
    **attributes : str, float or None
        `data_dig` becomes `data-dig`, a closing underscore is dropped (`class_`);
        None is left out.

    Returns
    -------
    Markup
        The element.
    """
    inside = "".join(
        child if isinstance(child, Markup) else escape_text(child)
        for child in children
        if child is not None
    )
    words = "".join(
        f' {name.rstrip("_").replace("_", "-")}="{_attribute_text(value)}"'
        for name, value in attributes.items()
        if value is not None
    )
    return Markup(f"<{tag}{words}>{inside}</{tag}>" if inside else f"<{tag}{words}/>")


def _attribute_text(value: str | float) -> str:
    return escape_text(value) if isinstance(value, str) else number_text(value)


def title(text: str) -> Markup:
    """Return the words that show when an element is pointed at."""
    return element("title", text)


def group(*children: str | None, **attributes: str | float | None) -> Markup:
    """Return a group of elements; empty when it holds nothing."""
    if not any(children):
        return Markup("")
    return element("g", *children, **attributes)


def path_text(
    points: Iterable[tuple[float, float] | list[float]], *, closed: bool = False
) -> str:
    """Return the `d` of a path through points [px]."""
    steps = [f"{number_text(p[0])} {number_text(p[1])}" for p in points]
    return "M" + "L".join(steps) + ("Z" if closed else "")


def text(
    x_px: float,
    y_px: float,
    words: str,
    **attributes: str | float | None,
) -> Markup:
    """Return a line of text whose baseline starts at a point."""
    return element("text", words, x=x_px, y=y_px, **attributes)


def haloed(look: Look, width_px: float = 3.0) -> dict[str, str | float]:
    """Return the attributes that keep text legible over a map."""
    return {
        "stroke": look.palette.paper,
        "stroke_width": width_px,
        "stroke_linejoin": "round",
        "paint_order": "stroke",
    }


def drawing(
    look: Look,
    height_px: float,
    *parts: str | None,
    label: str,
    desc: str,
    kind: str,
) -> str:
    """Return a whole picture.

    Parameters
    ----------
    look : Look
        Width and inks.
    height_px : float
        Height [px].
    *parts : str or None
        What it holds, from the back to the front.
    label : str
        What the picture is, for someone who does not see it.
    desc : str
        What it shows, in a sentence.
    kind : str
        Name of the picture; the page finds it by `data-picture`.

    Returns
    -------
    str
        SVG text.
    """
    ground = None
    if not look.paper:
        ground = element(
            "rect", width=look.width_px, height=height_px, fill=look.palette.paper
        )
    return element(
        "svg",
        element("desc", desc),
        ground,
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        width=float(look.width_px),
        height=height_px,
        viewBox=f"0 0 {look.width_px} {number_text(height_px)}",
        role="img",
        aria_label=label,
        data_picture=kind,
        font_family=SANS,
        font_size=look.text_px,
        fill=look.palette.ink,
    )
