"""What a verdict is made of: sentences, each a row of parts that can be opened."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pennyweight.answers.wording import interval_words
from pennyweight.spread import Spread
from pennyweight.units import Measures


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A few words of a sentence, and what stands behind them.

    Attributes
    ----------
    text : str
        The words.
    means : str
        What the number is, for someone who opens it; empty for plain words.
    spread : Spread or None
        The number, in the inside unit of `quantity`.
    quantity : str
        length, volume, mass, grade, money, or empty.
    probability : float or None
        Where the words are those of a chance [-].
    """

    text: str
    means: str = ""
    spread: Spread | None = None
    quantity: str = ""
    probability: float | None = None


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence of a verdict."""

    parts: tuple[Part, ...]

    @property
    def text(self) -> str:
        """The sentence as one line."""
        return "".join(part.text for part in self.parts)


def verdict_text(sentences: Sequence[Sentence]) -> str:
    """Return a verdict as one paragraph."""
    return " ".join(sentence.text for sentence in sentences)


def say(*parts: Part | str) -> Sentence:
    """Return a sentence; plain text becomes a part without a number."""
    return Sentence(
        tuple(Part(text=one) if isinstance(one, str) else one for one in parts)
    )


def open_number(
    spread: Spread, quantity: str, measures: Measures, *, means: str
) -> Part:
    """Return a number with its 80 % interval."""
    return Part(
        text=interval_words(spread, quantity, measures),
        means=means,
        spread=spread,
        quantity=quantity,
    )


def open_chance(probability: float, text: str, means: str) -> Part:
    """Return the words of a chance, with the chance."""
    return Part(text=text, means=means, probability=probability)
