"""Long answers, worked out beside the page: how far they are, and how to stop them."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Hashable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from threading import Event
from typing import Any

from pennyweight.progress import Cancelled, Progress

_numbers = itertools.count(1)


@dataclass
class Task:
    """One computation that is waiting, running, or over.

    Attributes
    ----------
    what : hashable
        What is being worked out.
    make : callable
        The computation; it is handed a progress to report to.
    number : int
        Its name on the page.
    share_done : float
        Between 0 and 1 [-].
    doing : str
        What is being done right now, in plain words.
    """

    what: Hashable
    make: Callable[[Progress], Any]
    number: int = field(default_factory=lambda: next(_numbers))
    share_done: float = 0.0
    doing: str = "waiting for its turn"
    result: Any = None
    error: Exception | None = None
    _over: Event = field(default_factory=Event, repr=False)
    _stop: Event = field(default_factory=Event, repr=False)

    @property
    def over(self) -> bool:
        """Whether nothing more will happen."""
        return self._over.is_set()

    @property
    def cancelled(self) -> bool:
        """Whether the user stopped it."""
        return isinstance(self.error, Cancelled)

    def report(self, share_done: float, doing: str) -> None:
        """Take note of the progress; raise `Cancelled` when the user said stop."""
        if self._stop.is_set():
            raise Cancelled
        self.share_done, self.doing = min(max(share_done, 0.0), 1.0), doing

    def cancel(self) -> None:
        """Ask the computation to stop at its next report."""
        self._stop.set()

    def run(self) -> None:
        """Do the work, and keep what came of it: a result or an error."""
        try:
            self.report(0.0, "beginning")
            self.result = self.make(self.report)
        except Exception as error:
            self.error = error
        finally:
            self._over.set()

    def wait(self, patience_s: float) -> bool:
        """Wait a little; tell whether it is over."""
        return self._over.wait(patience_s)


class StillWorking(Exception):  # noqa: N818 - a state of the answer, not an error
    """An answer is not there yet; carries the task that makes it."""

    def __init__(self, task: Task) -> None:
        self.task = task
        super().__init__(f"task {task.number} is still {task.doing}")


class Bench:
    """One worker for one book: tasks one after the other, results kept by name."""

    def __init__(self) -> None:
        self._worker = ThreadPoolExecutor(max_workers=1, thread_name_prefix="answers")
        self._tasks: dict[Hashable, Task] = {}

    def ask(
        self, what: Hashable, make: Callable[[Progress], Any], patience_s: float
    ) -> Any:
        """Return what a task makes, or raise its error, or `StillWorking`.

        An error is raised once; asked for again, the task is started anew, and so is
        one that was stopped.
        """
        task = self._tasks.get(what)
        if task is None or task.cancelled:
            task = Task(what, make)
            self._tasks[what] = task
            self._worker.submit(task.run)
        if not task.wait(patience_s):
            raise StillWorking(task)
        if task.error is not None:
            del self._tasks[what]
            raise task.error
        return task.result

    def known(self, what: Hashable) -> Any:
        """Return what a finished task made, or None."""
        task = self._tasks.get(what)
        return task.result if task is not None and task.over else None

    def find(self, number: int) -> Task | None:
        """Return a task by its number."""
        return next((t for t in self._tasks.values() if t.number == number), None)

    def clear(self) -> None:
        """Stop what is running and forget all results."""
        for task in self._tasks.values():
            task.cancel()
        self._tasks = {}

    def close(self) -> None:
        """Stop everything and let the worker go."""
        self.clear()
        self._worker.shutdown(wait=True, cancel_futures=True)
