"""Short ids that survive mud: a batch, a number, and a check character.

`7K-014-0` is bag 14 of batch 7K; the last 0 is worked out from the rest, so that a
letter misread on a wet bag, or two that changed places, are noticed. The letters I, L
and O are never used, so that a 1 or a 0 read for one of them does no harm. Labels have
batches of two characters; the pocket form draws one of three for each phone; proposed
digs are named in batches that begin with D.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice

#: The 36 characters of ISO/IEC 7064, MOD 37,36, in the order of their values.
ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
#: Read as digits wherever they stand: an id never holds them.
LOOK_ALIKE = {"I": "1", "L": "1", "O": "0"}
#: What a batch is made of.
BATCH_LETTERS = "".join(one for one in ALPHABET[2:] if one not in LOOK_ALIKE)
#: Bags of one batch, at most: the number has three digits.
MOST_BAGS = 999

_WHOLE = re.compile(r"([0-9A-Z]{2,3})(\d{3})([0-9A-Z])")
_BETWEEN = re.compile(r"[\s\-\u2010-\u2015_.]+")


def check_character(body: str) -> str:
    """Return the check character of ISO/IEC 7064, MOD 37,36.

    Parameters
    ----------
    body : str
        Digits and capital letters.

    Raises
    ------
    ValueError
        It holds something else, or nothing.

    References
    ----------
    ISO/IEC 7064:2003, hybrid system MOD 37,36. Key "check-character" in
    docs/sources.md.

    Examples
    --------
    >>> check_character("A12425GABC1234002")
    'M'
    """
    if not body or any(one not in ALPHABET for one in body):
        msg = f"{body!r} must be digits and capital letters only, at least one."
        raise ValueError(msg)
    modulus = len(ALPHABET)
    carried = modulus
    for one in body:
        summed = (carried + ALPHABET.index(one)) % modulus or modulus
        carried = summed * 2 % (modulus + 1)
    return ALPHABET[(modulus + 1 - carried) % modulus]


def has_check(text: str) -> bool:
    """Tell whether the last character is the check character of those before it."""
    return len(text) > 1 and check_character(text[:-1]) == text[-1]


def find_batch(book_id: str) -> str:
    """Return the batch that a book's labels are printed in, always the same."""
    digest = hashlib.sha256(book_id.encode()).digest()
    return "".join(BATCH_LETTERS[byte % len(BATCH_LETTERS)] for byte in digest[:2])


def number_digs(book_id: str, places: Sequence[tuple[float, float]]) -> tuple[str, ...]:
    """Return names for proposed digs: the same plan gives the same names.

    Another plan has another batch, so that a dig of yesterday's paper is not mixed
    up with one of today's.

    Parameters
    ----------
    book_id : str
        Identity of the book.
    places : sequence of (float, float)
        easting_m and northing_m of each dig, in the order of their ranks [m].
    """
    told = "".join(f"\n{east:.2f} {north:.2f}" for east, north in places)
    batch = f"D{find_batch(book_id + told)}"
    return tuple(islice(number_bags(batch), len(places)))


def number_bags(batch: str, first: int = 1) -> Iterator[str]:
    """Yield the ids of a batch in order, up to its last number.

    Numbers whose check character would be I, L or O are left out.

    Parameters
    ----------
    batch : str
        Two or three of `BATCH_LETTERS`.
    first : int
        Number to begin with.

    Raises
    ------
    ValueError
        The batch or the number cannot be used.
    """
    if len(batch) not in {2, 3} or any(one not in BATCH_LETTERS for one in batch):
        msg = f"batch {batch!r} must be 2 or 3 characters of {BATCH_LETTERS}."
        raise ValueError(msg)
    if not 1 <= first <= MOST_BAGS:
        msg = f"first bag is {first}; it must lie between 1 and {MOST_BAGS}."
        raise ValueError(msg)
    for number in range(first, MOST_BAGS + 1):
        check = check_character(f"{batch}{number:03d}")
        if check not in LOOK_ALIKE:
            yield f"{batch}-{number:03d}-{check}"


def parse_bag_id(text: str) -> str:
    """Return a bag's id in its one written form.

    Parameters
    ----------
    text : str
        As read off a bag: dashes and capitals do not matter.

    Raises
    ------
    ValueError
        It is no bag id, or its check character does not fit.

    Examples
    --------
    >>> parse_bag_id("7k o14 o")
    '7K-014-0'
    """
    plain = _BETWEEN.sub("", text.strip()).upper()
    plain = "".join(LOOK_ALIKE.get(one, one) for one in plain)
    parts = _WHOLE.fullmatch(plain)
    if parts is None:
        msg = f"{text!r} is no bag id; one looks like 7K-014-0."
        raise ValueError(msg)
    if not has_check(plain):
        msg = (
            f"{text!r} cannot be right: the last character would be "
            f"{check_character(plain[:-1])}. Read the bag again."
        )
        raise ValueError(msg)
    return "-".join(parts.groups())


def next_number(batch: str, names: Iterable[str]) -> int:
    """Return the number after the highest of a batch among sample names.

    Parameters
    ----------
    batch : str
        As of `find_batch`.
    names : iterable of str
        Names already given; those that are no ids of the batch do not count.
    """
    highest = 0
    for name in names:
        try:
            told, number, _ = parse_bag_id(name).split("-")
        except ValueError:
            continue
        if told == batch:
            highest = max(highest, int(number))
    return highest + 1
