"""The record without where and who: what may be shown to strangers.

Everything that could tell the place is left out or replaced before any answer is made,
so that nothing made from a blurred record can hold more than the record does. There
is no key: the turn is drawn from the machine's own randomness and forgotten, and the
shift is not drawn at all, as the digs are laid into a corner of their own.

What remains, and can give a place away to someone who knows it, is the pattern of the
digs in meters, their heights above the lowest, and what was found.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any, TypeVar

import numpy as np

from pennyweight.records import Dig, Ground, Log, Record, Rock, Weighing

AnyRecord = TypeVar("AnyRecord", bound=Record)

#: Words about ground and gold that name no place; a free text is kept only if it is
#: made of these.
PLAIN_WORDS = frozenset(
    {
        *(
            "gravel",
            "sand",
            "sandy",
            "silt",
            "silty",
            "clay",
            "clayey",
            "ash",
            "caliche",
        ),
        *(
            "hardpan",
            "tuff",
            "marl",
            "loam",
            "soil",
            "topsoil",
            "muck",
            "peat",
            "loess",
        ),
        *("humus", "sod", "ice", "bedrock", "rock", "false", "cemented", "tight"),
        *(
            "conglomerate",
            "boulder",
            "boulders",
            "cobbles",
            "pebbles",
            "coarse",
            "fine",
        ),
        *("loose", "water", "limit", "angular", "subangular", "rounded", "subrounded"),
        *("round", "well", "very", "flat", "rusty", "red", "brown", "black", "gray"),
        *("white", "yellow", "blue", "green", "quartz", "iron", "none", "yes", "no"),
        *("pan", "rocker", "sluice", "bucket", "and", "or", "with"),
    }
)
#: Free texts that are kept where they are plain; all others are left out.
_PLAIN_TEXTS = frozenset(
    {
        *("material", "base", "stain", "clast_shape", "stopped_by", "method"),
        *("roundness", "rim", "attached", "veinlets"),
    }
)
#: Texts of closed lists, and keys that are renamed beforehand.
_KEPT_TEXTS = frozenset(
    {
        *("dig", "line", "sample", "weighing", "cleanup", "duplicate_of", "size_class"),
        *("kind", "fabric", "surface", "packing", "matrix", "wet", "worked"),
        *("taken", "state", "set_down_by"),
    }
)
#: Numbers that would give the turn away: they count from true north.
_BEARINGS = frozenset({"bearing_deg", "strike_deg"})


@dataclass(frozen=True)
class _Names:
    """New names for old ones, in the order of the record."""

    digs: Mapping[str, str]
    lines: Mapping[str, str]
    samples: Mapping[str, str]

    def knows(self, record: Record) -> bool:
        """Tell whether what a record hangs on is in the log at all."""
        dig, sample = getattr(record, "dig", None), getattr(record, "sample", None)
        known_dig = isinstance(record, Rock) or dig is None or dig in self.digs
        return known_dig and (sample is None or sample in self.samples)

    def renamed(self, record: AnyRecord) -> AnyRecord:
        """Return a record under its new names."""
        changes: dict[str, Any] = {}
        for name, new in (
            ("dig", self.digs),
            ("line", self.lines),
            ("sample", self.samples),
            ("duplicate_of", self.samples),
        ):
            old = getattr(record, name, None)
            if old is not None:
                changes[name] = new.get(old)
        return replace(record, **changes)


def blur_log(log: Log, turn_deg: float | None = None) -> Log:
    """Return the record without where and who.

    Parameters
    ----------
    log : Log
        The true record; it is left as it is.
    turn_deg : float, optional
        By how much the digs are turned [deg]; drawn at random and forgotten where it
        is not given.

    Returns
    -------
    Log
        Digs in meters of a corner of their own, under new names; no coordinate
        system, dates, people, notes, drawings, waypoints, files or money.
    """
    if turn_deg is None:
        turn_deg = secrets.SystemRandom().uniform(0.0, 360.0)
    names = _Names(
        digs=_numbered("D", (dig.dig for dig in log.digs)),
        lines=_numbered("L", (dig.line for dig in log.digs if dig.line is not None)),
        samples=_numbered("S", (sample.sample for sample in log.samples)),
    )
    moved_digs, moved_rocks = _moved(log, turn_deg)
    parts: dict[str, tuple[Any, ...]] = {
        "digs": moved_digs,
        "layers": log.layers,
        "samples": log.samples,
        "tallies": log.tallies,
        "grains": log.grains,
        "rocks": moved_rocks,
        "pantests": log.pantests,
        "buckets": log.buckets,
    }
    blurred = {
        part: tuple(
            _bare(names.renamed(record)) for record in records if names.knows(record)
        )
        for part, records in parts.items()
    }
    return Log(
        ground=_bare_ground(log.ground),
        **blurred,
        weighings=tuple(
            _bare_weighing(one, number, names)
            for number, one in enumerate(log.weighings, 1)
            if any(sample in names.samples for sample in one.samples)
        ),
        cleanups=tuple(
            _bare(replace(one, cleanup=f"C{number}"))
            for number, one in enumerate(log.cleanups, 1)
        ),
    )


def _numbered(letter: str, names: Iterable[str]) -> dict[str, str]:
    unique = dict.fromkeys(names)
    return {name: f"{letter}{number}" for number, name in enumerate(unique, 1)}


def _bare_ground(ground: Ground) -> Ground:
    """Return only what grades need."""
    return Ground(
        pan_volume_m3=ground.pan_volume_m3,
        swell=ground.swell,
        fineness=ground.fineness,
        receiver_error_m=ground.receiver_error_m,
        min_pay_m=ground.min_pay_m,
        hand_depth_limit_m=ground.hand_depth_limit_m,
    )


def _bare_weighing(one: Weighing, number: int, names: _Names) -> Weighing:
    samples = tuple(names.samples.get(sample, "") for sample in one.samples)
    kept = tuple(filter(None, samples))
    return _bare(replace(one, weighing=f"W{number}", samples=kept))


def _bare(record: AnyRecord) -> AnyRecord:
    """Return a record without free texts, dates, people and bearings."""
    changes: dict[str, Any] = {"typed": {}, "extra": {}}
    for one in fields(record):
        value = getattr(record, one.name)
        if one.name in _BEARINGS or (
            isinstance(value, str) and not _may_stay(one.name, value)
        ):
            changes[one.name] = None
    return replace(record, **changes)


def _may_stay(name: str, text: str) -> bool:
    if name in _KEPT_TEXTS:
        return True
    words = text.lower().replace(",", " ").replace("-", " ").split()
    return name in _PLAIN_TEXTS and all(
        word in PLAIN_WORDS or word.replace(".", "", 1).isdigit() for word in words
    )


def _moved(log: Log, turn_deg: float) -> tuple[tuple[Dig, ...], tuple[Rock, ...]]:
    """Return digs and rocks turned, in a corner of their own, heights from zero."""
    records: list[Any] = [*log.digs, *log.rocks]
    places = np.array(
        [
            (
                np.nan if record.easting_m is None else record.easting_m,
                np.nan if record.northing_m is None else record.northing_m,
            )
            for record in records
        ]
    ).reshape(-1, 2)
    turned = _turned(places, turn_deg)
    heights = [dig.elevation_m for dig in log.digs if dig.elevation_m is not None]
    lowest_m = min(heights, default=0.0)
    moved: list[Any] = []
    for record, (east, north) in zip(records, turned.tolist(), strict=True):
        known = np.isfinite(east) and np.isfinite(north)
        changes: dict[str, Any] = {
            "easting_m": round(east, 2) if known else None,
            "northing_m": round(north, 2) if known else None,
        }
        if isinstance(record, Dig):
            changes |= {"peg": None, "toward": None, "along_m": None, "across_m": None}
            if record.elevation_m is not None:
                changes["elevation_m"] = round(record.elevation_m - lowest_m, 2)
        moved.append(replace(record, **changes))
    return tuple(moved[: len(log.digs)]), tuple(moved[len(log.digs) :])


def _turned(places: Any, turn_deg: float) -> Any:
    """Return places turned about their middle and laid into a corner at zero."""
    known = places[np.isfinite(places).all(axis=1)]
    if len(known) == 0:
        return places
    turn = np.deg2rad(turn_deg)
    matrix = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    turned = (places - known.mean(axis=0)) @ matrix.T
    return turned - np.nanmin(turned, axis=0)
