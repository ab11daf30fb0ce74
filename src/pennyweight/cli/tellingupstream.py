"""Where it comes from, told on a terminal."""

from __future__ import annotations

from pennyweight.answers.spoken import verdict_text
from pennyweight.answers.upstream import StreamVerdict, UpstreamAnswer
from pennyweight.answers.upstreamsaid import (
    SLOPE_RULES,
    grain_sentences,
    isolation_words,
    sample_words,
    soil_line_words,
    soil_words,
    upstream_verdict,
)
from pennyweight.answers.wording import number_words, percent_words, quantity_words
from pennyweight.cli.alike import alike_lines
from pennyweight.cli.layout import bullets, paragraph, table
from pennyweight.cli.telling import tell_rest
from pennyweight.units import Measures

#: Streams listed; the rest are counted.
MOST_STREAMS = 20


def tell_upstream(answer: UpstreamAnswer, measures: Measures) -> list[str]:
    """Return where the gold comes from, as lines."""
    rows = sorted(answer.streams, key=lambda one: -one.probability_source_here)
    samples = [
        f"{_name(answer, one.stream)}, {sample_words(one, measures)}: {one.why}."
        for one in answer.next_samples
    ]
    soil = [
        *soil_line_words(answer, measures),
        *(soil_words(one, measures) for one in answer.soil),
    ]
    more = len(rows) - MOST_STREAMS
    left = [f"{more} more streams, each less likely."] if more > 0 else []
    count = [isolation_words(answer)] if answer.pieces else []
    return [
        *paragraph(verdict_text(upstream_verdict(answer, measures))),
        *table(
            ("stream", "verdict", "source here", "gold passes", "washed", "colors"),
            [_row(one) for one in rows[:MOST_STREAMS]],
        ),
        *left,
        *bullets("Wash next:", [*samples, *count] if samples else []),
        *bullets("What the grains say:", grain_sentences(answer, measures)),
        *bullets(
            "Rocks that point, with little weight:",
            [
                f"{one.says}, on {_name(answer, one.stream)} (a source near it is "
                f"{number_words(one.weight)} times as likely)"
                for one in answer.rocks
            ],
        ),
        *bullets("Off the creek, in the soil:", [*soil, SLOPE_RULES] if soil else []),
        *bullets(
            "Off every stream:",
            [
                f"dig {one.dig}: {quantity_words(one.distance_m, 'length', measures)}"
                for one in answer.off_stream
            ],
        ),
        *bullets("Odd:", alike_lines(list(answer.findings))),
        *tell_rest(answer),
    ]


def _name(answer: UpstreamAnswer, stream: str) -> str:
    return next(one.name for one in answer.streams if one.id == stream)


def _row(one: StreamVerdict) -> tuple[str, ...]:
    """Return a stream as cells."""
    return (
        one.name,
        one.verdict,
        percent_words(one.probability_source_here),
        percent_words(one.probability_carries),
        str(one.washed),
        number_words(one.colors, 3),
    )
