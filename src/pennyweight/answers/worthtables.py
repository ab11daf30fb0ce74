"""The tables of `worth` in words, the same on the page, at the prompt and on paper."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import count

from pennyweight.answers.wording import (
    NO_BREAK,
    interval_words,
    money_interval_words,
    money_words,
    number_words,
    percent_words,
    quantity_words,
    range_words,
)
from pennyweight.answers.worth import WorthAnswer
from pennyweight.answers.worthparts import Cash, SizeRow
from pennyweight.answers.worthsaid import TERM_WORDS, swing_words
from pennyweight.units import FOOT_M, TROY_OUNCE_MG, US_GALLON_M3, Measures
from pennyweight.worth.spoil import HEAP_M
from pennyweight.worth.waterneed import RESTLESS

#: Rows of the purse that are shown, about.
CASH_ROWS = 12

MG_IN_G = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WorthTable:
    """One table: its name for the page, its title, and rows of plain words.

    The first column names the row; `note` says in a sentence what it rests on.
    """

    key: str
    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""


def worth_tables(answer: WorthAnswer, measures: Measures) -> tuple[WorthTable, ...]:
    """Return what the answer holds beside its sums, empty tables left out."""
    makers: tuple[Callable[[WorthAnswer, Measures], WorthTable | None], ...] = (
        _even_table,
        _swing_table,
        _price_table,
        _cash_table,
        _size_table,
        _depth_table,
        _left_out_table,
        _room_table,
        _water_table,
    )
    made = (make(answer, measures) for make in makers)
    return tuple(one for one in made if one is not None and one.rows)


def price_words(price_per_g: float, currency: str, measures: Measures) -> str:
    """Return a price of fine gold in the reader's unit."""
    if measures.length == "ft":
        ounce = money_words(price_per_g * TROY_OUNCE_MG / MG_IN_G, currency, 3)
        return f"{ounce}/ozt"
    return f"{money_words(price_per_g, currency, 3)}/g"


def area_words(area_m2: float, measures: Measures) -> str:
    """Return an area in the reader's unit."""
    if measures.length == "ft":
        return f"{number_words(area_m2 / FOOT_M**2)}{NO_BREAK}ft²"
    return f"{number_words(area_m2)}{NO_BREAK}m²"


def flow_words(m3_per_hour: float, measures: Measures) -> str:
    """Return a flow of water in the reader's unit."""
    if measures.length == "ft":
        gallons = m3_per_hour / (60.0 * US_GALLON_M3)
        return f"{number_words(gallons)} US gal/min"
    return f"{number_words(m3_per_hour)}{NO_BREAK}m³/h"


def _even_table(answer: WorthAnswer, measures: Measures) -> WorthTable | None:
    even = answer.break_even
    if even is None:
        return None
    rows = []
    if even.price_per_g is not None:
        price = price_words(even.price_per_g, answer.currency, measures)
        rows.append(("price of fine gold", price))
    grade = quantity_words(even.grade_mg_m3, "grade", measures)
    rows.append(("grade of the pay", grade))
    recovery = "not even all" if even.recovery is None else percent_words(even.recovery)
    rows.append(("what the plant must keep", recovery))
    if even.gold_share is not None:
        rows.append(("part of the gold expected", percent_words(even.gold_share)))
    return WorthTable(
        key="even",
        title="Where it brings nothing",
        headings=("one thing changed alone", "nothing is left at"),
        rows=tuple(rows),
    )


def _swing_table(answer: WorthAnswer, measures: Measures) -> WorthTable | None:
    rows = tuple(
        (
            TERM_WORDS[one.name],
            swing_words(one.name),
            number_words(one.low, 3),
            number_words(one.high, 3),
        )
        for one in answer.swings
    )
    return WorthTable(
        key="swings",
        title=f"What moves what is left, {answer.currency}",
        headings=("term", "from worse to better", "at worse", "at better"),
        rows=rows,
        note="How far each term is swung is our assumption.",
    )


def _price_table(answer: WorthAnswer, measures: Measures) -> WorthTable | None:
    rows = tuple(
        (
            price_words(one.price_per_g, answer.currency, measures)
            + (" (today)" if one.price_share == 1.0 else ""),
            area_words(one.area_m2, measures),
            quantity_words(one.overburden_m3, "volume", measures),
            quantity_words(one.pay_m3, "volume", measures),
            quantity_words(one.recovered_g * MG_IN_G, "mass", measures),
            number_words(one.margin, 3),
            number_words(one.margin_at_todays_price, 3),
        )
        for one in answer.prices
    )
    note = (
        "Ground that goes at a low price goes first and holds at any higher one. Left "
        "then: at that price; left today: of the same ground at today's."
    )
    cost = answer.cost_of_machine_width
    if cost is not None:
        note += (
            " All leave room for your machine, which costs the best of them "
            f"{money_words(cost, answer.currency)}."
        )
    return WorthTable(
        key="prices",
        title=f"Which ground goes first, {answer.currency}",
        headings=(
            "price",
            "opened",
            "overburden",
            "pay",
            "gold kept",
            "left then",
            "left today",
        ),
        rows=rows,
        note=note,
    )


def _cash_table(answer: WorthAnswer, measures: Measures) -> WorthTable | None:
    cash = answer.cash
    if cash is None:
        return None
    last = cash.weeks[-1].week
    step = next(one for one in count(1) if last / one <= CASH_ROWS)
    rows = tuple(
        (
            "before" if one.week == 0 else str(one.week),
            number_words(one.cash.p50, 3),
            range_words(one.cash.p10, one.cash.p90, 3),
        )
        for one in cash.weeks
        if one.week % step == 0 or one.week == last
    )
    return WorthTable(
        key="cash",
        title="The purse, week by week",
        headings=("week", f"purse, {answer.currency}", "80 %"),
        rows=rows,
        note=_cash_note(cash, answer.currency),
    )


def _cash_note(cash: Cash, currency: str) -> str:
    deep = money_interval_words(cash.at_risk, currency)
    if cash.at_risk.p10 == cash.at_risk.p90:
        deep = f"{money_words(cash.at_risk.p50, currency)}, laid out at the start"
    said = f"At its lowest it is down by {deep}"
    if cash.is_upstream:
        said += "; stretches are mined upstream."
    else:
        less = money_words(cash.at_risk_upstream - cash.at_risk_in_order, currency)
        said += f"; the order of stretches puts {less} less at risk than upstream does,"
        said += " but mind where water and tailings go."
    if cash.worth_today is not None:
        today = money_interval_words(cash.worth_today, currency)
        said += f" With interest, what is left is worth {today} today."
    if cash.cut_off:
        said += " The plan is longer than the weeks that are followed."
    return said + " Gold is sold in the week that it is washed; working weeks only."


def _size_table(answer: WorthAnswer, measures: Measures) -> WorthTable | None:
    rows = tuple(
        (
            _size_words(one),
            interval_words(one.gold_g.scaled(MG_IN_G), "mass", measures),
            percent_words(one.keeps),
        )
        for one in answer.sizes
    )
    return WorthTable(
        key="sizes",
        title="Gold by size",
        headings=("size of the gold", "in the cut", "plant keeps"),
        rows=rows,
        note="By the sizes of the colors counted; what a plant keeps of each is common "
        "practice, no source, where you say nothing.",
    )


def _size_words(row: SizeRow) -> str:
    if row.from_mm is None:
        return f"under {row.to_mm:g} mm"
    if row.to_mm is None:
        return f"over {row.from_mm:g} mm"
    return f"{row.from_mm:g} to {row.to_mm:g} mm"


def _depth_table(answer: WorthAnswer, measures: Measures) -> WorthTable | None:
    rows = []
    for one in answer.depths:
        top, unit = measures.show(one.top_m, "length")
        bottom = measures.show(one.bottom_m, "length")[0]
        rows.append(
            (
                f"{top:.1f} to {bottom:.1f}{NO_BREAK}{unit}",
                quantity_words(one.overburden_m3, "volume", measures),
                quantity_words(one.pay_m3, "volume", measures),
                quantity_words(one.gold_g * MG_IN_G, "mass", measures),
            )
        )
    return WorthTable(
        key="depths",
        title="The cut by depth",
        headings=("below the surface", "overburden", "pay", "gold"),
        rows=tuple(rows),
    )


def _left_out_table(answer: WorthAnswer, measures: Measures) -> WorthTable | None:
    rows = tuple(
        (
            one.reason,
            area_words(one.area_m2, measures),
            interval_words(one.gold_g.scaled(MG_IN_G), "mass", measures),
        )
        for one in answer.left_out
    )
    return WorthTable(
        key="left",
        title="Ground left out",
        headings=("sampled ground", "area", "gold left with it"),
        rows=rows,
        note="Each place counts once, for the first reason that holds.",
    )


def _room_table(answer: WorthAnswer, measures: Measures) -> WorthTable | None:
    if answer.room is None:
        return None
    spoil = answer.room.spoil
    volumes = (
        ("overburden, loose", spoil.overburden_loose_m3),
        ("tailings, loose", spoil.tailings_loose_m3),
        ("in heaps at once, at most", spoil.heaped_m3),
        ("left over once filled in, loose", spoil.left_over_m3),
    )
    rows = [(what, quantity_words(m3, "volume", measures)) for what, m3 in volumes]
    rows += [
        ("ground under the heaps", area_words(spoil.heap_m2, measures)),
        ("if nothing is filled in", area_words(spoil.whole_heap_m2, measures)),
        ("ground beside the cut that may take it", area_words(_free(answer), measures)),
    ]
    height = quantity_words(HEAP_M, "length", measures)
    note = (
        f"Heaps {height} high with sides of 1.5 to 1, each hole filled by the next "
        "stretch; common practice, no source. Keep spoil back from the edge."
    )
    if spoil.heap_m2 > _free(answer):
        note = f"There is not room enough for the heaps on this ground. {note}"
    return WorthTable(
        key="room",
        title="Room for spoil",
        headings=("what", "how much"),
        rows=tuple(rows),
        note=note,
    )


def _free(answer: WorthAnswer) -> float:
    return 0.0 if answer.room is None else answer.room.free_m2


def _water_table(answer: WorthAnswer, measures: Measures) -> WorthTable | None:
    room = answer.room
    if room is None:
        return None
    water = room.water
    rows = [
        ("through the plant", flow_words(water.plant_m3_per_hour, measures)),
        ("surface of a settling pond", area_words(water.pond_m2, measures)),
        ("its volume, mud included", quantity_words(water.pond_m3, "volume", measures)),
        ("mud of the whole cut", quantity_words(water.mud_m3, "volume", measures)),
    ]
    pump = water.pump_m3_per_hour
    if pump is not None and water.water_depth_m is not None:
        low, high = (flow_words(one, measures) for one in (pump.p10, pump.p90))
        rows.append(("seeping into the pit", f"{low} to {high}"))
    return WorthTable(
        key="water",
        title="Water, ponds and pumps",
        headings=("what", "how much"),
        rows=tuple(rows),
        note=_water_note(answer, measures),
    )


def _water_note(answer: WorthAnswer, measures: Measures) -> str:
    room = answer.room
    said = (
        "Orders of magnitude: silt of 0.02 mm sinks by Stokes's law, the pond "
        f"{RESTLESS:g} times as large as still water needs."
    )
    if room is None or room.water.water_depth_m is None:
        return f"{said} No dig met water, so that no pump is reckoned."
    depth = quantity_words(room.water.water_depth_m, "length", measures)
    said += f" {room.water_digs} of {room.digs} digs met water, at about {depth}."
    if room.water.pump_m3_per_hour is None:
        return f"{said} The cut ends above it on average."
    return (
        f"{said} Seepage as into a wide well in gravel; beside a creek more comes in."
    )
