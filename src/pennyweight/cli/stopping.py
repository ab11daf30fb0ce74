"""Ctrl-C: told once, remembered, so that no import or library can swallow it."""

from __future__ import annotations

import signal
from types import FrameType

from pennyweight.progress import Cancelled


class Stop:
    """Whether the user has asked this process to stop."""

    asked = False


def listen() -> None:
    """Remember every Ctrl-C, and raise KeyboardInterrupt as usual."""
    Stop.asked = False
    signal.signal(signal.SIGINT, _interrupt)


def _interrupt(number: int, frame: FrameType | None) -> None:
    Stop.asked = True
    signal.default_int_handler(number, frame)


def stop_if_asked() -> None:
    """End a computation whose interrupt was swallowed on its way.

    Raises
    ------
    Cancelled
        The user has pressed Ctrl-C.
    """
    if Stop.asked:
        raise Cancelled
