"""Map layers as KML: a folder a layer, a placemark a thing, its numbers in a table.

References
----------
OGC 07-147r2, KML 2.2; docs/sources.md, entry "KML".
"""

from __future__ import annotations

from collections.abc import Iterable
from xml.etree import ElementTree

from pennyweight.exchange.coordinates import MapGrid
from pennyweight.exchange.gpx import without_control_letters
from pennyweight.handing.globe import on_globe, right_handed
from pennyweight.handing.layers import FloatArray, MapFeature, MapLayer, Value

NAMESPACE = "http://www.opengis.net/kml/2.2"
#: Lines and areas by layer, as alpha, blue, green, red of two hexadecimal digits each.
_COLORS = {"streaks": "ff1f7fd6", "cut": "7f3c50c8", "lines": "ff8c8c8c"}
_OTHER_COLOR = "ff6e5a3c"


def make_kml(
    layers: Iterable[MapLayer], grid: MapGrid, *, title: str, said: str
) -> bytes:
    """Return a KML document of map layers.

    Parameters
    ----------
    layers : iterable of MapLayer
        What is handed on.
    grid : MapGrid
        That their places are on.
    title, said : str
        Heading of the document, and what its reader must know.
    """
    root = ElementTree.Element("kml", {"xmlns": NAMESPACE})
    document = ElementTree.SubElement(root, "Document")
    _text(document, "name", title)
    _text(document, "description", said)
    for layer in layers:
        style = ElementTree.SubElement(document, "Style", {"id": layer.name})
        for tag in ("LineStyle", "PolyStyle"):
            part = ElementTree.SubElement(style, tag)
            _text(part, "color", _COLORS.get(layer.name, _OTHER_COLOR))
            if tag == "LineStyle":
                _text(part, "width", "3")
    for layer in layers:
        folder = ElementTree.SubElement(document, "Folder")
        _text(folder, "name", layer.title)
        for feature in layer.features:
            _placemark(folder, feature, layer, grid=grid)
    ElementTree.indent(root)
    text = ElementTree.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def _placemark(
    folder: ElementTree.Element, feature: MapFeature, layer: MapLayer, *, grid: MapGrid
) -> None:
    mark = ElementTree.SubElement(folder, "Placemark")
    _text(mark, "name", feature.name)
    _text(mark, "styleUrl", f"#{layer.name}")
    data = ElementTree.SubElement(mark, "ExtendedData")
    for key, value in feature.values.items():
        if value is not None:
            one = ElementTree.SubElement(data, "Data", {"name": key})
            _text(one, "value", _shown(value))
    if layer.shape == "point":
        point = ElementTree.SubElement(mark, "Point")
        _text(point, "coordinates", _places(grid, feature.parts[0]))
    elif layer.shape == "line":
        line = ElementTree.SubElement(mark, "LineString")
        _text(line, "tessellate", "1")
        _text(line, "coordinates", _places(grid, feature.parts[0]))
    else:
        area = ElementTree.SubElement(mark, "Polygon")
        for at, part in enumerate(feature.parts):
            tag = "innerBoundaryIs" if at else "outerBoundaryIs"
            ring = ElementTree.SubElement(area, tag)
            ring = ElementTree.SubElement(ring, "LinearRing")
            closed = right_handed(part, outer=at == 0)
            _text(ring, "coordinates", _places(grid, closed))


def _places(grid: MapGrid, part: FloatArray) -> str:
    return " ".join(f"{x},{y}" for x, y in on_globe(grid, part))


def _shown(value: Value) -> str:
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def _text(parent: ElementTree.Element, tag: str, text: str) -> None:
    ElementTree.SubElement(parent, tag).text = without_control_letters(text)
