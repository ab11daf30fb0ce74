"""What every answer carries, and how it is printed as JSON.

An answer is a frozen dataclass whose fields have the names of the JSON keys, in the
unit that the name carries. Fields that only pictures need are marked `for_pictures`
and stay out of the JSON.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from typing import Any

import numpy as np


def for_pictures(**options: Any) -> Any:
    """Return a dataclass field that the JSON leaves out."""
    return field(metadata={"json": False}, **options)


@dataclass(frozen=True, slots=True, kw_only=True)
class BookName:
    """Which book an answer was made from; never its path."""

    name: str
    id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What every answer carries.

    Attributes
    ----------
    book : BookName
        Name and identity of the book.
    made_at : str
        When, ISO 8601.
    version : str
        Of the program.
    seed : int
        Of the random draws.
    cautions : tuple of str
        What the reader must know before acting on it.
    assumptions : mapping
        Every value that the program supplied because the record did not.
    """

    book: BookName
    made_at: str
    version: str
    seed: int
    cautions: tuple[str, ...] = ()
    assumptions: Mapping[str, Any] = field(default_factory=dict)


def to_json(value: Any) -> Any:
    """Return an answer, or a part of one, as plain JSON values.

    Numbers that cannot be told (nan) become null, never 0. A part may say itself how
    it is printed, by a method `as_json`.
    """
    if hasattr(value, "as_json"):
        return to_json(value.as_json())
    if is_dataclass(value) and not isinstance(value, type):
        shown = (one for one in fields(value) if one.metadata.get("json", True))
        return {
            one.name.rstrip("_"): to_json(getattr(value, one.name)) for one in shown
        }
    if isinstance(value, Mapping):
        return {str(key): to_json(one) for key, one in value.items()}
    if isinstance(value, (np.ndarray, np.generic)):
        return to_json(value.tolist())
    if isinstance(value, (list, tuple)):
        return [to_json(one) for one in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
