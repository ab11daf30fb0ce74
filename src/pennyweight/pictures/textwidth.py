"""How wide a line of text will be, so that labels can keep clear of each other.

Advance widths of Source Sans 3, in thousandths of the type size, for the printable
ASCII characters from the space on; other characters by the short table below.
"""

from __future__ import annotations

_REGULAR = (
    200, 289, 426, 497, 497, 824, 609, 249, 303, 303, 418, 497, 249, 311, 249, 350,
    497, 497, 497, 497, 497, 497, 497, 497, 497, 497, 249, 249, 497, 497, 497, 425,
    847, 544, 588, 571, 615, 527, 494, 617, 652, 263, 480, 579, 486, 727, 647, 664,
    566, 664, 569, 534, 536, 645, 515, 786, 513, 476, 539, 303, 350, 303, 497, 500,
    542, 504, 553, 456, 555, 496, 292, 504, 544, 246, 247, 495, 255, 829, 547, 542,
    555, 555, 347, 419, 338, 544, 467, 719, 446, 467, 425, 303, 241, 303, 497,
)  # fmt: skip
_OTHER = {
    "\u00a0": 200, "\u202f": 120, "\u2013": 480, "—": 800, "·": 249, "²": 367, "³": 367,
    "→": 619, "←": 619, "↓": 619, "↑": 619, "…": 948, "\u2019": 249, "\u2212": 497,
}  # fmt: skip

#: Semibold is wider than regular by this much on average [-].
_SEMIBOLD = 1.035

#: A character of another script, in thousandths of the type size: wide, to be safe.
_UNKNOWN = 640


def text_width(words: str, size_px: float, *, bold: bool = False) -> float:
    """Return the width of a line of text.

    Parameters
    ----------
    words : str
        The line.
    size_px : float
        Type size [px].
    bold : bool
        Whether it is set in semibold.

    Returns
    -------
    float
        Width [px].

    Examples
    --------
    >>> text_width("dig 12", 10.0)
    24.99
    """
    total = sum(_advance(letter) for letter in words)
    return round(total * size_px * (_SEMIBOLD if bold else 1.0) / 1000.0, 2)


def _advance(letter: str) -> int:
    place = ord(letter) - 32
    if 0 <= place < len(_REGULAR):
        return _REGULAR[place]
    return _OTHER.get(letter, _UNKNOWN)


def shorten(words: str, size_px: float, room_px: float) -> str:
    """Return the words, cut with an ellipsis where they are wider than the room.

    >>> shorten("a very long name", 10.0, 40.0)
    'a very l…'
    """
    if text_width(words, size_px) <= room_px:
        return words
    while words and text_width(words + "…", size_px) > room_px:
        words = words[:-1]
    return words.rstrip() + "…"


def wrap(words: str, size_px: float, room_px: float) -> list[str]:
    """Return the words broken into lines that fit the room.

    >>> wrap("loose gravel, sandy", 10.0, 60.0)
    ['loose gravel,', 'sandy']
    """
    lines: list[str] = []
    line = ""
    for word in words.split(" "):
        longer = f"{line} {word}" if line else word
        if line and text_width(longer, size_px) > room_px:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line]
