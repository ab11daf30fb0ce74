"""Telling how far a long computation is, and stopping it when the user says so."""

from __future__ import annotations

from collections.abc import Callable


class Cancelled(Exception):  # noqa: N818 - a wish of the user, not an error
    """The user stopped the computation; nothing was changed."""


#: Called with the share done (0 to 1) and what is being done. It may raise
#: `Cancelled`, which the computation lets through.
Progress = Callable[[float, str], None]


def quiet(share_done: float, doing: str) -> None:
    """Ignore the progress."""


def within(progress: Progress, first: float, last: float) -> Progress:
    """Return a progress that fills only a part of another one.

    Parameters
    ----------
    progress : Progress
        The whole.
    first, last : float
        The share of the whole at the start and at the end of the part [-].

    Returns
    -------
    Progress
        To be called with the share of the part.
    """

    def partly(share_done: float, doing: str) -> None:
        progress(first + (last - first) * share_done, doing)

    return partly
