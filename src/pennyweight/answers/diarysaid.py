"""The diary, said: how many days and digs, and how far the program has come."""

from __future__ import annotations

from pennyweight.answers.diary import DiaryAnswer, Progress
from pennyweight.answers.spoken import Part, Sentence, say
from pennyweight.answers.wording import count_words, list_words, number_words


def diary_verdict(answer: DiaryAnswer) -> tuple[Sentence, ...]:
    """Return what was done on how many days, and what is left of the program."""
    if not answer.days:
        return (
            say(
                "No day is written down yet. A line each evening is enough: who, "
                "hours, water, cost."
            ),
        )
    digs = sum(len(day.digs) for day in answer.days)
    hours = sum(day.hours or 0.0 for day in answer.days)
    told = f"{count_words(len(answer.days), 'day')} so far, {count_words(digs, 'dig')}"
    if hours:
        told += f", {number_words(hours, 3)} hours on the clock"
    said = [say(f"{told}.")]
    said += [_left(one) for one in answer.progress if one.days_left is not None]
    done = [one.what for one in answer.progress if one.done >= one.planned]
    if done:
        said.append(say(f"All {list_words(done)} of the program are done."))
    blank = sum(not day.written for day in answer.days)
    if blank:
        verb = "has" if blank == 1 else "have"
        said.append(say(f"{count_words(blank, 'day')} {verb} no entry yet."))
    return tuple(said)


def _left(one: Progress) -> Sentence:
    left = number_words(one.planned - one.done, 3)
    days = one.days_left
    if days is None:
        return say(f"{left} {one.what} are left.")
    pace = f"about {number_words(days.p50)} days of digging at your pace"
    low, high = number_words(days.p10), number_words(days.p90)
    return say(
        f"{left} {one.what} of the program are left: ",
        Part(text=pace, means=f"80 %: {low} to {high} days.", spread=days),
        ".",
    )
