"""One value that the program supplies, in words."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Assumption:
    """The words for one key.

    Attributes
    ----------
    label : str
        What it is, as a person says it.
    unit : str
        Shown after the number; empty for a share or a word.
    source : str
        Where the default comes from.
    remedy : str
        How the user replaces it with a value of their own.
    """

    label: str
    unit: str
    source: str
    remedy: str
