"""Where does it come from? Stream tree and map, feeders, grains, what to wash next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from markupsafe import Markup
from starlette.responses import Response
from starlette.routing import Route

from pennyweight.answers.reading import Reading
from pennyweight.answers.upstream import UpstreamAnswer
from pennyweight.answers.upstreamask import ask_upstream
from pennyweight.answers.upstreamsaid import (
    FEATURE_WORDS,
    SLOPE_RULES,
    VERDICT_WORDS,
    feature_words,
    grain_sentences,
    isolation_words,
    sample_words,
    soil_line_words,
    soil_words,
    upstream_verdict,
)
from pennyweight.answers.waters import NO_STREAM, STREAM_COLUMN
from pennyweight.pictures.streamtree import draw_stream_tree
from pennyweight.pictures.svg import Look
from pennyweight.pictures.watermap import draw_water_map
from pennyweight.web.assumed import show_assumptions
from pennyweight.web.drawings import look_of, on_page
from pennyweight.web.faults import PageError
from pennyweight.web.page import Ask, door
from pennyweight.web.writing import change_row

#: The pictures: part of the address -> words.
KINDS: Mapping[str, str] = {"tree": "Stream tree", "map": "Map"}
#: Streams listed in the table; the rest are counted.
MOST_STREAMS = 15


@dataclass(frozen=True)
class Found:
    """Where it comes from, with one picture of it."""

    answer: UpstreamAnswer
    picture: Markup


def lay_out(reading: Reading, kind: str, look: Look) -> Found:
    """Return the answer with the picture that is wished for."""
    answer = ask_upstream(reading)
    draw = draw_water_map if kind == "map" else draw_stream_tree
    return Found(answer, on_page(draw(answer, look), look))


def show_upstream(ask: Ask) -> Response:
    """Show where the gold comes from."""
    kind = ask.query("picture", "tree")
    if kind not in KINDS:
        msg = f"There is no picture {kind!r}; there are {', '.join(KINDS)}."
        raise PageError(msg, 404)
    look = look_of(ask)
    found = ask.desk.ask(
        ("upstream", kind, look), lambda reading: lay_out(reading, kind, look)
    )
    answer, measures = found.answer, ask.measures
    rows = sorted(answer.streams, key=lambda one: -one.probability_source_here)
    return ask.show_answer(
        "upstream.html",
        answer,
        question="from",
        picture=found.picture,
        kind=kind,
        kinds=KINDS,
        verdict=upstream_verdict(answer, measures),
        rows=rows[:MOST_STREAMS],
        more=max(len(rows) - MOST_STREAMS, 0),
        name_of={one.id: one.name for one in answer.streams},
        verdict_words=VERDICT_WORDS,
        samples=[(one, sample_words(one, measures)) for one in answer.next_samples],
        isolation=isolation_words(answer) if answer.pieces else "",
        grains=grain_sentences(answer, measures),
        features=[
            (FEATURE_WORDS[one.feature], one.n_grains, feature_words(one))
            for one in (answer.grains.features if answer.grains else ())
        ],
        soil=[soil_words(one, measures) for one in answer.soil],
        soil_lines=soil_line_words(answer, measures),
        slope_rules=SLOPE_RULES,
        places=_places(answer),
        no_stream=NO_STREAM,
        assumed=show_assumptions(answer.assumptions),
    )


def _places(answer: UpstreamAnswer) -> list[tuple[str, str, float, bool]]:
    """Return the digs on and off the water: name, stream, distance, said or not."""
    found = [
        (one.place.dig, answer.rows[one.place.stream].name, one.place.distance_m,
         one.place.said)
        for one in answer.washed
    ]  # fmt: skip
    off = [(one.dig, "", one.distance_m, one.said) for one in answer.off_stream]
    return [*off, *dict.fromkeys(found)]


def show_note(ask: Ask) -> Response:
    """Tell about the dig or the stream that was picked; a wrong snap is mended here."""
    answer = ask.desk.ask("upstream note", ask_upstream)
    dig, name = ask.query("dig"), ask.query("stream")
    stream = next((one for one in answer.streams if one.id == name), None)
    if not dig and stream is None:
        msg = f"There is no stream {name!r}."
        raise PageError(msg, 404)
    return ask.show(
        "note_snap.html",
        picked=dig,
        stream=stream,
        kind=ask.query("picture", "tree"),
        places=_places_at(answer, dig),
        streams=answer.streams,
        no_stream=NO_STREAM,
        verdict_words=VERDICT_WORDS,
    )


def _places_at(answer: UpstreamAnswer, dig: str) -> list[tuple[str, str, float, bool]]:
    """Return the digs whose mark was picked: those that are read as one place."""
    digs = next((one.digs for one in answer.washed if dig in one.digs), (dig,))
    placed = {one[0]: one for one in _places(answer)}
    whole = next((placed[one] for one in (dig, *digs) if one in placed), None)
    if whole is None:
        return []
    return [placed.get(name, (name, *whole[1:])) for name in digs]


def say_stream(ask: Ask) -> Response:
    """Keep which stream a dig belongs to, as the user says."""
    name, stream = ask.sent("dig"), ask.sent("stream")
    dig = next((one for one in ask.desk.log.digs if one.dig == name), None)
    if dig is None:
        msg = f"There is no dig {name!r}."
        raise PageError(msg, 404)
    extra = {key: value for key, value in dig.extra.items() if key != STREAM_COLUMN}
    if stream:
        extra[STREAM_COLUMN] = stream
    written = change_row(
        ask.desk, "digs", dig, after=replace(dig, extra=extra), who=ask.who
    )
    if written.complaints:
        raise PageError("; ".join(written.complaints.values()), 422)
    back = ask.sent("back")
    return ask.to(f"from?picture={back}" if back in KINDS else "from")


ROUTES = [
    Route("/from", door(show_upstream)),
    Route("/from.json", door(show_upstream)),
    Route("/from/note", door(show_note)),
    Route("/from/stream", door(say_stream), methods=["POST"]),
]
