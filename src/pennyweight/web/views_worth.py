"""Is it worth it? The money, the cut, the season, and what they depend on."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from markupsafe import Markup
from starlette.responses import Response
from starlette.routing import Route

from pennyweight.answers.grade import grade_ground
from pennyweight.answers.ground import show_ground
from pennyweight.answers.reading import Reading
from pennyweight.answers.sentences import worth_verdict
from pennyweight.answers.worth import WorthAnswer, weigh_worth
from pennyweight.answers.worthtables import WorthTable, worth_tables
from pennyweight.errors import TooLittleError
from pennyweight.pictures.cashcurve import draw_cash_curve
from pennyweight.pictures.charts import draw_margin_chart
from pennyweight.pictures.plan import draw_plan
from pennyweight.pictures.pricemap import draw_price_map
from pennyweight.pictures.svg import Look
from pennyweight.pictures.swings import draw_swings
from pennyweight.web.assumed import show_assumptions
from pennyweight.web.drawings import look_of, on_page
from pennyweight.web.page import Ask, door
from pennyweight.web.terms import (
    GROUPS,
    PLANT_NAMES,
    TERMS,
    plant_name,
    read_terms,
    stands,
    unit_words,
    usual_values,
)
from pennyweight.web.writing import change_ground

#: Where a sentence names keys of the field log.
KEYS = re.compile(r"\s*\(in ground\.toml:[^)]*\)")


@dataclass(frozen=True)
class Worth:
    """The worth of a ground with its tables and pictures; `beside` goes by table."""

    answer: WorthAnswer
    chart: Markup
    plan: Markup
    tables: tuple[WorthTable, ...]
    beside: dict[str, Markup]


@dataclass(frozen=True)
class Before:
    """What the answer was before the terms were changed."""

    margin: float | None
    chance_of_loss: float | None
    currency: str


#: Width of the column that is read, in which small pictures stand [px].
COLUMN_PX = 460

#: Pictures that stand with a table, by its key.
BESIDE = {"swings": draw_swings, "prices": draw_price_map, "cash": draw_cash_curve}


def weigh(reading: Reading, look: Look) -> Worth:
    """Return the worth with its tables and pictures."""
    answer = weigh_worth(reading)
    plan = draw_plan(
        show_ground(reading), look, grade=grade_ground(reading), worth=answer
    )
    chart = draw_margin_chart(answer, look)
    small = replace(look, width_px=min(look.width_px, COLUMN_PX))
    tables = worth_tables(answer, look.measures)
    beside = {
        one.key: on_page(BESIDE[one.key](answer, small), small)
        for one in tables
        if one.key in BESIDE
    }
    return Worth(answer, on_page(chart, look), on_page(plan, look), tables, beside)


def _form(ask: Ask, errors: dict[str, str]) -> dict[str, object]:
    """Return the fields of the terms as the page shows them."""
    ground, measures = ask.desk.log.ground, ask.measures
    shown = {
        term.name: ask.form.get(term.name, stands(term, ground, measures))
        for term in TERMS
    }
    shown["currency"] = ask.form.get("currency", ground.currency or "")
    shown["plant"] = ask.form.get("plant", plant_name(ground))
    return {
        "terms": GROUPS,
        "usual": usual_values(ground, measures),
        "plants": PLANT_NAMES,
        "typed": shown,
        "after": {term.name: unit_words(term, measures) for term in TERMS},
        "errors": errors,
        "open": bool(errors),
    }


def show_worth(ask: Ask) -> Response:
    """Show what the ground is worth; without price or costs, ask for them."""
    return _show(ask, {})


def _show(ask: Ask, errors: dict[str, str]) -> Response:
    look = look_of(ask)
    form = _form(ask, errors)
    status = 422 if errors else 200
    try:
        worth = ask.desk.ask(("worth", look), lambda reading: weigh(reading, look))
    except TooLittleError as error:
        if ask.wants_json:
            raise
        return ask.show(
            "worth_terms.html",
            status=status,
            question="worth",
            why=without_keys(str(error)),
            **form | {"open": True},
        )
    if ask.wants_json:
        return ask.show_answer("worth.html", worth.answer)
    before = ask.desk.before
    ask.desk.before = None
    return ask.show(
        "worth.html",
        status=status,
        question="worth",
        answer=worth.answer,
        worth=worth,
        before=before if isinstance(before, Before) else None,
        verdict=worth_verdict(worth.answer, ask.measures),
        assumed=show_assumptions(worth.answer.assumptions),
        **form,
    )


def without_keys(text: str) -> str:
    """Return an error without the keys of the field log: the form stands below.

    Examples
    --------
    >>> without_keys("Enter both for the ground (in ground.toml: price; costs).")
    'Enter both for the ground.'
    """
    return KEYS.sub("", text)


def change_terms(ask: Ask) -> Response:
    """Keep changed terms; the page then shows what they changed."""
    values, errors = read_terms(ask.form, ask.desk.log.ground, ask.measures)
    if errors:
        return _show(ask, errors)
    known = ask.desk.known(("worth", look_of(ask)))
    if isinstance(known, Worth):
        answer = known.answer
        margin = None if answer.margin is None else answer.margin.p50
        ask.desk.before = Before(margin, answer.chance_of_loss, answer.currency)
    change_ground(ask.desk, who=ask.who, why="Changed price, costs or plant", **values)
    return ask.to("worth")


ROUTES = [
    Route("/worth", door(show_worth)),
    Route("/worth.json", door(show_worth)),
    Route("/worth", door(change_terms), methods=["POST"]),
]
