"""What would change the streaks most: a link that hangs, an error that all share."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from pennyweight.answers.frame import Frame
from pennyweight.answers.streaktold import map_of
from pennyweight.answers.traceparts import Hinge, Link, Streak

FloatArray = npt.NDArray[np.float64]

#: A link surer than this, one way or the other, hangs on nothing [-].
SURE_LINK = 0.95
#: An error that all gold shares is told where it makes this share of its variance [-].
MUCH_SHARED = 0.5


def find_hinges(
    streaks: Sequence[Streak],
    gold_g: FloatArray | None,
    common_log: FloatArray | None,
    *,
    frame: Frame,
) -> tuple[Hinge, ...]:
    """Return the link that most gold hangs on, and the assumption, if they are open."""
    found = [*_hanging_link(streaks, frame), *_shared_error(gold_g, common_log)]
    return tuple(found)


def _hanging_link(streaks: Sequence[Streak], frame: Frame) -> list[Hinge]:
    """Return the link with most gold times doubt, and where a trench would tell."""
    open_links = [
        (link.probability * (1.0 - link.probability) * streak.gold_g.mean, streak, link)
        for streak in streaks
        for link in streak.links
        if 1.0 - SURE_LINK < link.probability < SURE_LINK
    ]
    if not open_links:
        return []
    _, streak, link = max(open_links, key=lambda one: one[0])
    s_m, n_m = _middle_of(streak, link)
    east, north = map_of(frame, [s_m], [n_m])[0]
    return [
        Hinge(
            kind="link",
            what=(
                f"whether streak {streak.id} runs on from line {link.from_line} to "
                f"line {link.to_line}: a trench half-way between them would tell"
            ),
            share=link.probability,
            easting_m=float(east),
            northing_m=float(north),
        )
    ]


def _middle_of(streak: Streak, link: Link) -> tuple[float, float]:
    """Return the place of a streak half-way between two lines."""
    stops = {point.line: point.s_m for point in streak.path if point.line}
    low = stops.get(link.from_line, streak.path[0].s_m)
    high = stops.get(link.to_line, streak.path[-1].s_m)
    s_m = [point.s_m for point in streak.path]
    n_m = [point.n_m for point in streak.path]
    middle = (low + high) / 2.0
    return middle, float(np.interp(middle, s_m, n_m))


def _shared_error(
    gold_g: FloatArray | None, common_log: FloatArray | None
) -> list[Hinge]:
    """Return the share of the gold's variance that one factor over all of it makes."""
    if gold_g is None or common_log is None or not np.all(gold_g > 0.0):
        return []
    log_gold = np.log(gold_g)
    if log_gold.std() <= 0.0 or common_log.std() <= 0.0:
        return []
    share = float(np.corrcoef(log_gold, common_log)[0, 1]) ** 2
    if share < MUCH_SHARED:
        return []
    return [
        Hinge(
            kind="shared error",
            what=(
                "how full the pans were, how much the gravel swells, and what the "
                "colors weigh: measuring one bucket, and weighing what was won, would "
                "narrow the gold more than another dig"
            ),
            share=share,
        )
    ]
