"""Classes that a tally does not list: unknown, with the share that others tell."""

from dataclasses import replace

import numpy as np
import pytest

from pennyweight.records import Ground, Log, Sample, Tally
from pennyweight.sampling.evidence import share_classes
from pennyweight.sampling.grade import grade_samples
from pennyweight.spread import Spread

#: Colors of 0.25-0.5, 0.5-1 and 1-2 mm in single pans.
PANS = ((2, 0, 0), (4, 1, 0), (15, 6, 1), (5, 1, 0), (18, 9, 2), (11, 3, 0))
CLASSES = ("0.25-0.5", "0.5-1", "1-2")


def ground(bare: frozenset[int] = frozenset()) -> Log:
    """Return the pans; those in `bare` list only what was seen, with no total."""
    tallies = []
    for k, numbers in enumerate(PANS):
        tallies += [
            Tally(sample=f"P{k}", size_class=name, colors=n)
            for name, n in zip(CLASSES, numbers, strict=True)
            if n
        ]
        if k not in bare:
            tallies.append(Tally(sample=f"P{k}", size_class="all", colors=sum(numbers)))
    return Log(
        ground=Ground(pan_volume_m3=0.006, swell=0.2),
        samples=tuple(
            Sample(sample=f"P{k}", dig=f"D{k}", pans=1.0) for k in range(len(PANS))
        ),
        tallies=tuple(tallies),
    )


def first_mg_m3(log: Log) -> Spread:
    """Return the grade of the first pan."""
    grade = grade_samples(log).samples[0].grade_mg_m3
    assert grade is not None
    return grade


def test_shares_by_hand() -> None:
    """Fully looked at, shares are those of the counts."""
    found = share_classes([[6, 2], [3, 1]], np.ones((2, 2), dtype=bool))
    assert found == pytest.approx([0.75, 0.25])


def test_a_rare_class_written_down_only_where_found_is_not_overstated() -> None:
    """A rate by volume looked at would give 3 for 30: here one in eleven."""
    colors = [[30, 3], [5, 0], [5, 0], [5, 0]]
    looked = [[True, True], [True, False], [True, False], [True, False]]
    assert share_classes(colors, looked)[1] == pytest.approx(1.0 / 11.0, rel=1e-6)


def test_no_color_has_no_shares() -> None:
    assert share_classes([[0, 0]], [[True, True]]).tolist() == [0.0, 0.0]


def test_listing_only_what_was_seen_does_not_double_a_grade() -> None:
    listed, bare = first_mg_m3(ground()), first_mg_m3(ground(frozenset({0})))
    assert 1.0 < bare.p50 / listed.p50 < 2.0


def test_the_sample_says_what_the_unlisted_classes_make() -> None:
    why = grade_samples(ground(frozenset({0}))).samples[0].why
    assert "Not looked at: 0.5-1, 1-2" in why
    assert "% of its grade" in why


def test_zeros_written_down_are_as_good_as_a_total() -> None:
    log = ground(frozenset({0}))
    zeros = tuple(Tally(sample="P0", size_class=name, colors=0) for name in CLASSES[1:])
    told = first_mg_m3(replace(log, tallies=log.tallies + zeros))
    assert told.p50 == pytest.approx(first_mg_m3(ground()).p50, rel=0.02)
