"""The lines of a ground as pictures of the whole valley show them."""

from __future__ import annotations

from pennyweight.answers.ground import GroundAnswer, LineOfDigs, PlacedDig

LineWithDigs = tuple[LineOfDigs, tuple[PlacedDig, ...]]


def whole_lines(ground: GroundAnswer) -> list[LineWithDigs]:
    """Return the lines with their placed digs, in order downstream.

    A single dig beside the lines (a bench, a side creek) says little of the valley:
    it is left out where there are lines of two digs or more.
    """
    placed = {one.dig: one for one in ground.digs if one.n_m is not None}
    found = [
        (line, tuple(placed[dig] for dig in line.digs if dig in placed))
        for line in ground.lines
    ]
    whole = [one for one in found if len(one[1]) > 1] or [
        one for one in found if one[1]
    ]
    return sorted(whole, key=lambda one: one[0].s_m)


def count_left_out(ground: GroundAnswer) -> int:
    """Return how many placed digs `whole_lines` leaves out."""
    shown = {dig.dig for _, digs in whole_lines(ground) for dig in digs}
    return sum(one.n_m is not None and one.dig not in shown for one in ground.digs)
