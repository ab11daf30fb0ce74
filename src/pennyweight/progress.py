"""Telling how far a long computation is, and stopping it when the user says so."""

from __future__ import annotations

from collections.abc import Callable
from threading import Lock


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


def beside(progress: Progress, n_parts: int) -> list[Progress]:
    """Return a progress for each of several parts that run at the same time.

    The whole has come as far as the parts have on average. Once the user has stopped
    one of them, the others stop where they next tell how far they are.

    Parameters
    ----------
    progress : Progress
        The whole; it is never called from two parts at once.
    n_parts : int
        Number of parts [-].

    Returns
    -------
    list of Progress
        One a part, each to be called from any thread.
    """
    done = [0.0] * n_parts
    stopped: list[Cancelled] = []
    lock = Lock()

    def telling(part: int) -> Progress:
        def tell(share_done: float, doing: str) -> None:
            with lock:
                if stopped:
                    raise stopped[0]
                done[part] = share_done
                try:
                    progress(sum(done) / n_parts, doing)
                except Cancelled as wish:
                    stopped.append(wish)
                    raise

        return tell

    return [telling(part) for part in range(n_parts)]
