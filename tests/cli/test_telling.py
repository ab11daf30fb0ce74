"""What is told to a person: intakes, progress, and the answers that are rare."""

import sys
from dataclasses import replace
from io import StringIO
from pathlib import Path

import pytest

from pennyweight.answers.answer import BookName
from pennyweight.answers.grade import DigGrade, GradeAnswer
from pennyweight.answers.trace import (
    Area,
    Link,
    Merge,
    PathPoint,
    Split,
    Streak,
    Total,
    TraceAnswer,
)
from pennyweight.answers.worth import WorthAnswer
from pennyweight.book.transfer import Edit, IntakeSummary, refused_summary
from pennyweight.cli.asking import progress_shown
from pennyweight.cli.books import user_name
from pennyweight.cli.intaketold import TOLD, tell_intake
from pennyweight.cli.telling import tell_grade, tell_trace, tell_worth
from pennyweight.errors import Finding, Refusal
from pennyweight.spread import Spread
from pennyweight.units import METRIC

HEADING = {
    "book": BookName(name="Invented Creek", id="b"),
    "made_at": "2026-07-01T18:00:00+00:00",
    "version": "0.1.0",
    "seed": 1,
}
SPREAD = Spread(1.0, 2.0, 3.0, 2.0)


def intake(**said: object) -> IntakeSummary:
    """Return the summary of an intake that did nothing, but for what is said."""
    return replace(refused_summary(()), **said)  # type: ignore[arg-type]


def test_an_intake_is_told_by_counts_first() -> None:
    counts = {"added": 2, "changed": 1, "unchanged": 0, "removed": 0}
    lines = tell_intake(intake(added=2, changed=1, batch="b", tables={"digs": counts}))
    assert lines[0] == "2 records added, 1 changed, 0 unchanged."
    assert lines[-1].split() == ["digs", "2", "1", "0", "0"]


def test_an_intake_of_nothing_new_says_so() -> None:
    assert tell_intake(intake(unchanged=7)) == [
        "Nothing new: 7 records are in the book already."
    ]


def test_edits_are_shown_with_what_was_and_is() -> None:
    edit = Edit(where="dig T1", field="note", was=None, now="wet")
    gone = Edit(where="sample S1, grain 2", field="", was="there", now=None)
    text = "\n".join(tell_intake(intake(edits=(edit, gone), batch="b")))
    assert "  - dig T1: note was empty, now wet" in text
    assert "  - sample S1, grain 2: removed" in text


def test_conflicts_are_shown_as_not_applied() -> None:
    edit = Edit(where="dig T1", field="line", was="1", now="2")
    more = Edit(where="rock 2", field="", was=None, now="there")
    less = Edit(where="rock 3", field="", was="there", now=None)
    text = "\n".join(tell_intake(intake(conflicts=(edit, more, less))))
    assert "Conflicts with another log, shown and not applied:" in text
    assert "dig T1: line is 1 in the book, 2 in the other log" in text
    assert "rock 2: only in the other log" in text
    assert "rock 3: only in the book" in text


def test_refused_rows_and_doubts_are_told_with_their_place() -> None:
    refusal = Refusal("tallies.csv", 3, "colors", "many", "a whole number")
    doubt = Finding("sample S1", "It is odd.", "Look again.", "doubt")
    summary = intake(
        refused=(refusal, refusal), refused_files=("log-refused.csv",), doubts=(doubt,)
    )
    lines = tell_intake(summary)
    assert lines[0].endswith("already; 1 refused.")
    assert "Refused rows, set aside in log-refused.csv:" in lines
    assert "  - sample S1: It is odd. Look again." in lines


def alike(count: int) -> tuple[Finding, ...]:
    """Return findings that say the same of many digs."""
    return tuple(
        Finding(
            f"dig T{at}", f"It lies in the same place as dig T{at + 1}.", "", "doubt"
        )
        for at in range(count)
    )


def test_of_many_doubts_alike_five_are_told() -> None:
    other = Finding("dig U", "Its swell is 0.9.", "Measure it.", "doubt")
    lines = tell_intake(intake(doubts=(*alike(20), other)))
    told = lines[lines.index("Taken, but odd:") + 1 :]
    assert len(told) == 7
    assert told[4].startswith("  - dig T4: ")
    assert told[5] == "  - and 15 more like it"
    assert told[6] == "  - dig U: Its swell is 0.9. Measure it."


def test_eight_doubts_alike_are_all_told() -> None:
    lines = tell_intake(intake(doubts=alike(8)))
    assert len(lines[lines.index("Taken, but odd:") + 1 :]) == 8


def test_a_note_is_not_listed_as_odd() -> None:
    note = Finding("ground.toml, crs", "no coordinate system is named", "Add.", "note")
    lines = tell_intake(intake(doubts=(note,)))
    assert "Taken, but odd:" not in lines
    assert lines[-2:] == [
        "Noted:",
        "  - ground.toml, crs: no coordinate system is named. Add.",
    ]


def test_of_many_edits_the_first_are_shown_and_the_rest_counted() -> None:
    edits = tuple(
        Edit(where=f"dig {n}", field="", was=None, now="x") for n in range(50)
    )
    lines = tell_intake(intake(edits=edits, batch="b"))
    assert lines[-1] == f"  - and {50 - TOLD} more"


def test_who_is_asking_is_known_even_where_the_system_does_not_know(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def nobody() -> str:
        msg = f"no user {0}"
        raise KeyError(msg)

    monkeypatch.setattr("getpass.getuser", nobody)
    assert user_name() == "someone"


class Terminal(StringIO):
    """A terminal that someone looks on."""

    def isatty(self) -> bool:
        """Say that it is one."""
        return True


def test_progress_is_one_line_that_is_wiped_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    with progress_shown() as progress:
        progress(0.25, "fitting the field")
        progress(0.5, "drawing")
    printed = terminal.getvalue()
    assert "\r 25% fitting the field" in printed
    assert printed.endswith("\r 50% drawing          \r            \r")


def test_progress_is_silent_where_no_one_looks_on(
    capsys: pytest.CaptureFixture[str],
) -> None:
    with progress_shown() as progress:
        progress(0.5, "drawing")
    assert capsys.readouterr().err == ""


def point(s_m: float) -> PathPoint:
    """Return a place on a streak."""
    return PathPoint(
        s_m=s_m,
        n_m=1.0,
        center_n_m=SPREAD,
        easting_m=500_000.0,
        northing_m=5_400_000.0 - s_m,
        probability=0.9,
        top_m=SPREAD,
        thickness_m=SPREAD,
        width_m=SPREAD,
        grade_mg_m3=SPREAD,
    )


def streak(name: str, first_m: float, last_m: float) -> Streak:
    """Return a streak between two places of the valley."""
    return Streak(
        id=name,
        probability=0.9,
        horizon="bedrock",
        path=(point(first_m), point(last_m)),
        links=(Link(from_line="1", to_line="2", probability=0.8),),
        gold_g=SPREAD,
        gravel_m3=SPREAD,
    )


def test_streaks_that_meet_and_part_are_told_with_place_and_chance() -> None:
    place = {"s_m": 20.0, "easting_m": 500_000.0, "northing_m": 5_399_980.0}
    answer = TraceAnswer(
        **HEADING,  # type: ignore[arg-type]
        cutoff_mg_m3=100.0,
        probability_of_any=0.97,
        streaks=tuple(streak(name, 0.0, 40.0) for name in "ABCDE"),
        merges=(Merge(from_=("A", "B"), into="C", probability=0.7, **place),),
        splits=(Split(from_="C", into=("D", "E"), probability=0.1, **place),),
        total=Total(
            gold_g=None, gravel_m3=None, gold_g_above_cutoff=None, outline=None
        ),
        area=Area(s0_m=0.0, s1_m=40.0, n0_m=-5.0, n1_m=5.0),
    )
    text = " ".join(" ".join(tell_trace(answer, METRIC)).split())
    assert (
        "Streaks A and B come together into streak C at 20 m along the valley" in text
    )
    assert "70 %, likely" in text
    assert "Streak C parts into streaks D and E at 20 m along the valley" in text
    assert "10 %, very unlikely" in text
    assert "0-40 m" in text


def test_a_dig_of_which_nothing_is_known_has_dashes() -> None:
    unknown = DigGrade(
        dig="T1",
        line=None,
        easting_m=None,
        northing_m=None,
        s_m=None,
        n_m=None,
        best_horizon=None,
        pay_top_m=None,
        pay_bottom_m=None,
        overburden_m=None,
        grade_mg_m3=None,
        accumulation_mg_m2=None,
    )
    doubt = Finding("dig T1", "Nothing is known.", "Dig.", "note")
    answer = GradeAnswer(
        **HEADING,  # type: ignore[arg-type]
        samples=(),
        digs=(unknown,),
        findings=(doubt,),
    )
    odd = replace(doubt, weight="doubt", problem="It is odd.")
    lines = tell_grade(replace(answer, findings=(doubt, odd)), METRIC)
    assert lines.index("Odd:") < lines.index("  - dig T1: It is odd. Dig.")
    assert lines.index("Noted:") < lines.index("  - dig T1: Nothing is known. Dig.")
    row = next(line for line in lines if line.startswith("T1"))
    assert row.split() == ["T1", "-", "-", "-", "-", "-"]
    assert "  - dig T1: Nothing is known. Dig." in lines


def test_a_value_under_two_keys_is_supposed_once() -> None:
    answer = GradeAnswer(
        **HEADING,  # type: ignore[arg-type]
        assumptions={"fineness": 885.0, "fineness_per_mille": 885.0},
        samples=(),
        digs=(),
    )
    text = " ".join(" ".join(tell_grade(answer, METRIC)).split())
    assert text.count("gold in raw gold: 885 parts in 1000") == 1


def test_a_ground_without_a_cut_is_told_by_its_verdict(tmp_path: Path) -> None:
    answer = WorthAnswer(
        **HEADING,  # type: ignore[arg-type]
        assumptions={"who_says": "the \u00e4lder"},
        cut=None,
        gold_g=None,
        recovered_g=None,
        revenue=None,
        cost=None,
        margin=None,
        chance_of_loss=None,
        break_even_grade_mg_m3=None,
        season=None,
        verdict="Walk away: nothing here pays for itself.",
        currency="USD",
    )
    lines = tell_worth(answer, METRIC)
    assert lines[0] == "Walk away: nothing here pays for itself."
    assert "  - who says: the \u00e4lder." in lines
