"""One pan, written down in a few taps: which dig, how deep, how many colors."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from string import ascii_lowercase

from pennyweight.book.changes import Change, putting
from pennyweight.records import Dig, Log, Sample, Tally
from pennyweight.units import Measures, to_inside
from pennyweight.web.forms import FieldError, parse_number

#: Class of the field log for all colors of a sample, whatever their size.
ALL = "all"

#: Digs that are offered: those written in last.
MOST_OFFERED = 6

#: Gravel that a pan is taken from where nothing tells, 1 ft; our assumption [m].
USUAL_CUT_M = 0.3048

#: Most colors of one pan, pans of one sample and depth [m] that are believed.
MOST_COLORS, MOST_PANS, MOST_DEPTH_M = 10_000, 1000.0, 60.0


@dataclass(frozen=True, slots=True)
class Cut:
    """The depths between which gravel is taken [m]."""

    top_m: float
    bottom_m: float


@dataclass(frozen=True, slots=True)
class Offer:
    """A dig that the pan may come from.

    Attributes
    ----------
    dig : str
        Its name.
    again, below : Cut
        Where its last sample came from, and the gravel right below that.
    """

    dig: str
    again: Cut
    below: Cut


@dataclass
class OnePan:
    """A pan as it is to be written, or what is wrong with it."""

    changes: list[Change] = field(default_factory=list)
    errors: dict[str, str] = field(default_factory=dict)
    sample: str = ""
    why: str = ""


def offer_digs(log: Log) -> list[Offer]:
    """Return the digs that a pan most likely comes from, the last one first."""
    names = [one.dig for one in reversed(log.samples)]
    names += [one.dig for one in reversed(log.digs)]
    return [_offer(log, name) for name in list(dict.fromkeys(names))[:MOST_OFFERED]]


def _offer(log: Log, dig: str) -> Offer:
    cuts = [
        Cut(one.top_m, one.bottom_m)
        for one in log.samples
        if one.dig == dig and one.top_m is not None and one.bottom_m is not None
    ]
    if not cuts:
        first = Cut(0.0, USUAL_CUT_M)
        return Offer(dig, first, first)
    again = cuts[-1]
    lowest = max(one.bottom_m for one in cuts)
    thick = again.bottom_m - again.top_m
    return Offer(dig, again, Cut(lowest, lowest + thick))


def name_sample(log: Log, dig: str) -> str:
    """Return a free name for a sample of a dig: "T1-1-a".

    Examples
    --------
    >>> name_sample(Log(samples=(Sample(sample="A-a", dig="A"),)), "A")
    'A-b'
    """
    taken = {one.sample for one in log.samples}
    letters = [*ascii_lowercase, *(f"p{at}" for at in range(len(taken) + 1))]
    return next(
        f"{dig}-{letter}" for letter in letters if f"{dig}-{letter}" not in taken
    )


def read_pan(
    form: Mapping[str, str], log: Log, measures: Measures, *, today: str
) -> OnePan:
    """Return what a form of one pan comes to.

    Parameters
    ----------
    form : mapping
        dig; where: again, below or typed, with top and bottom in the reader's unit;
        pans; colors.
    log : Log
        The record.
    measures : Measures
        The reader's units.
    today : str
        ISO 8601.
    """
    pan = OnePan()
    dig = next((one for one in log.digs if one.dig == form.get("dig")), None)
    if dig is None:
        pan.errors["dig"] = "Choose the dig that the pan came from."
        return pan
    cut = _read_cut(form, _offer(log, dig.dig), measures, pan.errors)
    pans = _read_number(form, "pans", MOST_PANS, pan.errors)
    colors = _read_number(form, "colors", MOST_COLORS, pan.errors, least=0.0)
    if "colors" not in pan.errors and colors != int(colors):
        pan.errors["colors"] = f"{form['colors']} is no whole number of colors."
    if pan.errors:
        return pan
    pan.sample = name_sample(log, dig.dig)
    sample = Sample(
        sample=pan.sample,
        dig=dig.dig,
        top_m=cut.top_m,
        bottom_m=cut.bottom_m,
        method="pan",
        pans=pans,
        date=today,
    )
    tally = Tally(sample=pan.sample, size_class=ALL, colors=int(colors))
    pan.changes = [
        putting("samples", sample, based_on=0),
        putting("tallies", tally, based_on=0),
        *_deepened(dig, cut),
    ]
    pan.why = f"Wrote one pan of {dig.dig}: {int(colors)} colors"
    return pan


def _deepened(dig: Dig, cut: Cut) -> list[Change]:
    """Return the dig as deep as the sample reached, where it was written shallower."""
    if dig.bottom_m is None or dig.bottom_m >= cut.bottom_m:
        return []
    typed = {key: text for key, text in dig.typed.items() if "bottom" not in key}
    deeper = replace(dig, bottom_m=cut.bottom_m, stopped_by=None, typed=typed)
    return [putting("digs", deeper)]


def _read_cut(
    form: Mapping[str, str], offer: Offer, measures: Measures, errors: dict[str, str]
) -> Cut:
    where = form.get("where", "")
    if where == "again":
        return offer.again
    if where == "below":
        return offer.below
    if where != "typed":
        errors["where"] = "Say how deep the gravel came from."
        return offer.again
    depths = [
        to_inside(
            _read_number(form, name, 1e6, errors, least=0.0), measures.length, "length"
        )
        for name in ("top", "bottom")
    ]
    if not errors and not depths[0] < depths[1] <= MOST_DEPTH_M:
        errors["bottom"] = (
            f"From {form['top']} to {form['bottom']} goes nowhere: the lower end lies "
            "deeper than the upper one."
        )
    return Cut(depths[0], depths[1])


def _read_number(
    form: Mapping[str, str],
    name: str,
    most: float,
    errors: dict[str, str],
    *,
    least: float = 1e-9,
) -> float:
    text = form.get(name, "").strip()
    if name == "colors" and not text:
        errors[name] = "Tap how many colors there were; 0 if there was none."
        return 0.0
    try:
        value = parse_number(text)
    except FieldError as error:
        errors[name] = str(error)
        return 0.0
    if not least <= value <= most:
        errors[name] = f"{text} is not taken; give up to {most:g}."
    return value
