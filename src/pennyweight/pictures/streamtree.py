"""The stream tree as a diagram: upstream at the top, every feeder a line of its own.

Heights are true to the way along the water; sideways only which bank a feeder comes
from is. Gold ink is as wide as gold is likely to pass.
"""

from __future__ import annotations

from dataclasses import dataclass

from pennyweight.answers.upstream import (
    PieceChance,
    StreamVerdict,
    UpstreamAnswer,
)
from pennyweight.answers.wording import percent_words
from pennyweight.pictures.labels import Box, Label, LabelKeeper, box_around, draw_labels
from pennyweight.pictures.legend import Entry, draw_legend, draw_note
from pennyweight.pictures.mapframe import neat_ticks
from pennyweight.pictures.streammarks import (
    GOLD_PX,
    next_mark,
    source_mark,
    washed_mark,
)
from pennyweight.pictures.svg import (
    Look,
    Markup,
    drawing,
    element,
    group,
    haloed,
    path_text,
    text,
    title,
)

#: Height of the diagram over its width, wide and narrow [-].
TALL, TALL_NARROW = 0.72, 1.25
#: Streams that are drawn: those that matter most [-].
MOST_DRAWN, MOST_DRAWN_NARROW = 14, 8
SIDE_PX, TOP_PX, FOOT_PX = 64.0, 66.0, 20.0
#: Streams stand no farther apart than this [px].
WIDEST_STEP_PX = 150.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TreeLayout:
    """Where everything stands.

    Attributes
    ----------
    look : Look
        Inks and width.
    column_px : mapping
        Number of a stream to its place across [px].
    low_m, high_m : float
        Chainages at the foot and at the top [m].
    height_px : float
        Of the diagram.
    """

    look: Look
    column_px: dict[int, float]
    low_m: float
    high_m: float
    height_px: float

    def y_px(self, chainage_m: float) -> float:
        """Return the height of a place along the water."""
        share = (chainage_m - self.low_m) / max(self.high_m - self.low_m, 1e-9)
        inner = self.height_px - TOP_PX - FOOT_PX
        return self.height_px - FOOT_PX - share * inner


def draw_stream_tree(answer: UpstreamAnswer, look: Look) -> str:
    """Return the diagram of streams, samples, sources and verdicts.

    Parameters
    ----------
    answer : UpstreamAnswer
        Where it comes from.
    look : Look
        Units, inks, width.

    Returns
    -------
    str
        SVG text; only a sentence where there is no stream.
    """
    if not answer.streams:
        words = answer.cautions[0] if answer.cautions else "No stream is known."
        note, bottom_px = draw_note(words, look, 8.0)
        return drawing(
            look, bottom_px + 8.0, note, label="Stream tree", desc=words, kind="streams"
        )
    layout = lay_out_tree(answer, look)
    keeper = LabelKeeper(Box(2.0, 2.0, look.width_px - 2.0, layout.height_px - 2.0))
    labels = [
        *_stream_labels(answer, layout),
        *_source_labels(answer, layout),
    ]
    body = group(
        _ruler(layout),
        _water(answer, layout),
        _gold(answer, layout),
        _stop_bracket(answer, layout),
        _samples(answer, layout, keeper),
        _sources(answer, layout, keeper),
        _proposed(answer, layout, keeper),
        *draw_labels(labels, keeper, look),
    )
    legend, bottom_px = draw_legend(
        _entries(answer, look), look, layout.height_px + 2.0
    )
    left = len(answer.rows) - len(layout.column_px)
    note = Markup("")
    if left > 0:
        words = f"{left} more streams, each less likely, are not drawn here."
        note, bottom_px = draw_note(words, look, bottom_px)
    return drawing(
        look,
        bottom_px + 6.0,
        body,
        legend,
        note,
        label="Stream tree, upstream at the top",
        desc=_description(answer),
        kind="streams",
    )


def lay_out_tree(answer: UpstreamAnswer, look: Look) -> TreeLayout:
    """Return the place of every stream: feeders on the bank that they come from."""
    drawn = choose_drawn(answer, look)
    children: dict[int, list[int]] = {}
    for number in drawn:
        into = answer.rows[number].into
        if into >= 0:
            children.setdefault(into, []).append(number)
    order: list[int] = []
    for number in drawn:
        if answer.rows[number].into < 0:
            order += _across(answer, number, children)
    room = look.width_px - 2.0 * SIDE_PX
    step = min(room / max(len(order) - 1, 1), WIDEST_STEP_PX)
    first = look.width_px / 2.0 - 0.5 * step * (len(order) - 1)
    column = {number: first + step * at for at, number in enumerate(order)}
    own = [one for one in answer.pieces if one.stream in column]
    return TreeLayout(
        look=look,
        column_px=column,
        low_m=min(one.from_m for one in own),
        high_m=max(one.to_m for one in own),
        height_px=look.width_px * (TALL_NARROW if look.narrow else TALL),
    )


def choose_drawn(answer: UpstreamAnswer, look: Look) -> list[int]:
    """Return the streams to draw: what they flow into always comes along."""
    most = MOST_DRAWN_NARROW if look.narrow else MOST_DRAWN
    rank = sorted(
        range(len(answer.rows)),
        key=lambda number: (
            answer.rows[number].into >= 0,
            -answer.streams[number].probability_source_here
            - 0.5 * (answer.streams[number].washed > 0),
        ),
    )
    chosen: list[int] = []
    for number in rank:
        chain = [number]
        while answer.rows[chain[-1]].into >= 0:
            chain.append(answer.rows[chain[-1]].into)
        new = [one for one in chain if one not in chosen]
        if len(chosen) + len(new) <= most:
            chosen += reversed(new)
    return sorted(chosen)


def _across(
    answer: UpstreamAnswer, number: int, children: dict[int, list[int]]
) -> list[int]:
    """Return a stream with its feeders from left to right, downstream seen from below.

    The picture looks upstream: a feeder from the left bank stands on the right.
    """
    feeders = sorted(children.get(number, []), key=lambda one: -_mouth_m(answer, one))
    left = [one for one in feeders if answer.rows[one].side == "right"]
    right = [one for one in feeders if answer.rows[one].side != "right"]
    row: list[int] = []
    for one in reversed(left):
        row += _across(answer, one, children)
    row.append(number)
    for one in right:
        row += _across(answer, one, children)
    return row


def _own(answer: UpstreamAnswer, number: int) -> list[PieceChance]:
    return [one for one in answer.pieces if one.stream == number]


def _mouth_m(answer: UpstreamAnswer, number: int) -> float:
    return min(one.from_m for one in _own(answer, number))


def _ruler(layout: TreeLayout) -> Markup:
    """Return the ticks of the way along the water, at the left."""
    look = layout.look
    shown_low, unit = look.measures.show(layout.low_m, "length")
    shown_high, _ = look.measures.show(layout.high_m, "length")
    per_unit = (layout.high_m - layout.low_m) / max(shown_high - shown_low, 1e-9)
    drawn = [
        text(
            6.0,
            15.0,
            f"Way up from where the water leaves, {unit}",
            font_size=look.small_px,
            fill=look.palette.soft_ink,
        )
    ]
    for tick in neat_ticks(shown_low, shown_high, 5.0):
        y_px = layout.y_px(layout.low_m + (tick - shown_low) * per_unit)
        drawn += [
            element(
                "path",
                d=path_text([(0.0, y_px), (look.width_px, y_px)]),
                stroke=look.palette.faint_ink,
                stroke_width=0.6,
            ),
            text(
                6.0,
                y_px - 3.0,
                f"{tick:,.0f}",
                font_size=look.small_px,
                fill=look.palette.soft_ink,
            ),
        ]
    return group(*drawn)


def _ways(
    answer: UpstreamAnswer, layout: TreeLayout, number: int
) -> list[tuple[float, float]]:
    """Return the line of a stream: up its column, in from the stream it joins."""
    own = _own(answer, number)
    x_px = layout.column_px[number]
    low, high = min(one.from_m for one in own), max(one.to_m for one in own)
    line = [(x_px, layout.y_px(low)), (x_px, layout.y_px(high))]
    into = answer.rows[number].into
    if into in layout.column_px:
        line.insert(0, (layout.column_px[into], layout.y_px(low)))
    return line


def _water(answer: UpstreamAnswer, layout: TreeLayout) -> Markup:
    inks = layout.look.palette
    return group(
        *(
            element(
                "path",
                title(_stream_words(answer, number)),
                d=path_text(_ways(answer, layout, number)),
                data_stream=answer.rows[number].id,
            )
            for number in layout.column_px
        ),
        fill="none",
        stroke=inks.water,
        stroke_width=GOLD_PX + 5.0,
        stroke_linejoin="round",
        stroke_linecap="round",
    )


def _gold(answer: UpstreamAnswer, layout: TreeLayout) -> Markup:
    """Return gold in the water, as wide as it is likely to pass."""
    drawn = []
    for number, x_px in layout.column_px.items():
        own = _own(answer, number)
        for one in own:
            ends = [(x_px, layout.y_px(one.from_m)), (x_px, layout.y_px(one.to_m))]
            drawn.append(_gold_line(ends, one.carries))
        into = answer.rows[number].into
        if into in layout.column_px:
            y_px = layout.y_px(own[0].from_m)
            lowest = min(own, key=lambda one: one.from_m)
            y_px = layout.y_px(lowest.from_m)
            ends = [(layout.column_px[into], y_px), (x_px, y_px)]
            drawn.append(_gold_line(ends, lowest.carries))
    return group(*drawn, fill="none", stroke=layout.look.palette.gold)


def _gold_line(ends: list[tuple[float, float]], chance: float) -> Markup:
    if chance < 0.02:
        return Markup("")
    return element(
        "path",
        title(f"gold of a source passes: {percent_words(chance)}"),
        d=path_text(ends),
        stroke_width=max(GOLD_PX * chance, 0.8),
    )


def _stream_words(answer: UpstreamAnswer, number: int) -> str:
    one = answer.streams[number]
    chance = percent_words(one.probability_source_here)
    return f"{one.name}: {one.verdict}; source here {chance}"


def verdict_words(one: StreamVerdict) -> str:
    """Return a stream's verdict with the chance that gold passes its mouth."""
    return f"{one.verdict}, {percent_words(one.probability_carries)}"


def _stream_labels(answer: UpstreamAnswer, layout: TreeLayout) -> list[Label]:
    labels = []
    look = layout.look
    for number, x_px in layout.column_px.items():
        top = max(one.to_m for one in _own(answer, number))
        one = answer.streams[number]
        y_px = layout.y_px(top) - 22.0
        labels += [
            Label(
                words=one.name,
                x_px=x_px,
                y_px=y_px,
                importance=9.0 + one.probability_source_here,
                size_px=look.small_px,
                bold=one.verdict == "suspect",
                centered=True,
                ids={"data_stream": one.id},
            ),
            Label(
                words=verdict_words(one),
                x_px=x_px,
                y_px=y_px + 13.0,
                importance=8.0 + one.probability_source_here,
                size_px=look.small_px,
                ink=look.palette.soft_ink,
                centered=True,
            ),
        ]
    return labels


def _samples(answer: UpstreamAnswer, layout: TreeLayout, keeper: LabelKeeper) -> Markup:
    """Return a mark a place: full with gold, an open ring with none."""
    drawn = []
    for one in answer.washed:
        x_px = layout.column_px.get(one.place.stream)
        if x_px is None:
            continue
        y_px = layout.y_px(one.place.chainage_m)
        keeper.block(box_around(x_px, y_px, 5.0))
        drawn.append(washed_mark(one, (x_px, y_px), layout.look))
    return group(*drawn)


def shown_sources(answer: UpstreamAnswer) -> list[tuple[int, float, float]]:
    """Return the stretches that are marked: stream, middle [m], probability."""
    number = {row.id: at for at, row in enumerate(answer.rows)}
    return [
        (number[one.stream], 0.5 * (one.from_m + one.to_m), one.probability)
        for one in answer.sources
        if one.probability >= 0.1
    ]


def _sources(answer: UpstreamAnswer, layout: TreeLayout, keeper: LabelKeeper) -> Markup:
    drawn = []
    for stream, middle_m, chance in shown_sources(answer):
        x_px = layout.column_px.get(stream)
        if x_px is None:
            continue
        y_px = layout.y_px(middle_m)
        keeper.block(box_around(x_px, y_px, 5.0 + 9.0 * chance))
        words = f"a source in this stretch: {percent_words(chance)}"
        drawn.append(source_mark((x_px, y_px), chance, layout.look, words=words))
    return group(*drawn)


def _source_labels(answer: UpstreamAnswer, layout: TreeLayout) -> list[Label]:
    return [
        Label(
            words=percent_words(chance),
            x_px=layout.column_px[stream],
            y_px=layout.y_px(middle_m),
            gap_px=8.0 + 9.0 * chance,
            importance=7.0 + chance,
            size_px=layout.look.small_px,
            bold=True,
        )
        for stream, middle_m, chance in shown_sources(answer)
        if stream in layout.column_px
    ]


def _proposed(
    answer: UpstreamAnswer, layout: TreeLayout, keeper: LabelKeeper
) -> Markup:
    """Return the places to wash next: squares with their rank."""
    number = {row.id: at for at, row in enumerate(answer.rows)}
    drawn = []
    for one in answer.next_samples:
        x_px = layout.column_px.get(number[one.stream])
        if x_px is None:
            continue
        y_px = layout.y_px(one.chainage_m)
        keeper.block(box_around(x_px, y_px, 8.0))
        drawn.append(next_mark(one.rank, (x_px, y_px), layout.look))
    return group(*drawn)


def _stop_bracket(answer: UpstreamAnswer, layout: TreeLayout) -> Markup:
    """Return the interval in which the gold stops, beside its stream."""
    stop = answer.stop
    if stop is None:
        return Markup("")
    number = next(n for n, row in enumerate(answer.rows) if row.id == stop.stream)
    x_px = layout.column_px.get(number)
    if x_px is None or stop.beyond_probability > 0.5:
        return Markup("")
    low, high = layout.y_px(stop.chainage_m.p10), layout.y_px(stop.chainage_m.p90)
    edge = x_px - 13.0
    return group(
        title("here the gold stops (80 %)"),
        element(
            "path",
            d=path_text(
                [(edge + 5.0, low), (edge, low), (edge, high), (edge + 5.0, high)]
            ),
            fill="none",
            stroke=layout.look.palette.ink,
            stroke_width=1.4,
        ),
        text(
            edge - 4.0,
            (low + high) / 2.0 + 4.0,
            "stops",
            text_anchor="end",
            font_size=layout.look.small_px,
            **haloed(layout.look),
        ),
    )


def _entries(answer: UpstreamAnswer, look: Look) -> list[Entry]:
    inks = look.palette
    entries = [
        Entry(
            sign=element(
                "path", d="M-12 0H12", stroke=inks.gold, stroke_width=GOLD_PX * 0.6
            ),
            words="gold, as wide as it is likely to pass",
        ),
        Entry(sign=_disk(inks.grade_5, look), words="gold counted"),
        Entry(sign=_disk(inks.paper, look), words="none"),
        Entry(
            sign=source_mark((0.0, 0.0), 0.3, look, words="source"),
            words="where it may enter",
        ),
    ]
    if answer.next_samples:
        entries.append(
            Entry(sign=next_mark(1, (0.0, 0.0), look), words="wash next, in this order")
        )
    return entries


def _disk(fill: str, look: Look) -> Markup:
    ink = look.palette.ink
    return element("circle", r=4.5, fill=fill, stroke=ink, stroke_width=1.4)


def _description(answer: UpstreamAnswer) -> str:
    return "; ".join(f"{one.name}: {verdict_words(one)}" for one in answer.streams[:12])
