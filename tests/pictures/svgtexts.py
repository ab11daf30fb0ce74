"""Where the lines of text of a picture stand, read back from its SVG."""

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass

from pennyweight.pictures.labels import ASCENT, DESCENT, Box
from pennyweight.pictures.textwidth import text_width

SVG = "{http://www.w3.org/2000/svg}"
_SHIFT = re.compile(r"translate\(([-\d.]+) ([-\d.]+)\)")


@dataclass(frozen=True)
class Line:
    """A line of text with the box that it fills."""

    words: str
    box: Box


def parse(picture: str) -> ET.Element:
    """Return the picture's root element."""
    return ET.fromstring(picture)  # noqa: S314 - our own text


def text_lines(picture: str) -> list[Line]:
    """Return every line of text, from the back to the front."""
    return list(_walk(parse(picture), {}, (0.0, 0.0)))


def _walk(
    node: ET.Element, inherited: dict[str, str], shift: tuple[float, float]
) -> Iterator[Line]:
    own = inherited | {
        name: node.attrib[name]
        for name in ("font-size", "font-weight", "text-anchor")
        if name in node.attrib
    }
    moved = _SHIFT.match(node.attrib.get("transform", ""))
    if moved:
        shift = (shift[0] + float(moved[1]), shift[1] + float(moved[2]))
    if node.tag == f"{SVG}text":
        yield _line(node, own, shift)
    for child in node:
        yield from _walk(child, own, shift)


def _line(node: ET.Element, own: dict[str, str], shift: tuple[float, float]) -> Line:
    words = node.text or ""
    size = float(own["font-size"])
    width = text_width(words, size, bold=own.get("font-weight") == "600")
    x_px = float(node.attrib["x"]) + float(node.attrib.get("dx", 0.0)) + shift[0]
    y_px = float(node.attrib["y"]) + shift[1]
    left = x_px - {"middle": width / 2.0, "end": width}.get(
        own.get("text-anchor", "start"), 0.0
    )
    box = Box(left, y_px - ASCENT * size, left + width, y_px + DESCENT * size)
    return Line(words, box)
