"""The verdict of `worth` in words: on what it rests, and whether it still holds."""

from __future__ import annotations

from collections.abc import Sequence

from pennyweight.answers.influence import Without
from pennyweight.answers.wording import list_words, money_words, percent_words
from pennyweight.worth.risk import Swing
from pennyweight.worth.terms import Terms

#: What a term is called in a sentence.
TERM_WORDS = {
    "price_per_g": "the price of gold",
    "recovery": "what the plant keeps",
    "wash_per_m3": "the cost of washing",
    "strip_per_m3": "the cost of stripping",
    "m3_per_hour": "how fast the plant washes",
    "digs_m3_per_hour": "how fast the digger strips",
    "fixed": "the fixed costs",
    "gold": "how much gold there is",
}

#: What knowing is worth is said when it is more than this share of the margin [-].
WORTH_SAYING = 0.01
#: Chances of a loss up to which the cut is worth mining, probably so, or open [-].
WORTH_LOSS, PROBABLY_LOSS, OPEN_LOSS = 0.15, 0.35, 0.60


def say_verdict(
    margin: float, loss: float, *, withouts: Sequence[Without], all_poor: bool
) -> str:
    """Return the plain verdict: it must hold without any one sample or nugget.

    Parameters
    ----------
    margin, loss : float
        Expected margin [currency] and chance of a loss [-].
    withouts : sequence of Without
        The same with something left out; empty where nothing weighs that much.
    all_poor : bool
        Whether every sample is poor to rely on.

    Returns
    -------
    str
        One or more sentences.
    """
    told = [_say_without(one) for one in withouts]
    pays = margin > 0.0 and loss <= PROBABLY_LOSS
    broken = [one for one in withouts if not _pays(one)]
    if pays and broken:
        first = f"Open: it pays only with {broken[0].what}. Sample more first."
    elif pays and all_poor:
        first = (
            "Sample more first: by these numbers it would pay, but every sample is "
            "poor to rely on."
        )
    else:
        losses = [one.chance_of_loss or 0.0 for one in withouts] if pays else []
        first = _say_plain(margin, max([loss, *losses]))
    return " ".join([first, *told])


def _pays(without: Without) -> bool:
    """Return whether it is still probably worth mining."""
    margin, loss = without.margin_mean, without.chance_of_loss
    if margin is None or loss is None:
        return False
    return margin > 0.0 and loss <= PROBABLY_LOSS


def _say_plain(margin: float, loss: float) -> str:
    """Return the verdict by margin and chance of a loss alone."""
    if margin > 0.0 and loss <= WORTH_LOSS:
        return "Worth mining by these numbers."
    if margin > 0.0 and loss <= PROBABLY_LOSS:
        return (
            "Probably worth mining, but a loss is not far: test the cut in bulk first."
        )
    if margin > 0.0 and loss <= OPEN_LOSS:
        return (
            "Open: it pays on average, but a loss is about as near. Sample more first."
        )
    if margin > 0.0:
        return (
            "Open: it pays on average, but only by rich chances; a loss is nearer. "
            "Sample more first."
        )
    if loss < 1.0 - WORTH_LOSS:
        return "Not as it stands: it loses on average, but more digs may turn it."
    return "Leave it: even the best cut very probably loses."


def _say_without(one: Without) -> str:
    """Return what a sample or nugget makes, and what is left without it."""
    what = one.what[:1].upper() + one.what[1:]
    verb = "make" if one.many else "makes"
    said = f"{what} {verb} {percent_words(one.gold_share)} of {one.gold_of}; without "
    said += "them " if one.many else "it "
    if one.margin_mean is None or one.chance_of_loss is None:
        return said + "no ground pays for its own digging and washing."
    left = money_words(one.margin_mean, one.currency)
    chance = percent_words(one.chance_of_loss)
    return said + f"{left} is left on average and the chance of a loss is {chance}."


def say_reasons(
    margin: float, swings: Sequence[Swing], knowing: float, *, terms: Terms
) -> str:
    """Return what moves the margin most, and what knowing the ground is worth.

    Parameters
    ----------
    margin : float
        Expected margin [currency].
    swings : sequence of Swing
        The strongest first.
    knowing : float
        The most that sampling could add [currency].
    terms : Terms
        Whose currency is named.

    Returns
    -------
    str
        Sentences with a blank before each; empty where nothing is to be said.
    """
    said = ""
    if swings:
        said += f" What moves it most is {TERM_WORDS[swings[0].name]}"
        others = [TERM_WORDS[one.name] for one in swings[1:3]]
        said += f", then {list_words(others)}." if others else "."
    if knowing > WORTH_SAYING * abs(margin):
        worth = money_words(knowing, terms.currency)
        said += f" Knowing the ground exactly would be worth {worth} at most."
    return said
