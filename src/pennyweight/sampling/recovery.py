"""How much of the gold a panner finds, by size: from counted grains put in and found.

Each class has a beta distribution. It starts from a named default and learns from
the user's own tests with known grains.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from pennyweight.records import PanTest
from pennyweight.sampling.classes import UNSIZED, SizeClass, overlap_share, parse_class

#: Default share of colors found, by the size that a grain reaches at least [mm].
#: Common practice, no source; docs/sources.md "panning recovery".
RECOVERY_FROM_MM = ((0.5, 0.97), (0.25, 0.93), (0.1, 0.80), (0.0, 0.50))
#: The same for weight classes and for colors that were not sized [-].
RECOVERY_OF_WEIGHT = {"No.1": 0.98, "No.2": 0.97, "No.3": 0.88}
RECOVERY_UNSIZED = 0.90

#: The default weighs as much as a test with this many grains [-]; ours.
PRIOR_GRAINS = 12.0


@dataclass(frozen=True, slots=True)
class Recovery:
    """Share of the colors of one class in place that washing finds.

    Attributes
    ----------
    found_weight, lost_weight : float
        Parameters of the beta distribution [-].
    tested : float
        Grains put in that speak for this class [-]; 0 for the default.
    """

    found_weight: float
    lost_weight: float
    tested: float

    @property
    def mean(self) -> float:
        """Expected share found [-]."""
        return self.found_weight / (self.found_weight + self.lost_weight)

    @property
    def rel_sd(self) -> float:
        """Standard deviation over the mean [-]."""
        total = self.found_weight + self.lost_weight
        variance = self.found_weight * self.lost_weight / total**2 / (total + 1.0)
        return math.sqrt(variance) / self.mean


def default_recovery(size_class: SizeClass) -> float:
    """Return the share found that is assumed where no test was made.

    Parameters
    ----------
    size_class : SizeClass
        Any class.

    Returns
    -------
    float
        Share found, 0 to 1 [-].
    """
    if size_class.kind == "weight":
        return RECOVERY_OF_WEIGHT[size_class.name]
    if size_class.kind == "all":
        return RECOVERY_UNSIZED
    middle = math.sqrt(size_class.low * size_class.high)
    return next(share for from_mm, share in RECOVERY_FROM_MM if middle >= from_mm)


def recovery_of(name: str, tests: Iterable[PanTest]) -> Recovery:
    """Return the recovery of one class, learnt from the tests that touch it.

    A test with grains of another class speaks for this one with the share of it that
    it covers; all tests together speak for unsized colors, and a test with unsized
    grains speaks for every class.

    Parameters
    ----------
    name : str
        The class, as a tally names it.
    tests : iterable of PanTest
        Grains put in and found.

    Returns
    -------
    Recovery
        Beta posterior.

    Raises
    ------
    ValueError
        A test found more grains than were put in.

    Notes
    -----
    Beta prior times binomial likelihood: found + a, lost + b, with a + b =
    `PRIOR_GRAINS` and a / (a + b) the default.

    Examples
    --------
    Nine of ten unsized grains found, on top of a default of 0.90:

    >>> test = PanTest(number=1, size_class="all", put_in=10, found=9)
    >>> round(recovery_of("all", [test]).mean, 3)
    0.9
    """
    size_class = parse_class(name)
    default = default_recovery(size_class)
    found, lost = default * PRIOR_GRAINS, (1.0 - default) * PRIOR_GRAINS
    tested = 0.0
    for test in tests:
        if not 0 <= test.found <= test.put_in:
            msg = (
                f"pan test {test.number} found {test.found} of {test.put_in} grains; "
                "it can find between none and all of them. Correct the count."
            )
            raise ValueError(msg)
        share = _bearing(parse_class(test.size_class), size_class)
        found += share * test.found
        lost += share * (test.put_in - test.found)
        tested += share * test.put_in
    return Recovery(found, lost, tested)


def _bearing(test: SizeClass, size_class: SizeClass) -> float:
    """Return how much a test in one class tells about another [-]."""
    if UNSIZED in {test.name, size_class.name}:
        return 1.0
    return overlap_share(test, size_class)


def learn_recoveries(
    names: Sequence[str], tests: Sequence[PanTest]
) -> dict[str, Recovery]:
    """Return the recovery of each class of a ground.

    Parameters
    ----------
    names : sequence of str
        Classes, as tallies name them.
    tests : sequence of PanTest
        All tests of the ground, whoever made them.

    Returns
    -------
    dict
        Class name to `Recovery`.
    """
    return {name: recovery_of(name, tests) for name in names}
