"""Where it comes from, in the report: verdict, tree, map, streams, next samples."""

from __future__ import annotations

from pennyweight.answers.spoken import verdict_text
from pennyweight.answers.upstream import UpstreamAnswer
from pennyweight.answers.upstreamsaid import (
    grain_sentences,
    isolation_words,
    sample_words,
    soil_words,
    upstream_verdict,
)
from pennyweight.answers.wording import number_words, percent_words
from pennyweight.paper.blocks import (
    Block,
    Section,
    TableColumn,
    caution,
    heading,
    paragraph,
    picture,
    table,
    verdict,
)
from pennyweight.pictures.streamtree import draw_stream_tree
from pennyweight.pictures.svg import Look
from pennyweight.pictures.watermap import draw_water_map

#: Height of each of the two pictures [mm].
HALF_MM = 92.0
#: Streams in the table.
MOST_STREAMS = 12


def where_it_comes_from(answer: UpstreamAnswer, look: Look) -> Section:
    """Return the section of the report.

    Parameters
    ----------
    answer : UpstreamAnswer
        Where it comes from; a section of words alone where no stream is known.
    look : Look
        Of paper.
    """
    measures = look.measures
    blocks: list[Block] = [verdict(verdict_text(upstream_verdict(answer, measures)))]
    if not answer.streams:
        return Section(heading="Where does it come from?", blocks=tuple(blocks))
    blocks += [
        picture(draw_stream_tree(answer, look), "Stream tree", most_mm=HALF_MM),
        picture(draw_water_map(answer, look), "Map of the streams", most_mm=HALF_MM),
        stream_table(answer),
    ]
    if answer.next_samples:
        blocks.append(heading("Wash next"))
        names = {one.id: one.name for one in answer.streams}
        blocks += [
            paragraph(
                f"{one.rank}. {names[one.stream]}, {sample_words(one, measures)}. "
                f"{one.why[:1].upper()}{one.why[1:]}."
            )
            for one in answer.next_samples
        ]
        blocks.append(paragraph(isolation_words(answer)))
    said = [*grain_sentences(answer, measures)]
    said += [soil_words(one, measures) for one in answer.soil]
    if said:
        blocks.append(heading("Grains and soil"))
        blocks += [paragraph(one) for one in said]
    blocks += [caution(words) for words in answer.cautions]
    return Section(heading="Where does it come from?", blocks=tuple(blocks))


def stream_table(answer: UpstreamAnswer) -> Block:
    """Return the streams, the likeliest source first."""
    columns = [
        TableColumn(head="stream", width="1fr"),
        TableColumn(head="verdict"),
        TableColumn(head="source here", right=True),
        TableColumn(head="gold passes its mouth", right=True),
        TableColumn(head="places washed", right=True),
        TableColumn(head="colors", right=True),
    ]
    rows = sorted(answer.streams, key=lambda one: -one.probability_source_here)
    return table(
        columns,
        [
            [
                one.name,
                one.verdict,
                percent_words(one.probability_source_here),
                percent_words(one.probability_carries),
                str(one.washed),
                number_words(one.colors, 3),
            ]
            for one in rows[:MOST_STREAMS]
        ],
    )
