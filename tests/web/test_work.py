"""Long work runs beside the page, says how far it is, and stops when told to."""

from threading import Event

import pytest

from pennyweight.progress import Cancelled, Progress
from pennyweight.web.work import Bench, StillWorking, Task

LONG_S = 20.0


def test_a_quick_answer_comes_at_once_and_is_kept() -> None:
    bench, calls = Bench(), []

    def make(progress: Progress) -> int:
        calls.append(1)
        return 42

    assert bench.ask("answer", make, LONG_S) == 42
    assert bench.ask("answer", make, LONG_S) == 42
    assert len(calls) == 1
    assert bench.known("answer") == 42
    bench.close()


def test_a_long_answer_tells_how_far_it_is_and_comes_later() -> None:
    bench, go = Bench(), Event()

    def make(progress: Progress) -> str:
        progress(0.4, "tracing")
        go.wait(LONG_S)
        return "there"

    with pytest.raises(StillWorking) as working:
        bench.ask("streaks", make, 0.2)
    task = working.value.task
    assert (task.share_done, task.doing) == (0.4, "tracing")
    assert bench.find(task.number) is task
    go.set()
    assert bench.ask("streaks", make, LONG_S) == "there"
    bench.close()


def test_a_task_stops_at_its_next_report() -> None:
    bench, began, go = Bench(), Event(), Event()

    def make(progress: Progress) -> str:
        began.set()
        go.wait(LONG_S)
        progress(0.5, "half")
        return "never"

    with pytest.raises(StillWorking) as working:
        bench.ask("x", make, 0.01)
    began.wait(LONG_S)
    working.value.task.cancel()
    go.set()
    assert working.value.task.wait(LONG_S)
    assert working.value.task.cancelled
    assert bench.known("x") is None
    bench.close()


def test_a_task_that_was_stopped_is_started_anew() -> None:
    bench = Bench()
    task = Task("x", lambda _: 1)
    task.cancel()
    task.run()
    assert isinstance(task.error, Cancelled)
    assert bench.ask("x", lambda _: 1, LONG_S) == 1
    bench.close()


def test_an_error_is_told_once_and_then_tried_again() -> None:
    bench, results = Bench(), iter([ValueError("first"), 7])

    def make(progress: Progress) -> object:
        one = next(results)
        if isinstance(one, Exception):
            raise one
        return one

    with pytest.raises(ValueError, match="first"):
        bench.ask("x", make, LONG_S)
    assert bench.ask("x", make, LONG_S) == 7
    bench.close()
