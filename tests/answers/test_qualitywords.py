"""How far the samples can be trusted, in words and numbers."""

from typing import Any

from pennyweight.answers.answer import BookName
from pennyweight.answers.grade import GradeAnswer, grade_ground
from pennyweight.answers.qualitywords import quality_facts, quality_verdict
from pennyweight.answers.reading import Reading
from pennyweight.paper.trust import trust_blocks
from pennyweight.records import Dig, Ground, Log, Sample, Tally
from pennyweight.units import METRIC

Found = tuple[Sample, Tally]


def pan(name: str, colors: int, **more: Any) -> Found:
    """Return ten counted pans of dig A."""
    fields: dict[str, Any] = {"dig": "A", "top_m": 0.0, "bottom_m": 1.0, "pans": 10.0}
    sample = Sample(sample=name, **fields | more)
    return sample, Tally(sample=name, size_class="all", colors=colors)


def ask(*found: Found) -> GradeAnswer:
    """Return what these pans say."""
    log = Log(
        ground=Ground(name="made", pan_volume_m3=0.006, swell=0.2),
        digs=(Dig(dig="A", line="1"), Dig(dig="B", line="1")),
        samples=tuple(sample for sample, _ in found),
        tallies=tuple(tally for _, tally in found),
    )
    reading = Reading(
        book=BookName(name="made", id="1"), revision="1", log=log, made_at="2030-05-01"
    )
    return grade_ground(reading)


def facts(answer: GradeAnswer) -> dict[str, str]:
    return dict(quality_facts(answer, METRIC))


def test_without_a_duplicate_nobody_knows_how_well_one_repeats() -> None:
    told = quality_verdict(ask(pan("1", 12), pan("2", 9)))
    assert "No sample was repeated" in told
    assert "Nothing else looks odd." in told


def test_duplicates_tell_how_far_one_sample_is_off() -> None:
    """20 and 30 colors: (10 / 25)^2 / 2 is 0.08, its root 28 %; luck is 1 / 5."""
    answer = ask(pan("1", 20), pan("2", 30, duplicate_of="1"))
    told = quality_verdict(answer)
    assert "1\u00a0pair of repeated samples" in told
    assert "28\u00a0%" in told
    rows = facts(answer)
    assert rows["By the luck of counting alone"] == "20\u00a0%"
    assert rows["2 repeats 1"].startswith("1.5 times the first")
    assert "80\u00a0%" in rows["One sample is off by, one sigma"]


def test_duplicates_without_gold_are_told_apart_from_none() -> None:
    answer = ask(pan("1", 0), pan("2", 0, duplicate_of="1"), pan("3", 4))
    assert "showed no gold" in quality_verdict(answer)
    assert facts(answer)["2 repeats 1"].startswith("the first shows none")


def test_a_clean_blank_is_said_and_a_dirty_one_warns_of_salting() -> None:
    clean = ask(pan("1", 12), pan("b", 0, blank=True))
    assert "1\u00a0blank washed, no gold in it." in quality_verdict(clean)
    dirty = ask(pan("1", 12), pan("b", 3, blank=True))
    assert "salting" in quality_verdict(dirty)
    assert facts(dirty)["Blank b"] == "3\u00a0colors"
    assert facts(dirty)["Mistake, salting or foreign gold to rule out"] == "sample b"


def test_a_one_pan_wonder_is_named_with_the_handbooks_cutting() -> None:
    pans = [pan(f"{k}", 4) for k in range(6)]
    answer = ask(*pans, pan("rich", 400))
    told = quality_verdict(answer)
    assert "Sample rich alone holds" in told
    assert "asks for a second look" in told
    rows = facts(answer)
    assert "Handbook: highest left out" in rows
    assert "it holds" in rows["Without sample rich"]
    assert "\u2212" in rows["Without sample rich"]


def test_even_pans_carry_the_answer_together() -> None:
    told = quality_verdict(ask(*(pan(f"{k}", 10) for k in range(8))))
    assert "No single sample carries the answer." in told


def test_people_and_days_are_set_beside_each_other() -> None:
    pans = [
        pan(f"{who}{k}", n, by=who, date=f"2030-05-0{day}")
        for who, n, day in (("Ann", 10, 1), ("Bo", 30, 2))
        for k in range(4)
    ]
    rows = facts(ask(*pans))
    # 160 colors in 8 equal samples: 80 each; Ann found 40.
    assert rows["Washed by Ann"].startswith("40 colors, 80 expected: ratio 0.5")
    assert rows["On 2030-05-02"].startswith("120 colors, 80 expected: ratio 1.5")


def test_the_paper_carries_the_same_numbers() -> None:
    pans = [pan(f"{k}", 4) for k in range(6)]
    answer = ask(*pans, pan("rich", 400))
    blocks = trust_blocks(answer, METRIC)
    table = next(one for one in blocks if one["kind"] == "table")
    assert [row[0] for row in table["rows"]] == list(facts(answer))
    assert any("second look" in str(one) for one in blocks)
