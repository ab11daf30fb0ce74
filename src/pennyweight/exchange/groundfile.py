"""`ground.toml`: the ground as a whole, read and written.

Numbers are checked like cells of a table; tables of costs, plant and program are kept
as typed, unknown keys too.
"""

from __future__ import annotations

import datetime
import math
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pennyweight.errors import Refusal, RefusedError
from pennyweight.exchange import limits
from pennyweight.exchange.coordinates import is_plain_globe, open_grid
from pennyweight.exchange.jsontext import from_text, to_text
from pennyweight.exchange.tables import decode_text
from pennyweight.records import Ground
from pennyweight.units import MASS_MG, QUANTITIES, to_inside

FILE = "ground.toml"
#: Keys with a unit behind them: name -> quantity, record field, what is possible.
_MEASURED = {
    "pan_volume": ("volume", "pan_volume_m3", limits.PAN),
    "receiver_error": ("length", "receiver_error_m", limits.RECEIVER),
    "min_pay": ("length", "min_pay_m", limits.DEPTH),
    "hand_depth_limit": ("length", "hand_depth_limit_m", limits.DEPTH),
}
_WORDS = ("name", "log_id", "crs", "price_date", "currency")
_TABLES = ("costs", "plant", "program")
_PRICE = "gold_price_per_"
#: What people call it, so that a price is never passed over in silence.
_ANY_PRICE = re.compile(r"(gold_?)?price(_?(of_)?gold)?(_.*)?", re.IGNORECASE)
#: The unit at the end of a cost's name, and most of some of them with the reason.
_COST_UNIT = re.compile(r"_(?:per_)?(m3|yd3|ft3|m2|ft2|acre|ha)$")
_MOST = {
    "royalty_percent": (100.0, "a share in percent, at most 100"),
    "refining_percent": (100.0, "a share in percent, at most 100"),
    "hours_per_day": (24.0, "at most the 24 hours of a day"),
    "days": (366.0, "at most the 366 days of a year"),
}


@dataclass(frozen=True, slots=True)
class GroundRead:
    """The ground as read.

    Attributes
    ----------
    ground : Ground
        What was understood.
    refusals : tuple of Refusal
        Keys that were not.
    unknown : tuple of str
        Keys that nobody knows; they are kept.
    """

    ground: Ground
    refusals: tuple[Refusal, ...]
    unknown: tuple[str, ...]


def read_ground(content: bytes, file: str = FILE) -> GroundRead:
    """Return the ground that a `ground.toml` describes.

    Parameters
    ----------
    content : bytes
        The file.
    file : str
        Its name, for refusals.

    Raises
    ------
    RefusedError
        It is not TOML.
    """
    text = decode_text(content, file)
    try:
        table = tomllib.loads(text.replace("\r\n", "\n"))
    except (tomllib.TOMLDecodeError, RecursionError) as wrong:
        line = re.search(r"line (\d+)", str(wrong))
        row = int(line[1]) if line else None
        expected = 'lines like swell = 0.25 or name = "Upper bench" (TOML)'
        raise RefusedError([Refusal(file, row, None, str(wrong), expected)]) from wrong
    reader = _Reader(file, text)
    for key, value in table.items():
        reader.take(key, value)
    ground = Ground(**reader.fields, typed=reader.typed, extra=reader.extra)
    return GroundRead(ground, tuple(reader.refusals), tuple(reader.extra))


class _Reader:
    """Takes one key after the other, and remembers what is wrong."""

    def __init__(self, file: str, text: str) -> None:
        self.file = file
        self.lines = text.splitlines()
        self.fields: dict[str, Any] = {}
        self.typed: dict[str, str] = {}
        self.extra: dict[str, str] = {}
        self.refusals: list[Refusal] = []

    def refuse(self, key: str, value: Any, expected: str) -> None:
        """Refuse a key, with the line that it stands in."""
        tail = re.escape(key.rsplit(".", maxsplit=1)[-1])
        pattern = re.compile(rf"\s*[\"']?{tail}[\"']?\s*=")
        rows = (at for at, line in enumerate(self.lines, 1) if pattern.match(line))
        self.refusals.append(
            Refusal(self.file, next(rows, None), key, str(value), expected)
        )

    def take(self, key: str, value: Any) -> None:
        """Take one key of the file."""
        name, _, unit = key.rpartition("_")
        if key in _WORDS:
            self._word(key, value)
        elif key in _TABLES:
            self._table(key, value)
        elif key in {"swell", "fineness"}:
            self._share(key, value)
        elif key != "price_date" and _ANY_PRICE.fullmatch(key):
            self._price(key, value)
        elif key in _MEASURED or (
            name in _MEASURED and any(unit in units for units in QUANTITIES.values())
        ):
            self._measured(key, value)
        else:
            self.extra[key] = to_text(_plain(value))

    def _word(self, key: str, value: Any) -> None:
        if isinstance(value, datetime.date):
            value = value.isoformat()
        if not isinstance(value, str):
            self.refuse(key, value, f'a text in quotation marks, {key} = "..."')
            return
        text = value.strip()
        expected = ""
        if key == "price_date":
            expected = _wrong_date(text)
        elif key == "currency" and not re.fullmatch(r"[A-Z]{3}", text):
            expected = "three capital letters of ISO 4217, like USD"
        elif key == "crs" and not is_plain_globe(text):
            expected = _wrong_crs(text)
        if expected:
            self.refuse(key, value, expected)
        elif key == "crs" and is_plain_globe(text):
            self.typed["crs"] = text
        elif text:
            self.fields[key] = text

    def _number(self, key: str, value: Any, expected: str) -> float | None:
        """Return a value as a finite number, or refuse it."""
        is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
        if not is_number or not math.isfinite(value):
            self.refuse(key, value, expected)
            return None
        return float(value)

    def _share(self, key: str, value: Any) -> None:
        expected = {
            "swell": "a share of 0 or more and below 1, like 0.25 for 25 %",
            "fineness": "parts of gold in 1000, above 0 and at most 1000",
        }[key]
        number = self._number(key, value, expected)
        if number is None:
            return
        allowed = 0.0 <= number < 1.0 if key == "swell" else 0.0 < number <= 1000.0
        if allowed:
            self.fields[key] = number
        else:
            self.refuse(key, value, expected)

    def _price(self, key: str, value: Any) -> None:
        unit = key.removeprefix(_PRICE)
        expected = "gold_price_per_ozt or gold_price_per_g, a price above 0"
        if unit not in {"ozt", "g"}:
            self.refuse(key, value, expected)
            return
        if "gold_price_per_g" in self.fields:
            self.refuse(key, value, "one price of gold, per ozt or per g, not both")
            return
        number = self._number(key, value, expected)
        if number is None or number <= 0.0:
            if number is not None:
                self.refuse(key, value, expected)
            return
        self.fields["gold_price_per_g"] = number * 1000.0 / MASS_MG[unit]
        if unit != "g":
            self.typed[key] = str(value)

    def _measured(self, key: str, value: Any) -> None:
        name, unit = (key, "") if key in _MEASURED else key.rsplit("_", 1)
        quantity, record_field, possible = _MEASURED[name]
        units = ", ".join(f"{name}_{one}" for one in QUANTITIES[quantity])
        if unit not in QUANTITIES[quantity]:
            self.refuse(key, value, f"a unit behind the name: {units}")
            return
        expected = f"a number above 0 for {key}"
        number = self._number(key, value, expected)
        if number is None:
            return
        if number <= 0.0:
            self.refuse(key, value, expected)
        elif record_field in self.fields:
            self.refuse(key, value, f"one of {units}, not two")
        elif not possible.holds(to_inside(number, unit, quantity)):
            per_unit = to_inside(1.0, unit, quantity)
            self.refuse(key, value, possible.told(unit, per_unit))
        else:
            self.fields[record_field] = to_inside(number, unit, quantity)
            if QUANTITIES[quantity][unit] != 1.0:
                self.typed[key] = str(value)

    def _table(self, key: str, value: Any) -> None:
        if not isinstance(value, Mapping):
            self.refuse(key, value, f"a table: a line [{key}], then one line a value")
            return
        for name, one in value.items():
            if expected := _wrong_entry(name, one):
                self.refuse(f"{key}.{name}", one, expected)
        if key == "costs":
            self._costs(value)
        self.fields[key] = {name: _plain(one) for name, one in value.items()}

    def _costs(self, value: Mapping[str, Any]) -> None:
        """Refuse one cost given twice, in two units."""
        first: dict[str, str] = {}
        for name, one in value.items():
            other = first.setdefault(_COST_UNIT.sub("", name), name)
            if other != name:
                self.refuse(f"costs.{name}", one, f"one of {other} and {name}, not two")


def _wrong_entry(name: str, value: Any) -> str:
    """Return what a number of a table must be, if it is not."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return ""
    if not math.isfinite(value):
        return "a finite number"
    if value < 0.0:
        return "a number of 0 or more"
    if name == "recovery" and not 0.0 < value <= 1.0:
        return "a share above 0 and at most 1"
    most, why = _MOST.get(name, (math.inf, ""))
    return why if value > most else ""


def _plain(value: Any) -> Any:
    """Return a TOML value with dates as text, the rest as it is."""
    if isinstance(value, (datetime.date, datetime.time)):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_plain(one) for one in value]
    return value


def _wrong_date(text: str) -> str:
    try:
        datetime.date.fromisoformat(text)
    except ValueError:
        return "a date like 2026-07-31 (year-month-day)"
    return ""


def _wrong_crs(text: str) -> str:
    if not text:
        return ""
    try:
        open_grid(text)
    except ValueError as wrong:
        return f"a map grid: {wrong}"
    return ""


def write_ground(ground: Ground) -> bytes:
    """Return the `ground.toml` of a ground.

    Parameters
    ----------
    ground : Ground
        Typed units are written where they still say what the record says.
    """
    lines = [f"{key} = {_toml(value)}" for key, value in _plain_keys(ground)]
    lines += [
        f"{_toml_key(key)} = {_toml(from_text(text))}"
        for key, text in ground.extra.items()
        if not isinstance(from_text(text), dict)
    ]
    tables = {key: from_text(text) for key, text in ground.extra.items()}
    for name in _TABLES:
        tables[name] = dict(getattr(ground, name))
    for name, table in tables.items():
        if not isinstance(table, dict) or (name in _TABLES and not table):
            continue
        lines += ["", f"[{_toml_key(name)}]"]
        lines += [f"{_toml_key(key)} = {_toml(one)}" for key, one in table.items()]
    return ("\n".join(lines) + "\n").encode()


def _plain_keys(ground: Ground) -> list[tuple[str, Any]]:
    """Return keys and values of the known scalars, in the order of the contract."""
    found: list[tuple[str, Any]] = []
    found += _filled(ground, "name", "log_id", "crs")
    for name, (quantity, record_field, _) in _MEASURED.items():
        value = getattr(ground, record_field)
        if value is not None:
            found.append(_measured_key(ground, name, quantity, value=value))
    found += _filled(ground, "swell", "fineness", "price_date", "currency")
    if (price := ground.gold_price_per_g) is not None:
        typed = ground.typed.get("gold_price_per_ozt", "")
        if typed and math.isclose(float(typed) * 1000.0 / MASS_MG["ozt"], price):
            found.append(("gold_price_per_ozt", _number_of(typed)))
        else:
            found.append(("gold_price_per_g", price))
    return found


def _filled(ground: Ground, *keys: str) -> list[tuple[str, Any]]:
    pairs = ((key, getattr(ground, key)) for key in keys)
    return [(key, value) for key, value in pairs if value not in {None, ""}]


def _measured_key(
    ground: Ground, name: str, quantity: str, *, value: float
) -> tuple[str, Any]:
    for unit in QUANTITIES[quantity]:
        typed = ground.typed.get(f"{name}_{unit}")
        if typed and math.isclose(to_inside(float(typed), unit, quantity), value):
            return f"{name}_{unit}", _number_of(typed)
    return f"{name}_{'m3' if quantity == 'volume' else 'm'}", value


def _number_of(text: str) -> int | float:
    return int(text) if re.fullmatch(r"[+-]?\d+", text) else float(text)


def _toml_key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _toml(key)


def _toml(value: Any) -> str:
    """Return a value as TOML writes it on one line."""
    if value is None:
        return '"null"'
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, Mapping):
        pairs = (f"{_toml_key(key)} = {_toml(one)}" for key, one in value.items())
        return "{" + ", ".join(pairs) + "}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_toml(one) for one in value) + "]"
    letters = (
        f"\\u{ord(letter):04x}"
        if ord(letter) < 0x20 or ord(letter) == 0x7F
        else {"\\": "\\\\", '"': '\\"'}.get(letter, letter)
        for letter in str(value)
    )
    return '"' + "".join(letters) + '"'
