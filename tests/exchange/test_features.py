"""`ground.geojson`: lines and areas in WGS 84, RFC 7946."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pennyweight.errors import RefusedError
from pennyweight.exchange.features import (
    ROLES,
    places_of,
    read_features,
    write_features,
)
from pennyweight.exchange.jsontext import to_text
from pennyweight.records import Feature

LINE = {"type": "LineString", "coordinates": [[14.5, 46.05], [14.501, 46.05]]}
RING = [[14.5, 46.05], [14.501, 46.05], [14.501, 46.051], [14.5, 46.05]]
SHAPES: list[dict[str, Any]] = [
    {"type": "Point", "coordinates": [14.5, 46.05, 312.0]},
    {"type": "MultiPoint", "coordinates": [[14.5, 46.05]]},
    LINE,
    {"type": "MultiLineString", "coordinates": [LINE["coordinates"]]},
    {"type": "Polygon", "coordinates": [RING]},
    {"type": "MultiPolygon", "coordinates": [[RING]]},
    {"type": "GeometryCollection", "geometries": [LINE]},
]


def collection(*features: Any, **members: Any) -> bytes:
    data = {"type": "FeatureCollection", "features": list(features), **members}
    return json.dumps(data).encode()


def feature(geometry: Any = LINE, **properties: Any) -> dict[str, Any]:
    return {"type": "Feature", "properties": properties, "geometry": geometry}


def refusal_of(content: bytes) -> Any:
    try:
        return read_features(content).refusals[0]
    except RefusedError as refused:
        return refused.refusals[0]


@pytest.mark.parametrize("role", ROLES)
def test_every_role_is_read(role: str) -> None:
    (found,) = read_features(collection(feature(role=role, name="Main"))).features
    assert (found.number, found.role, found.name) == (1, role, "Main")
    assert found.geometry == LINE


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: shape["type"])
def test_every_geometry_is_kept_as_handed_in(shape: dict[str, Any]) -> None:
    (found,) = read_features(collection(feature(shape, role="note"))).features
    assert found.geometry == shape
    assert set(places_of(found.geometry)) <= {(x, y) for x, y in RING}


def test_a_lone_feature_is_taken_as_one() -> None:
    content = json.dumps(feature(role="water")).encode()
    assert len(read_features(content).features) == 1


def test_a_feature_without_a_role_is_a_note_and_told() -> None:
    read = read_features(collection(feature()))
    assert read.features[0].role == "note"
    assert read.doubts[0].where == "ground.geojson, feature 1"


def test_properties_may_be_null() -> None:
    one = {"type": "Feature", "properties": None, "geometry": LINE}
    assert read_features(collection(one)).features[0].role == "note"


@pytest.mark.parametrize(
    ("one", "found", "expected"),
    [
        (5, "5", "an object of type Feature"),
        (feature(role="river"), '"river"', "centerline, boundary"),
        (feature(role="note", name=5), "5", "a name that is a text"),
        ({"type": "Feature", "properties": 5, "geometry": LINE}, "5", "an object"),
        (feature(None), "null", "a geometry of type Point"),
        (feature({"type": "Circle"}), '{"type": "Circle"}', "a geometry of type"),
        (feature({"type": "LineString", "coordinates": []}), "[]", "lists of numbers"),
        (
            feature({"type": "LineString", "coordinates": [[1, 2]]}),
            "1 positions",
            "2 positions or more in LineString",
        ),
        (
            feature(
                {"type": "Polygon", "coordinates": [[[1, 2], [2, 2], [2, 3], [3, 3]]]}
            ),
            "a ring from [1, 2] to [3, 3]",
            "repeats the first",
        ),
        (
            feature({"type": "Point", "coordinates": [500000, 5100000]}),
            "[500000, 5100000]",
            "save the file in EPSG:4326",
        ),
        (feature({"type": "Point", "coordinates": ["a", 2]}), '["a", 2]', "a position"),
        (
            feature({"type": "Point", "coordinates": [True, 2]}),
            "[true, 2]",
            "a position",
        ),
        (feature({"type": "Point", "coordinates": [1]}), "[1]", "a position"),
        (
            feature({"type": "Point", "coordinates": [float("nan"), 2]}),
            "[NaN, 2]",
            "finite",
        ),
        (
            feature({"type": "GeometryCollection", "geometries": []}),
            '{"type": "GeometryCollection", "geometries": []}',
            "a collection with geometries in it",
        ),
    ],
)
def test_what_cannot_be_drawn_is_refused(one: Any, found: str, expected: str) -> None:
    refusal = refusal_of(collection(feature(role="note"), one))
    assert (refusal.column, refusal.found) == ("feature 2", found)
    assert expected in refusal.expected


def test_a_long_value_is_shown_by_its_beginning() -> None:
    long = {"type": "LineString", "coordinates": "x" * 200}
    assert refusal_of(collection(feature(long))).found.endswith("...")


@pytest.mark.parametrize("content", [b"{", b"5", b'{"type": "FeatureCollection"}'])
def test_what_is_no_geojson_is_refused(content: bytes) -> None:
    assert "GeoJSON" in str(refusal_of(content)) or "RFC 7946" in str(
        refusal_of(content)
    )


def test_another_coordinate_system_is_refused() -> None:
    named = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::32633"}}
    refusal = refusal_of(collection(feature(role="note"), crs=named))
    assert refusal.column == "crs"
    assert "32633" in refusal.found


def test_wgs_84_named_outright_is_taken() -> None:
    named = {"type": "name", "properties": {"name": "urn:ogc:def:crs:OGC:1.3:CRS84"}}
    assert read_features(collection(feature(role="note"), crs=named)).features


def test_identity_and_unknown_properties_come_back() -> None:
    one = {"id": 7, **feature(role="worked", since=1899, by="5", open=None)}
    (found,) = read_features(collection(one)).features
    assert found.extra == {"since": "1899", "by": '"5"', "open": "null"}
    assert json.loads(write_features([found]))["features"][0] == one


def test_features_left_after_some_were_taken_out_keep_their_numbers() -> None:
    kept = [
        Feature(number=number, role="note", geometry=LINE) for number in (1, 3, 4, 9)
    ]
    assert read_features(write_features(kept)).features == tuple(kept)


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53), 2**53)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.text(max_size=4), inner, max_size=3)
    ),
    max_leaves=5,
)


@given(
    geometry=st.sampled_from(SHAPES),
    role=st.sampled_from(ROLES),
    name=st.none() | st.text(st.characters(exclude_categories=["Cs"])),
    extra=st.dictionaries(
        st.text(st.characters(exclude_categories=["Cs"])).filter(
            lambda key: key not in {"role", "name"}
        ),
        JSON.map(to_text),
        max_size=3,
    ),
)
def test_any_feature_is_written_and_read_back(
    geometry: dict[str, Any], role: str, name: str | None, extra: dict[str, str]
) -> None:
    one = Feature(number=1, role=role, name=name, geometry=geometry, extra=extra)
    assert read_features(write_features([one])).features == (one,)
