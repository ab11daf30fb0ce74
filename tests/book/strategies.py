"""Logs as they may come out of any field log, for drawn tests."""

from dataclasses import replace
from hashlib import sha256
from typing import Any

from hypothesis import strategies as st

from pennyweight.book.rows import fields_of, key_of, same_key
from pennyweight.records import KEYS, Attachment, Log, Record

#: Any text that UTF-8 can carry, the empty one and the null character included.
TEXTS = st.text(st.characters(codec="utf-8"), max_size=6)
NUMBERS = st.floats(allow_nan=False, allow_infinity=False)
WHOLES = st.integers(-(2**63), 2**63 - 1)
PLAIN = st.none() | st.booleans() | WHOLES | NUMBERS | TEXTS
TABLES = st.dictionaries(
    TEXTS, st.recursive(PLAIN, lambda inner: st.lists(inner, max_size=2), max_leaves=3),
    max_size=2,
)  # fmt: skip
WORDS = st.dictionaries(TEXTS, TEXTS, max_size=2)
VALUES: dict[str, st.SearchStrategy[Any]] = {
    "text": TEXTS,
    "number": NUMBERS,
    "whole": WHOLES,
    "flag": st.booleans(),
    "words": TABLES,
    "names": st.just(()),
}


def records(table: str, **fixed: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Return a strategy for the records of a table; None wherever it may be."""
    said = {
        field.name: VALUES[field.kind]
        if field.required
        else st.none() | VALUES[field.kind]
        for field in fields_of(table)
    }
    said |= {"typed": WORDS, "extra": WORDS}
    return st.builds(KEYS[table][0], **(said | fixed))


def unlike(table: str, found: list[Record]) -> tuple[Record, ...]:
    """Return the records whose keys differ, as a log holds them."""
    by_key = {same_key(table, key_of(table, record)): record for record in found}
    return tuple(by_key.values())


@st.composite
def logs(draw: st.DrawFn) -> Log:
    """Draw a log whose references lead somewhere."""

    def some(table: str, **fixed: st.SearchStrategy[Any]) -> tuple[Any, ...]:
        found = draw(st.lists(records(table, **fixed), max_size=3))
        return unlike(table, found)

    digs = some("digs")
    of_dig = st.sampled_from([dig.dig for dig in digs]) if digs else st.nothing()
    samples = some("samples", dig=of_dig) if digs else ()
    names = [sample.sample for sample in samples]
    of_sample = st.sampled_from(names) if names else st.nothing()
    depth = st.floats(0.0, 20.0)
    weighed = st.lists(of_sample, unique=True).map(tuple) if names else st.just(())
    files = some(
        "attachments", dig=st.none() | of_dig if digs else st.none(),
        content=st.binary(max_size=9), sha256=st.just(""),
    )  # fmt: skip
    return Log(
        ground=draw(records("ground", log_id=TEXTS)),
        digs=digs,
        layers=some("layers", dig=of_dig, top_m=depth) if digs else (),
        samples=samples,
        tallies=some("tallies", sample=of_sample) if names else (),
        weighings=some("weighings", samples=weighed),
        grains=some("grains", sample=of_sample) if names else (),
        rocks=some("rocks", dig=st.none() | of_dig if digs else st.none()),
        days=some("days"),
        cleanups=some("cleanups"),
        pantests=some("pantests"),
        buckets=some("buckets"),
        features=some("features"),
        waypoints=some("waypoints"),
        attachments=tuple(with_sum(one) for one in files),
    )


def with_sum(attachment: Attachment) -> Attachment:
    """Return an attachment that names its content rightly."""
    return replace(attachment, sha256=sha256(attachment.content).hexdigest())
