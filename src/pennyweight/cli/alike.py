"""Findings that say the same of many places: the first are told, the rest counted."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from pennyweight.errors import Finding

#: More findings alike than this are told in short, by the first few.
MOST_ALIKE, FIRST_ALIKE = 8, 5

#: What differs between findings of one kind: numbers, and names that hold one.
_NUMBERED = re.compile(r"\S*\d\S*")


def pick_few(findings: Sequence[Finding]) -> list[tuple[Finding, int]]:
    """Return the findings to tell, each with how many like it are left out after it.

    Parameters
    ----------
    findings : sequence of Finding
        In their order, which is kept.
    """
    kinds = [(one.weight, _NUMBERED.sub("#", one.problem)) for one in findings]
    counts, seen = Counter(kinds), Counter[tuple[str, str]]()
    picked = []
    for finding, kind in zip(findings, kinds, strict=True):
        seen[kind] += 1
        if counts[kind] <= MOST_ALIKE or seen[kind] < FIRST_ALIKE:
            picked.append((finding, 0))
        elif seen[kind] == FIRST_ALIKE:
            picked.append((finding, counts[kind] - FIRST_ALIKE))
    return picked


def more_words(count: int) -> str:
    """Return that more were left out."""
    return f"and {count} more like it"


def alike_lines(findings: Sequence[Finding]) -> list[str]:
    """Return findings as lines, those alike in short."""
    lines = []
    for finding, left_out in pick_few(findings):
        lines.append(finding.line())
        if left_out:
            lines.append(more_words(left_out))
    return lines
