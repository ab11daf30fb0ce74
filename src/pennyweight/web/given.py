"""What is given for the whole ground: the pan, the swell, what counts as pay."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pennyweight.exchange.coordinates import open_grid
from pennyweight.records import Ground
from pennyweight.sampling.volume import PAN_SIZE_KEY, PAN_SIZES, PanSize
from pennyweight.units import from_inside, to_inside
from pennyweight.web.forms import FieldError, parse_number
from pennyweight.web.shown import plain


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """One thing that holds for the whole ground.

    Attributes
    ----------
    name, label, hint : str
        Field of the ground, its words, and a sentence under it.
    quantity : str
        length or volume, where it is measured; "percent" for a share; else empty.
    units : tuple of str
        Metric unit and the other one.
    most : float
        The most that is taken, as it is kept [-].
    keys : tuple of str
        Keys of the assumptions that it takes the place of.
    """

    name: str
    label: str
    hint: str = ""
    quantity: str = ""
    units: tuple[str, str] = ("", "")
    most: float = 0.0
    keys: tuple[str, ...] = ()


GIVEN = (
    Given(name="name", label="Name of the ground"),
    Given(
        name="crs",
        label="Map grid",
        hint="EPSG:32610, for one. Left empty, the first place in degrees picks it.",
    ),
    Given(
        name="pan_volume_m3",
        label="One level pan holds",
        hint="Or its size across the rim, where you did not measure it: "
        + ", ".join(
            f"{size.rim_in} in ({size.loose_m3 * 1000:.1f} l)" for size in PAN_SIZES
        )
        + ". 12 and 16 in: Wells (1969); the others scaled from these, no source.",
        quantity="volume",
        units=("l", "gal"),
        most=0.2,
        keys=("pan_volume_l",),
    ),
    Given(
        name="swell",
        label="Swell, %",
        hint="How much the ground grows when it is dug.",
        quantity="percent",
        most=0.99,
        keys=("swell",),
    ),
    Given(
        name="fineness",
        label="Fineness, of 1000",
        hint="Parts of pure gold in the raw gold.",
        most=1000.0,
        keys=("fineness",),
    ),
    Given(
        name="min_pay_m",
        label="Thinnest pay that is mined",
        quantity="length",
        units=("m", "ft"),
        most=20.0,
        keys=("min_pay_m",),
    ),
    Given(
        name="receiver_error_m",
        label="A position may be off by",
        quantity="length",
        units=("m", "ft"),
        most=500.0,
        keys=("receiver_error_m",),
    ),
    Given(
        name="hand_depth_limit_m",
        label="Deepest dig by hand",
        hint="Where you stop. It is not called safe.",
        quantity="length",
        units=("m", "ft"),
        most=30.0,
        keys=("hand_depth_limit_m",),
    ),
)

#: Key of an assumption -> the field that takes its place.
FIELD_OF = {key: one.name for one in GIVEN for key in one.keys}


def unit_of(one: Given, *, feet: bool) -> str:
    """Return the unit in which something is asked for."""
    return one.units[1 if feet else 0]


def stands(one: Given, ground: Ground, *, feet: bool) -> str:
    """Return what the record says, as it is typed; empty for nothing."""
    value = getattr(ground, one.name)
    if value is None or isinstance(value, str):
        return value or ""
    if one.quantity == "percent":
        return plain(value * 100.0, 2)
    if one.quantity:
        value = from_inside(value, unit_of(one, feet=feet), one.quantity)
    return plain(value, 4)


def read_given(
    form: Mapping[str, str], ground: Ground, *, feet: bool
) -> tuple[dict[str, Any], dict[str, str]]:
    """Return the fields that a form changes, and complaints."""
    values: dict[str, Any] = {}
    errors: dict[str, str] = {}
    plain_extra = {k: v for k, v in ground.extra.items() if k != PAN_SIZE_KEY}
    for one in GIVEN:
        text = form.get(one.name, "").strip()
        if text == stands(one, ground, feet=feet):
            continue
        size = _pan_size(text) if one.name == "pan_volume_m3" else None
        if one.name == "pan_volume_m3":
            values["extra"] = plain_extra
        if size is not None:
            values["pan_volume_m3"] = size.loose_m3
            values["extra"] = plain_extra | {PAN_SIZE_KEY: str(size.rim_in)}
            continue
        try:
            values[one.name] = _read(one, text, feet=feet)
        except ValueError as error:
            errors[one.name] = str(error)
    return values, errors


def _pan_size(text: str) -> PanSize | None:
    """Return the pan that a text like "14 in" means, if it is one of the list."""
    words = text.lower().replace('"', " in").replace("-", " ").split()
    if len(words) < 2 or words[1] not in {"in", "inch", "inches"}:
        return None
    return next((size for size in PAN_SIZES if str(size.rim_in) == words[0]), None)


def _read(one: Given, text: str, *, feet: bool) -> Any:
    if one.name == "name":
        if not text:
            msg = f"{one.label} is needed."
            raise FieldError(msg)
        return text
    if not text:
        return None
    if one.name == "crs":
        return open_grid(text).crs
    value = parse_number(text)
    if one.quantity == "percent":
        value /= 100.0
    elif one.quantity:
        value = to_inside(value, unit_of(one, feet=feet), one.quantity)
    if not 0.0 < value <= one.most and not (one.name == "swell" and value == 0.0):
        msg = f"{text} is not taken; it must be above 0 and not beyond all measure."
        raise FieldError(msg)
    return value
