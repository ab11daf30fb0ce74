"""Colors of each sample by size class: what was counted, and what was looked for.

Nothing, zero and unknown are three things: a sample without a tally is not in the
result; a class that was looked at holds its count, 0 included; a class that was not
looked at is absent, unless the sample was counted as a whole.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pennyweight.records import Tally
from pennyweight.sampling.classes import UNSIZED


@dataclass(frozen=True, slots=True)
class Colors:
    """The colors of one sample.

    Attributes
    ----------
    by_class : mapping
        Class to colors counted [-]; `all` holds those that were not sized.
    class_mg : mapping
        Class to its weight, where the class was weighed [mg].
    whole : bool
        Whether every class was looked at.
    """

    by_class: Mapping[str, int]
    class_mg: Mapping[str, float]
    whole: bool

    @property
    def total(self) -> int:
        """All colors counted [-]."""
        return sum(self.by_class.values())


def count_colors(tallies: Iterable[Tally]) -> dict[str, Colors]:
    """Return the colors of each sample that has a tally.

    A tally of class `all` beside sized ones counts the sample as a whole: what it
    has more than they have was not sized.

    Parameters
    ----------
    tallies : iterable of Tally
        One a sample and class.

    Returns
    -------
    dict
        Sample name to `Colors`.

    Raises
    ------
    ValueError
        A count is below 0.

    Examples
    --------
    Ten colors in all, of which three were sized:

    >>> sized = Tally(sample="1", size_class="0.5-1", colors=3)
    >>> whole = Tally(sample="1", size_class="all", colors=10)
    >>> dict(count_colors([sized, whole])["1"].by_class)
    {'0.5-1': 3, 'all': 7}
    """
    rows: dict[str, list[Tally]] = {}
    for tally in tallies:
        if tally.colors < 0:
            msg = (
                f"sample {tally.sample} class {tally.size_class} has {tally.colors} "
                "colors; a count is 0 or more."
            )
            raise ValueError(msg)
        rows.setdefault(tally.sample, []).append(tally)
    return {sample: _colors_of(found) for sample, found in rows.items()}


def _colors_of(rows: list[Tally]) -> Colors:
    """Return the colors of one sample."""
    sized = {row.size_class: row.colors for row in rows if row.size_class != UNSIZED}
    counted = [row.colors for row in rows if row.size_class == UNSIZED]
    weights = {row.size_class: row.mg for row in rows if row.mg is not None}
    if not counted:
        return Colors(sized, weights, whole=False)
    rest = max(counted[0] - sum(sized.values()), 0)
    by_class = {**sized, UNSIZED: rest} if rest or not sized else sized
    if sized and rest < counted[0]:
        # The weight of `all` is then that of the whole sample, not of the rest.
        weights.pop(UNSIZED, None)
    return Colors(by_class, weights, whole=True)
