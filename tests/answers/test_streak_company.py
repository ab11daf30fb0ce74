"""What stands beside the streaks: names, meetings, the hand method, what is open."""

from dataclasses import replace

import numpy as np
import pytest

from pennyweight.answers.answer import to_json
from pennyweight.answers.handcompared import compare_hand
from pennyweight.answers.reading import Reading
from pennyweight.answers.streakhinges import _shared_error
from pennyweight.answers.streaknames import keep_names, name_streaks
from pennyweight.answers.trace import TraceAnswer, trace_streaks
from pennyweight.answers.traceparts import HandJoin, PathPoint, Streak
from pennyweight.spread import Spread
from tests.answers.test_trace_streaks import line_of_digs, log_of, merging_log, read


def exactly(value: float) -> Spread:
    return Spread(value, value, value, value)


def streak(name: str, n_m: float, s_m: tuple[float, float] = (0.0, 60.0)) -> Streak:
    """Return a streak straight down the valley, east of the map's zero."""
    return Streak(
        id=name,
        probability=0.9,
        horizon="bedrock",
        path=tuple(
            PathPoint(
                s_m=float(at),
                n_m=n_m,
                center_n_m=exactly(n_m),
                easting_m=float(at),
                northing_m=n_m,
                probability=0.9,
                top_m=None,
                thickness_m=None,
                width_m=exactly(2.0),
                grade_mg_m3=exactly(200.0),
            )
            for at in np.arange(s_m[0], s_m[1] + 1.0, 5.0)
        ),
        links=(),
        gold_g=exactly(10.0),
        gravel_m3=exactly(10.0),
    )


def test_a_streak_keeps_its_letter_when_another_grows_richer() -> None:
    former = [streak("A", 0.0), streak("B", 10.0)]
    now = [streak("A", 10.5), streak("B", 0.3)]
    assert keep_names(now, former) == ["B", "A"]


def test_a_new_streak_gets_a_letter_that_none_had() -> None:
    former = [streak("A", 0.0), streak("C", 10.0)]
    now = [streak("A", -12.0), streak("B", 0.3), streak("C", 20.0)]
    assert keep_names(now, former) == ["B", "A", "D"]


def test_a_streak_of_another_horizon_is_another_streak() -> None:
    former = [replace(streak("A", 0.0), horizon="false-1")]
    assert keep_names([streak("A", 0.0)], former) == ["B"]


def test_a_streak_that_parted_leaves_its_letter_to_the_longer_part() -> None:
    former = [streak("A", 0.0, (0.0, 100.0))]
    now = [streak("A", 0.0, (70.0, 100.0)), streak("B", 0.0, (0.0, 65.0))]
    assert keep_names(now, former) == ["B", "A"]


def test_without_a_former_trace_letters_follow_the_gold() -> None:
    assert keep_names([streak("x", 0.0), streak("y", 9.0)], []) == name_streaks(2)


@pytest.fixture(scope="module")
def merging() -> TraceAnswer:
    return trace_streaks(read(merging_log()))


def test_names_stay_through_a_new_reading_and_a_new_cutoff() -> None:
    first: Reading = read(merging_log())
    before = trace_streaks(first)
    log = merging_log()
    # The last line counts many more colors: gold, and so the order, changes.
    changed = replace(
        log,
        tallies=tuple(
            replace(one, colors=3 * (one.colors or 0))
            if one.sample.startswith("L0") and int(one.sample[2:]) > 5
            else one
            for one in log.tallies
        ),
    )
    second: Reading = read(changed, former=first)
    after = trace_streaks(second)
    assert keep_names(after.streaks, before.streaks) == [
        one.id for one in after.streaks
    ]
    lower = trace_streaks(second, 60.0)
    assert keep_names(lower.streaks, after.streaks) == [one.id for one in lower.streaks]


def test_where_two_come_together_is_told_as_a_map(merging: TraceAnswer) -> None:
    (merge,) = merging.merges
    one = next(
        one for one in merging.confluences if set(one.streaks) == set(merge.from_)
    )
    assert one.probability >= merge.probability - 1e-9
    chances = [place.probability for place in one.one_by]
    assert chances == sorted(chances)
    assert chances[-1] <= one.probability
    assert one.s_m.p10 <= merge.s_m + 15.0
    assert one.s_m.p90 >= merge.s_m - 15.0


def test_beyond_the_lines_the_doubt_only_grows(merging: TraceAnswer) -> None:
    richest = max(merging.streaks, key=lambda one: one.probability)
    for toward in ("upstream", "downstream"):
        places = [one for one in richest.beyond if one.toward == toward]
        if len(places) < 3:
            continue
        wide = [one.center_n_m.p90 - one.center_n_m.p10 for one in places]
        assert wide[-1] > wide[0]
        assert places[-1].probability < places[0].probability
    ends = [one.toward for streak_ in merging.streaks for one in streak_.beyond]
    assert {"upstream", "downstream"} <= set(ends)


def test_nothing_is_projected_from_one_line() -> None:
    answer = trace_streaks(read(log_of(line_of_digs("L0", 0.0, {0.0: 40.0}))))
    assert all(one.beyond == () for one in answer.streaks)


def test_a_streak_that_slants_out_of_the_digs_is_a_caution() -> None:
    """5 m aside each line: on the fourth line it is beyond the last dig, at 10 m."""
    lines = [
        line_of_digs(f"L{at}", 15.0 * at, {n_m: 60.0} if n_m < 10.0 else {})
        for at, n_m in enumerate((-2.0, 3.0, 8.0, 13.0, 18.0))
    ]
    answer = trace_streaks(read(log_of(*lines)))
    assert any("leaves the dug strip" in one for one in answer.cautions)
    straight = [line_of_digs(f"L{at}", 15.0 * at, {0.0: 60.0}) for at in range(4)]
    told = trace_streaks(read(log_of(*straight)))
    assert not any("leaves the dug strip" in one for one in told.cautions)


def join(n_0: float, n_1: float) -> HandJoin:
    return HandJoin(from_dig="a", to_dig="b", s_m=(15.0, 30.0), n_m=(n_0, n_1))


def test_a_join_along_a_streak_agrees() -> None:
    told = compare_hand([join(0.2, -0.4)], [streak("A", 0.0)])
    assert (told.joins, told.agree, told.doubts) == (1, 1, ())


def test_a_join_across_two_streaks_says_so() -> None:
    told = compare_hand([join(0.0, 6.0)], [streak("A", 0.0), streak("B", 6.0)])
    assert told.agree == 0
    assert "from streak A to streak B" in told.doubts[0].why


def test_a_join_to_a_lone_rich_dig_says_so() -> None:
    told = compare_hand([join(0.0, 9.0)], [streak("A", 0.0)])
    assert "dig b is rich by its own count" in told.doubts[0].why


def test_every_join_by_hand_is_counted_once(merging: TraceAnswer) -> None:
    told = merging.by_hand
    assert told.joins == len(merging.hand_joins) == told.agree + len(told.doubts)


def test_an_error_that_makes_all_of_the_variance_is_named() -> None:
    common = np.random.default_rng(1).normal(0.0, 0.2, 500)
    (hinge,) = _shared_error(100.0 * np.exp(common), common)
    assert hinge.share == pytest.approx(1.0)
    assert _shared_error(np.exp(common[::-1].copy()), common) == []


def test_the_company_is_printed_as_json(merging: TraceAnswer) -> None:
    told = to_json(merging)
    assert {"confluences", "by_hand", "hinges"} <= set(told)
    assert "beyond" in told["streaks"][0]
