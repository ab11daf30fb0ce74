"""Map layers as GeoJSON: one collection, each feature with the name of its layer.

References
----------
Butler et al. 2016, The GeoJSON Format, RFC 7946, sections 3.1.6 (right-hand rule) and
4 (WGS 84); docs/sources.md, entry "RFC 7946".
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from pennyweight.exchange.coordinates import MapGrid
from pennyweight.exchange.features import dump_collection
from pennyweight.handing.globe import on_globe, right_handed
from pennyweight.handing.layers import MapFeature, MapLayer


def make_geojson(layers: Iterable[MapLayer], grid: MapGrid) -> bytes:
    """Return a feature collection of map layers.

    Parameters
    ----------
    layers : iterable of MapLayer
        What is handed on.
    grid : MapGrid
        That their places are on.
    """
    return dump_collection(
        [
            {
                "type": "Feature",
                "properties": {
                    "layer": layer.name,
                    "label": feature.name,
                    **feature.values,
                },
                "geometry": _geometry(feature, layer.shape, grid),
            }
            for layer in layers
            for feature in layer.features
        ]
    )


def _geometry(feature: MapFeature, shape: str, grid: MapGrid) -> dict[str, Any]:
    if shape == "point":
        return {"type": "Point", "coordinates": on_globe(grid, feature.parts[0])[0]}
    if shape == "line":
        places = on_globe(grid, feature.parts[0])
        return {"type": "LineString", "coordinates": places}
    rings = [
        on_globe(grid, right_handed(part, outer=at == 0))
        for at, part in enumerate(feature.parts)
    ]
    return {"type": "Polygon", "coordinates": rings}
