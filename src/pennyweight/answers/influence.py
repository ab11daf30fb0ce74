"""How much of an answer rests on one sample or on one nugget."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from pennyweight.answers.grade import read_graded
from pennyweight.answers.reading import Reading
from pennyweight.answers.wording import percent_words
from pennyweight.progress import within
from pennyweight.records import Log
from pennyweight.sampling.nuggetgold import NuggetGold
from pennyweight.sampling.quality import Influence, review_quality

FloatArray = npt.NDArray[np.float64]

#: Share of the gold above which one sample is warned of [-]; ours.
WARNED_SHARE = 1.0 / 3.0
#: Share of the draws, and of the expected gold in them above which the mean is
#: warned of [-]; ours.
FEW_DRAWS, MUCH_OF_MEAN = 0.01, 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Without:
    """What is left of an answer without the sample or nugget it rests on most.

    Attributes
    ----------
    sample : str
        Which.
    what : str
        What is left out, in words.
    gold_share : float
        Its share of that gold [-].
    gold_of : str
        Which gold, in words.
    margin_mean : float or None
        Expected margin without it [currency]; None where then nothing pays.
    chance_of_loss : float or None
        Without it [-].
    currency : str
        Of the margin.
    many : bool
        Whether several nuggets are left out together.
    """

    sample: str
    what: str
    gold_share: float
    gold_of: str
    margin_mean: float | None
    chance_of_loss: float | None
    currency: str
    many: bool = False


def strongest_sample(reading: Reading) -> Influence | None:
    """Return the sample that most of the samples' gold rests on.

    Parameters
    ----------
    reading : Reading
        The book.

    Returns
    -------
    Influence or None
        None with fewer than two samples, or no gold in them.
    """

    def find() -> Influence | None:
        found = review_quality(reading.log, read_graded(reading).samples).influence
        return found[0] if found else None

    return reading.once("strongest sample", find)


def read_without(reading: Reading, sample: str) -> Reading:
    """Return the same reading as if a sample had not been washed.

    Parameters
    ----------
    reading : Reading
        The book.
    sample : str
        What is left out; its dig and layers stay.

    Returns
    -------
    Reading
        With the same seed; what is drawn on the ground does not change.
    """
    return Reading(
        book=reading.book,
        revision=reading.revision,
        log=_leave_out(reading.log, sample),
        made_at=reading.made_at,
        seed=reading.seed,
        progress=within(reading.progress, 0.9, 1.0),
    )


def _leave_out(log: Log, sample: str) -> Log:
    """Return a record in which a sample and its duplicates wait to be washed."""
    gone = {sample} | {s.sample for s in log.samples if s.duplicate_of == sample}
    return replace(
        log,
        samples=tuple(
            replace(s, weighed_mg=None) if s.sample in gone else s for s in log.samples
        ),
        tallies=tuple(t for t in log.tallies if t.sample not in gone),
        grains=tuple(g for g in log.grains if g.sample not in gone),
        weighings=tuple(w for w in log.weighings if not gone & set(w.samples)),
    )


def draw_nuggets(reading: Reading, n_draws: int) -> FloatArray | None:
    """Return draws of the gold that nuggets add to every cubic meter, on average.

    Parameters
    ----------
    reading : Reading
        The book.
    n_draws : int
        How many [-].

    Returns
    -------
    ndarray, shape (n_draws,), or None
        [mg/m3]; the same at every call; None where no nugget was found.
    """
    gold = read_graded(reading).nuggets
    if gold is None:
        return None
    return gold.draw_mg_m3(n_draws, np.random.default_rng([reading.seed, 5]))


def nugget_words(gold: NuggetGold) -> str:
    """Return what the nuggets of a ground are called, with their samples."""
    names = [one.sample for one in gold.nuggets]
    where = ", ".join(names[:3]) + (" and others" if len(names) > 3 else "")
    if gold.number == 1:
        return f"one nugget in {where}"
    return f"the {gold.number} nuggets in {where}"


def warn_of_few(
    reading: Reading, draws: FloatArray | None, nuggets: FloatArray | None
) -> tuple[str, ...]:
    """Return the cautions where an answer rests on a few grains, samples or draws.

    Parameters
    ----------
    reading : Reading
        The book.
    draws, nuggets : ndarray, shape (n_draws,), or None
        Gold in all, and in nuggets alone, in one unit [-].

    Returns
    -------
    tuple of str
        Whole sentences; empty where nothing is odd.
    """
    said = []
    gold = read_graded(reading).nuggets
    if gold is not None and draws is not None and nuggets is not None:
        share = float(nuggets.mean() / draws.mean())
        many = gold.number > 1
        said.append(
            f"{_capital(nugget_words(gold))} {'make' if many else 'makes'} "
            f"{percent_words(share)} of the gold of the stretch, which is told with "
            f"{'them' if many else 'it'}: how often such grains come is hardly known. "
            f"Streaks and grades elsewhere are told without {'them' if many else 'it'}."
        )
    top = strongest_sample(reading)
    if top is not None and top.gold_share > WARNED_SHARE:
        said.append(
            f"Sample {top.sample} alone makes {percent_words(top.gold_share)} of the "
            "gold of all samples: cut the spot again before leaning on these numbers."
        )
    if draws is not None and heavy_tail(draws) > MUCH_OF_MEAN:
        said.append(
            f"One draw in a hundred holds {percent_words(heavy_tail(draws))} of the "
            "expected gold: lean on the middle value and its interval, not on the mean."
        )
    return tuple(said)


def heavy_tail(draws: FloatArray) -> float:
    """Return the share of a mean that the highest hundredth of the draws makes.

    Parameters
    ----------
    draws : ndarray, shape (n_draws,)
        0 or more [-]; one at least.

    Returns
    -------
    float
        Between 0 and 1 [-]; 0 where all are 0.

    Examples
    --------
    >>> heavy_tail(np.array([1.0] * 99 + [101.0]))
    0.505
    """
    few = max(1, round(FEW_DRAWS * len(draws)))
    total = float(draws.sum())
    return float(np.sort(draws)[-few:].sum()) / total if total > 0.0 else 0.0


def all_poor(reading: Reading) -> bool:
    """Tell whether every graded sample is poor to rely on; False without any."""
    words = {
        one.reliability
        for one in read_graded(reading).samples
        if one.counts_for_grade and one.grade_mg_m3 is not None
    }
    return words == {"poor"}


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


__all__ = [
    "Without",
    "all_poor",
    "draw_nuggets",
    "heavy_tail",
    "nugget_words",
    "read_without",
    "strongest_sample",
    "warn_of_few",
]
