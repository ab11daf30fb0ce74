"""Progress of parts that run at the same time."""

import pytest

from pennyweight.progress import Cancelled, beside


def test_the_whole_is_as_far_as_its_parts_on_average() -> None:
    told: list[float] = []
    first, second = beside(lambda share, _: told.append(share), 2)
    first(0.5, "a")
    second(1.0, "b")
    assert told == [0.25, 0.75]


def test_one_part_stopped_stops_the_others() -> None:
    def stop(share: float, doing: str) -> None:
        raise Cancelled

    first, second = beside(stop, 2)
    with pytest.raises(Cancelled):
        first(0.1, "a")
    with pytest.raises(Cancelled):
        second(0.1, "b")
