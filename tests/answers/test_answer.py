"""How an answer becomes JSON, and how a reading shares its work."""

import json
from dataclasses import dataclass

import numpy as np
import pytest

from pennyweight.answers.answer import Answer, BookName, for_pictures, to_json
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import Merge, Total
from pennyweight.progress import Cancelled, within
from pennyweight.records import Log
from pennyweight.spread import Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Depth(Answer):
    """An invented answer."""

    depth_m: Spread | None
    cells: tuple[float, ...]
    picture: object = for_pictures(default=None)


HEADING = {
    "book": BookName(name="Alder", id="b1"),
    "made_at": "2026-11-25T08:00:00+00:00",
    "version": "1",
    "seed": 3,
}


def test_what_only_pictures_need_stays_out_of_the_json() -> None:
    printed = to_json(
        Depth(**HEADING, depth_m=None, cells=(), picture=np.zeros((3, 3)))
    )
    assert "picture" not in printed
    assert printed["depth_m"] is None
    assert printed["book"] == {"name": "Alder", "id": "b1"}


def test_numbers_that_cannot_be_told_become_null_never_zero() -> None:
    answer = Depth(
        **HEADING,
        depth_m=Spread(0.5, 0.9, float("nan"), float("inf")),
        cells=(float("nan"), 0.0),
    )
    printed = json.loads(json.dumps(to_json(answer), allow_nan=False))
    assert printed["depth_m"] == {"p10": 0.5, "p50": 0.9, "p90": None, "mean": None}
    assert printed["cells"] == [None, 0.0]


def test_numpy_numbers_and_arrays_print_as_plain_numbers() -> None:
    assert json.dumps(to_json([np.int64(3), np.float32(0.5), np.arange(2)])) == (
        "[3, 0.5, [0, 1]]"
    )


def test_from_is_printed_without_the_mark_that_python_needs() -> None:
    merge = Merge(
        from_=("A", "B"), into="C", s_m=1.0, easting_m=2.0, northing_m=3.0,
        probability=0.5,
    )  # fmt: skip
    assert to_json(merge)["from"] == ["A", "B"]


def test_a_total_that_cannot_be_told_is_null() -> None:
    nothing = Total(gold_g=None, gravel_m3=None, gold_g_above_cutoff=None, outline=None)
    assert to_json({"total": nothing}) == {"total": None}
    told = Total(
        gold_g=Spread(1.0, 2.0, 3.0, 2.0),
        gravel_m3=None,
        gold_g_above_cutoff=None,
        outline={"type": "Polygon"},
    )
    assert to_json(told)["gold_g"]["p50"] == 2.0


def reading() -> Reading:
    return Reading(book=HEADING["book"], revision="r", log=Log(), made_at="now")


def test_a_reading_works_each_thing_out_once() -> None:
    calls: list[int] = []
    look = reading()
    for _ in range(3):
        assert look.once("grades", lambda: calls.append(1) or "done") == "done"
    assert calls == [1]


def test_a_cancelled_computation_leaves_nothing_behind() -> None:
    look = reading()

    def stopped() -> str:
        raise Cancelled

    with pytest.raises(Cancelled):
        look.once("field", stopped)
    assert look.once("field", lambda: "fitted") == "fitted"


def test_progress_of_a_part_fills_its_share_of_the_whole() -> None:
    told: list[float] = []
    part = within(lambda share, _doing: told.append(share), 0.2, 0.6)
    part(0.0, "a")
    part(0.5, "a")
    part(1.0, "a")
    assert told == pytest.approx([0.2, 0.4, 0.6])
