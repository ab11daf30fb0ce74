"""Gold won from each cut as a dot, over the bar of what was expected of it."""

from __future__ import annotations

from collections.abc import Sequence

from pennyweight.answers.reconcile import ReconcileAnswer, ReconciledCut
from pennyweight.answers.wording import count_words, number_words, unit_name
from pennyweight.pictures.legend import draw_note
from pennyweight.pictures.mapframe import neat_ticks
from pennyweight.pictures.svg import (
    Look,
    Markup,
    drawing,
    element,
    group,
    text,
    title,
)
from pennyweight.units import from_inside

#: Height of one cut, of the head, and the room for names [px].
ROW_PX, TOP_PX, NAMES_PX, RIGHT_PX = 34.0, 34.0, 92.0, 26.0
BAR_PX, DOT_PX = 10.0, 6.0

#: Letters of a name that stand before its bar.
MOST_LETTERS = 11

LABEL = "Gold won beside gold expected"


def draw_reconcile(answer: ReconcileAnswer, look: Look) -> str:
    """Return every cut that has an estimate, its outcome beside it.

    Parameters
    ----------
    answer : ReconcileAnswer
        Cuts beside their estimates.
    look : Look
        Units, inks, width.

    Returns
    -------
    str
        SVG text; only a sentence where no cut has an estimate.
    """
    cuts = [one for one in answer.cuts if one.expected_g is not None]
    if not cuts:
        words = "No clean-up lies beside an estimate yet."
        note, end_px = draw_note(words, look, 8.0)
        return drawing(
            look, end_px + 8.0, note, label=LABEL, desc=words, kind="reconcile"
        )
    scale = _Scale(cuts, look)
    rows = [
        _draw_cut(cut, TOP_PX + ROW_PX * (at + 0.5), scale)
        for at, cut in enumerate(cuts)
    ]
    foot = TOP_PX + ROW_PX * len(cuts)
    told = [one for one in cuts if one.inside is not None]
    inside = sum(bool(one.inside) for one in told)
    dots = count_words(len(told), "dot")
    words = (
        "The bar holds four chances in five, its tick the middle; the dot is what was "
        f"won, hollow where it lies outside. {inside} of {dots} inside."
    )
    note, end_px = draw_note(words, look, foot + 30.0)
    return drawing(
        look,
        end_px + 6.0,
        text(6.0, 18.0, f"{LABEL}, {scale.unit}", fill=look.palette.soft_ink),
        scale.draw_grid(foot),
        *rows,
        note,
        label=LABEL,
        desc=words,
        kind="reconcile",
    )


class _Scale:
    """Gold from left to right."""

    def __init__(self, cuts: Sequence[ReconciledCut], look: Look) -> None:
        self.look = look
        self.unit = unit_name(look.measures.mass)
        ends = [one.expected_g.p90 for one in cuts if one.expected_g is not None]
        ends += [one.won_g for one in cuts if one.won_g is not None]
        self.most = 1.08 * max(*(self.shown(one) for one in ends), 1e-9, 0.0)
        self.right_px = look.width_px - RIGHT_PX

    def shown(self, gold_g: float) -> float:
        """Return gold in the reader's unit."""
        return from_inside(gold_g * 1000.0, self.look.measures.mass, "mass")

    def x_px(self, gold_g: float) -> float:
        """Return gold in the picture [px]."""
        share = self.shown(gold_g) / self.most
        return NAMES_PX + share * (self.right_px - NAMES_PX)

    def draw_grid(self, foot_px: float) -> Markup:
        """Return the lines of round numbers."""
        inks, many = self.look.palette, 3.0 if self.look.narrow else 6.0
        marks = []
        for one in neat_ticks(0.0, self.most, many):
            x = NAMES_PX + one / self.most * (self.right_px - NAMES_PX)
            marks.append(
                element(
                    "line",
                    x1=x,
                    x2=x,
                    y1=TOP_PX,
                    y2=foot_px,
                    stroke=inks.faint_ink,
                    stroke_width=1.0 if one == 0.0 else 0.5,
                )
            )
            marks.append(
                text(x, foot_px + 16.0, number_words(one, 3), text_anchor="middle")
            )
        return group(*marks, font_size=self.look.small_px, fill=inks.soft_ink)


def _draw_cut(cut: ReconciledCut, middle_px: float, scale: _Scale) -> Markup:
    """Return a cut's name, bar and dot."""
    inks = scale.look.palette
    expected = cut.expected_g
    if expected is None:
        return group()
    name = cut.cleanup
    if len(name) > MOST_LETTERS:
        name = f"{name[: MOST_LETTERS - 1]}…"
    parts = [
        text(6.0, middle_px + 4.0, name, fill=inks.ink),
        element(
            "rect",
            x=scale.x_px(expected.p10),
            y=middle_px - BAR_PX / 2.0,
            width=scale.x_px(expected.p90) - scale.x_px(expected.p10),
            height=BAR_PX,
            fill=inks.faint_ink,
        ),
        element(
            "line",
            x1=scale.x_px(expected.p50),
            x2=scale.x_px(expected.p50),
            y1=middle_px - BAR_PX,
            y2=middle_px + BAR_PX,
            stroke=inks.ink,
            stroke_width=1.5,
        ),
    ]
    if cut.won_g is not None:
        parts.append(
            element(
                "circle",
                cx=scale.x_px(cut.won_g),
                cy=middle_px,
                r=DOT_PX,
                fill=inks.gold if cut.inside else inks.paper,
                stroke=inks.gold if cut.inside else inks.ink,
                stroke_width=2.0,
            )
        )
    return group(title(f"{cut.cleanup}: {cut.said}"), *parts)
