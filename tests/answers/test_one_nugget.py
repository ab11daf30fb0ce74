"""One nugget among twelve pans: shown, kept apart, and no reason to mine.

A first season as a newcomer writes it down: two lines, five holes, one pan a layer.
The ground is invented.
"""

from dataclasses import replace

import numpy as np
import pytest

from pennyweight.answers.answer import BookName, to_json
from pennyweight.answers.assumptions import find_assumption
from pennyweight.answers.grade import GradeAnswer, grade_ground
from pennyweight.answers.influence import (
    Without,
    all_poor,
    draw_nuggets,
    heavy_tail,
    read_without,
    strongest_sample,
    warn_of_few,
)
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import TraceAnswer, trace_streaks
from pennyweight.answers.worth import weigh_worth
from pennyweight.answers.worthsaid import Case, decide
from pennyweight.records import Dig, Ground, Layer, Log, Sample, Tally
from pennyweight.worth.stones import Stones
from pennyweight.worth.terms import read_terms

FOOT_M = 0.3048
#: Dig, line, place [m], depth [ft], what stopped it.
DIGS = (
    ("A1", "A", (0.0, 0.0), 4.17, "bedrock"),
    ("A2", "A", (12.0, 16.7), 3.67, "water"),
    ("A3", "A", (24.0, 33.4), 5.0, "bedrock"),
    ("B1", "B", (-64.0, 55.5), 3.75, "bedrock"),
    ("B2", "B", (-50.4, 72.1), 4.5, "bedrock"),
)
#: Dig, top and bottom [ft], base, colors of 0.25-0.5, 0.5-1 and 1-2 mm.
PANS = (
    ("A1", 0.0, 2.0, None, (2, 0, 0)),
    ("A1", 2.0, 3.5, None, (4, 1, 0)),
    ("A1", 3.5, 4.17, "bedrock", (15, 6, 1)),
    ("A2", 0.0, 1.83, None, (0, 0, 0)),
    ("A2", 1.83, 3.67, None, (5, 1, 0)),
    ("A3", 0.0, 2.5, None, (1, 0, 0)),
    ("A3", 2.5, 4.25, None, (3, 1, 0)),
    ("A3", 4.25, 5.0, "bedrock", (5, 2, 0)),
    ("B1", 0.0, 2.5, None, (4, 0, 0)),
    ("B1", 2.5, 3.75, "bedrock", (18, 9, 2)),
    ("B2", 0.0, 3.0, None, (2, 0, 0)),
    ("B2", 3.0, 4.5, "bedrock", (11, 3, 0)),
)
RICH = "S9"


def season(nugget_mg: float | None, price_per_g: float = 100.0) -> Reading:
    """Return the newcomer's season; the pan S9 may hold a nugget."""
    layers, samples, tallies = [], [], []
    for k, (dig, top, bottom, base, numbers) in enumerate(PANS):
        top_m, bottom_m = top * FOOT_M, bottom * FOOT_M
        layers.append(
            Layer(dig=dig, material="gravel", base=base, top_m=top_m, bottom_m=bottom_m)
        )
        samples.append(
            Sample(sample=f"S{k}", dig=dig, pans=1.0, top_m=top_m, bottom_m=bottom_m)
        )
        seen = dict(zip(("0.25-0.5", "0.5-1", "1-2"), numbers, strict=True))
        if f"S{k}" == RICH and nugget_mg is not None:
            seen[">2"] = 1
        for name, number in {**seen, "all": sum(seen.values())}.items():
            mg = nugget_mg if name == ">2" else None
            tallies.append(Tally(sample=f"S{k}", size_class=name, colors=number, mg=mg))
    log = Log(
        ground=Ground(
            crs="EPSG:32611",
            gold_price_per_g=price_per_g,
            currency="USD",
            costs={"wash_per_m3": 12.0, "strip_per_m3": 4.0, "fixed": 10_000.0},
            plant={
                "m3_per_hour": 0.5,
                "recovery": 0.85,
                "hours_per_day": 6,
                "days": 99,
            },
        ),
        digs=tuple(
            Dig(
                dig=name,
                line=line,
                easting_m=500_000.0 + x,
                northing_m=4_880_000.0 + y,
                bottom_m=depth * FOOT_M,
                stopped_by=stopped,
            )
            for name, line, (x, y), depth, stopped in DIGS
        ),
        layers=tuple(layers),
        samples=tuple(samples),
        tallies=tuple(tallies),
    )
    book = BookName(name="invented", id="n1")
    return Reading(book=book, revision="1", log=log, made_at="")


@pytest.fixture(scope="module")
def with_it() -> Reading:
    return season(400.0)


@pytest.fixture(scope="module")
def without_it() -> Reading:
    return season(None)


def grades(answer: GradeAnswer) -> dict[str, float]:
    """Return the median grade of every sample [mg/m3]."""
    return {
        one.sample: one.grade_mg_m3.p50 for one in answer.samples if one.grade_mg_m3
    }


def test_every_other_pan_reads_the_same(with_it: Reading, without_it: Reading) -> None:
    told, plain = grades(grade_ground(with_it)), grades(grade_ground(without_it))
    raised = told.pop(RICH), plain.pop(RICH)
    assert told == pytest.approx(plain)
    assert raised[0] > raised[1]


def test_the_best_intervals_lie_where_they_did(
    with_it: Reading, without_it: Reading
) -> None:
    told, plain = (
        [(dig.pay_top_m, dig.pay_bottom_m) for dig in grade_ground(one).digs]
        for one in (with_it, without_it)
    )
    assert told == plain


def test_streaks_are_those_without_it(with_it: Reading, without_it: Reading) -> None:
    fields = [trace_streaks(one).fields for one in (with_it, without_it)]
    for told, plain in zip(*fields, strict=True):
        assert np.array_equal(told.accumulation_mg_m2, plain.accumulation_mg_m2)


def test_the_total_is_ordinary_gold_and_nuggets(
    with_it: Reading, without_it: Reading
) -> None:
    """Draw by draw the nuggets' gold is what the total has more."""
    told, plain = trace_streaks(with_it), trace_streaks(without_it)
    assert told.gold_draws_g is not None
    assert plain.gold_draws_g is not None
    assert told.total.nugget_gold_g is not None
    more = told.gold_draws_g - plain.gold_draws_g
    assert more.min() > 0.0
    assert more.mean() == pytest.approx(told.total.nugget_gold_g.mean)


def test_no_draw_holds_what_no_sample_speaks_for(with_it: Reading) -> None:
    """The mean grade of the stretch, draws and all, stays below the richest dig's."""
    answer = trace_streaks(with_it)
    total, gravel = answer.total.gold_g, answer.total.gravel_m3
    assert total is not None
    assert gravel is not None
    best = max(
        one.grade_mg_m3.p90 for one in grade_ground(with_it).digs if one.grade_mg_m3
    )
    assert 1000.0 * total.mean / gravel.mean < best
    assert total.mean < 2.0 * total.p50


def said(answer: TraceAnswer) -> str:
    """Return all cautions in one."""
    return " ".join(answer.cautions)


def test_the_trace_warns_of_nugget_and_sample(with_it: Reading) -> None:
    cautions = said(trace_streaks(with_it))
    assert "One nugget in S9 makes" in cautions
    assert "Sample S9 alone makes" in cautions


def test_a_ground_without_nuggets_has_none_to_tell(without_it: Reading) -> None:
    assert draw_nuggets(without_it, 10) is None
    assert trace_streaks(without_it).total.nugget_gold_g is None


def test_one_grain_is_never_worth_mining(with_it: Reading) -> None:
    answer = weigh_worth(with_it)
    assert not answer.verdict.startswith(("Worth mining", "Probably worth"))
    assert "One nugget in S9 makes" in answer.verdict
    assert "without it" in answer.verdict


def test_poor_samples_that_would_pay_ask_for_more() -> None:
    answer = weigh_worth(season(400.0, price_per_g=1000.0))
    assert answer.verdict.startswith("Sample more first")
    assert {one.what for one in answer.without} == {"one nugget in S9", "sample S9"}
    assert "without" in to_json(answer)


def test_what_is_supposed_of_nuggets_has_its_words(with_it: Reading) -> None:
    assumptions = trace_streaks(with_it).assumptions
    assert find_assumption("nugget_share") is not None
    assert assumptions["nugget_share"] == 0.10


def test_the_strongest_sample_left_out_waits_to_be_washed(with_it: Reading) -> None:
    strongest = strongest_sample(with_it)
    assert strongest is not None
    left = read_without(with_it, strongest.sample).log
    assert strongest.sample == RICH
    assert RICH not in {one.sample for one in left.tallies}
    assert len(left.samples) == len(PANS)


def test_all_poor_needs_a_graded_sample(with_it: Reading) -> None:
    nothing = replace(with_it.log, samples=(), tallies=())
    empty = Reading(book=with_it.book, revision="2", log=nothing, made_at="")
    assert all_poor(with_it)
    assert not all_poor(empty)


def test_a_mean_that_rests_on_one_draw_is_warned_of(without_it: Reading) -> None:
    draws = np.array([1.0] * 99 + [101.0])
    assert heavy_tail(draws) == pytest.approx(0.505)
    assert any(
        "lean on the middle value" in s for s in warn_of_few(without_it, draws, None)
    )


def left_out(margin: float | None, loss: float | None) -> Without:
    """Return what is left without a nugget."""
    return Without(
        sample="B1",
        what="one nugget in B1",
        gold_share=0.7,
        gold_of="the gold in the cut",
        margin_mean=margin,
        chance_of_loss=loss,
        currency="USD",
    )


def case(margin: float, loss: float, left: Without, *, all_poor: bool) -> Case:
    return Case(
        margin=margin,
        loss=loss,
        low=-100.0,
        day=None,
        stones=Stones(largest_m=None, too_big_share=0.0, unmoved_share=0.0, told=0),
        terms=read_terms(Ground(gold_price_per_g=60.0, costs={"wash_per_m3": 5.0})),
        all_poor=all_poor,
        withouts=(left,),
    )


@pytest.mark.parametrize(
    ("left", "word"),
    [
        (left_out(900.0, 0.10), "Worth mining"),
        (left_out(500.0, 0.30), "Probably worth mining"),
        (left_out(100.0, 0.50), "Open: it pays only with one nugget in B1"),
        (left_out(-50.0, 0.20), "Open: it pays only with one nugget in B1"),
        (left_out(None, None), "Open: it pays only with one nugget in B1"),
    ],
)
def test_a_verdict_must_hold_without_the_strongest(left: Without, word: str) -> None:
    text = decide(case(1000.0, 0.05, left, all_poor=False)).verdict
    assert text.startswith(word)
    assert "makes 70" in text


def test_what_loses_is_not_made_better_by_leaving_out() -> None:
    found = decide(case(-10.0, 0.95, left_out(-20.0, 0.99), all_poor=True))
    assert found.verdict.startswith("Leave it")
    assert found.decision == "walk away"
