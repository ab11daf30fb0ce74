"""The program as a staircase: digs added up day by day, and what was planned."""

from __future__ import annotations

import datetime
from itertools import accumulate

from pennyweight.answers.diary import DiaryAnswer
from pennyweight.answers.wording import count_words, number_words
from pennyweight.pictures.legend import draw_note
from pennyweight.pictures.mapframe import neat_ticks
from pennyweight.pictures.svg import (
    Look,
    Markup,
    drawing,
    element,
    group,
    path_text,
    text,
    title,
)

#: Room for the stairs, and for the words around them [px].
STAIRS_PX, TOP_PX, LEFT_PX, RIGHT_PX = 190.0, 30.0, 46.0, 14.0

#: Most dates under the stairs.
MOST_DATES, MOST_DATES_NARROW = 6, 3

LABEL = "Digs opened, added up day by day"


def draw_diary(diary: DiaryAnswer, look: Look) -> str:
    """Return the digs of the program added up over its days.

    Parameters
    ----------
    diary : DiaryAnswer
        Days with what was opened on them, and what was planned.
    look : Look
        Units, inks, width.

    Returns
    -------
    str
        SVG text; only a sentence where no dig has a date.
    """
    dug = [(day.date, len(day.digs)) for day in diary.days if day.digs]
    if not dug:
        words = "No dig has a date yet, so the days cannot be laid out."
        note, end_px = draw_note(words, look, 8.0)
        return drawing(look, end_px + 8.0, note, label=LABEL, desc=words, kind="diary")
    dates = [datetime.date.fromisoformat(date).toordinal() for date, _ in dug]
    sums = list(accumulate(count for _, count in dug))
    planned = next((one.planned for one in diary.progress if one.what == "digs"), None)
    scale = _Scale(look, dates, max(float(sums[-1]), planned or 0.0))
    desc = (
        f"{count_words(sums[-1], 'dig')} with a date, on "
        f"{count_words(len(dug), 'day')} from {dug[0][0]} to {dug[-1][0]}."
    )
    if planned is not None:
        desc += f" {number_words(planned, 3)} were planned."
    note, end_px = draw_note(desc, look, TOP_PX + STAIRS_PX + 30.0)
    return drawing(
        look,
        end_px + 6.0,
        text(LEFT_PX, 18.0, LABEL, fill=look.palette.soft_ink),
        scale.draw_grid(dates),
        scale.draw_stairs(dates, sums),
        scale.draw_planned(planned),
        note,
        label=LABEL,
        desc=desc,
        kind="diary",
    )


class _Scale:
    """Days from left to right, digs from the bottom up."""

    def __init__(self, look: Look, dates: list[int], most: float) -> None:
        self.look = look
        self.first, self.last = dates[0], max(dates[-1], dates[0] + 1)
        self.most = most * 1.05
        self.right_px = look.width_px - RIGHT_PX
        self.bottom_px = TOP_PX + STAIRS_PX

    def x_px(self, date: float) -> float:
        """Return a day in the picture [px]."""
        share = (date - self.first) / (self.last - self.first)
        return LEFT_PX + share * (self.right_px - LEFT_PX)

    def y_px(self, digs: float) -> float:
        """Return a number of digs in the picture [px]."""
        return self.bottom_px - digs / self.most * STAIRS_PX

    def draw_grid(self, dates: list[int]) -> Markup:
        """Return the lines of whole digs, and some of the dates."""
        inks = self.look.palette
        ticks = [one for one in neat_ticks(0.0, self.most, 4.0) if one == int(one)]
        most = MOST_DATES_NARROW if self.look.narrow else MOST_DATES
        step = max((self.last - self.first) / max(most - 1, 1), 1.0)
        marks = [self.first + round(step * number) for number in range(most)]
        shown = [one for one in dict.fromkeys(marks) if one <= self.last]
        return group(
            *(
                element(
                    "line",
                    x1=LEFT_PX,
                    x2=self.right_px,
                    y1=self.y_px(one),
                    y2=self.y_px(one),
                    stroke=inks.faint_ink,
                    stroke_width=1.0 if one == 0.0 else 0.5,
                )
                for one in ticks
            ),
            *(
                text(
                    LEFT_PX - 6.0,
                    self.y_px(one) + 4.0,
                    number_words(one, 4),
                    text_anchor="end",
                )
                for one in ticks
            ),
            *(self._date(one, shown) for one in shown),
            font_size=self.look.small_px,
            fill=inks.soft_ink,
        )

    def _date(self, date: int, shown: list[int]) -> Markup:
        anchor = "middle"
        if date == shown[0]:
            anchor = "start"
        elif date == self.last:
            anchor = "end"
        words = datetime.date.fromordinal(date).isoformat()
        return text(self.x_px(date), self.bottom_px + 16.0, words, text_anchor=anchor)

    def draw_stairs(self, dates: list[int], sums: list[int]) -> Markup:
        """Return the staircase, a step on every day with a dig."""
        points = [(self.x_px(dates[0]), self.y_px(0.0))]
        for date, total in zip(dates, sums, strict=True):
            points += [
                (self.x_px(date), points[-1][1]),
                (self.x_px(date), self.y_px(total)),
            ]
        points.append((self.right_px, points[-1][1]))
        inks = self.look.palette
        dots = (
            element(
                "circle",
                title(f"{datetime.date.fromordinal(date).isoformat()}: {total} in all"),
                cx=self.x_px(date),
                cy=self.y_px(total),
                r=2.5,
                fill=inks.ink,
            )
            for date, total in zip(dates, sums, strict=True)
        )
        line = element(
            "path", d=path_text(points), fill="none", stroke=inks.ink, stroke_width=1.6
        )
        return group(line, *dots)

    def draw_planned(self, planned: float | None) -> Markup:
        """Return the digs planned in all, as a dashed line with its words."""
        if planned is None:
            return Markup("")
        y_px = self.y_px(planned)
        inks = self.look.palette
        line = element(
            "line",
            x1=LEFT_PX,
            x2=self.right_px,
            y1=y_px,
            y2=y_px,
            stroke=inks.soft_ink,
            stroke_dasharray="6 4",
        )
        words = text(
            LEFT_PX + 4.0,
            y_px + 14.0,
            f"planned: {number_words(planned, 3)}",
            font_size=self.look.small_px,
            fill=inks.soft_ink,
        )
        return group(line, words)
