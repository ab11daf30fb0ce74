"""Which digs are chosen together, and what each is expected to tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.answers.digplan import (
    Setting,
    dig_hours,
    expect_colors,
    keep_reachable,
    reach_m,
    set_out,
    usual_step_m,
)
from pennyweight.answers.grade import read_cutoff
from pennyweight.answers.minable import Minable
from pennyweight.answers.mineground import minable_of, terms_of
from pennyweight.answers.reading import Reading
from pennyweight.nextdig.batch import Choice, Option, choose_batch, find_open_blocks
from pennyweight.nextdig.candidates import Candidate, propose_candidates
from pennyweight.nextdig.gain import look_at, simulate_counts
from pennyweight.progress import within
from pennyweight.worth.blocks import choose_washing
from pennyweight.worth.terms import find_missing_terms

FloatArray = npt.NDArray[np.float64]

#: Candidates that are weighed in full: those that promise most.
MOST_WEIGHED = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class ChosenDigs:
    """The digs chosen for some days, and what they are expected to tell.

    Attributes
    ----------
    setting : Setting
        What the choice rests on.
    candidates : tuple of Candidate
        All that were weighed.
    choices : tuple of Choice
        Those that were taken.
    options : tuple of Option
        What each candidate can tell.
    value : ndarray, shape (n_draws, n_blocks)
        What mining a block brings over leaving it [-].
    has_money : bool
        Whether that is money, or gold.
    """

    setting: Setting
    candidates: tuple[Candidate, ...]
    choices: tuple[Choice, ...]
    options: tuple[Option, ...]
    value: FloatArray
    has_money: bool


def choose_digs(reading: Reading, days: float) -> ChosenDigs | None:
    """Return the digs chosen together; None where no stretch was sampled yet."""
    return reading.once(("chosen digs", days), lambda: _choose(reading, days))


def _choose(reading: Reading, days: float) -> ChosenDigs | None:
    setting = set_out(reading, days)
    fields = setting.trace.fields
    if not fields or not any(field.sampled.any() for field in fields):
        return None
    value, minable, has_money = _value_of_blocks(setting)
    candidates = keep_reachable(
        setting, propose_candidates(setting.digs, step_m=usual_step_m(setting))
    )
    candidates = _most_promising(setting, candidates, value, minable)
    rng = np.random.default_rng([reading.seed, 3])
    options = [_option(setting, one, value, minable, rng) for one in candidates]
    choices = choose_batch(
        options,
        value,
        hours=setting.hours,
        progress=within(reading.progress, 0.6, 1.0),
    )
    return ChosenDigs(
        setting=setting,
        candidates=tuple(candidates),
        choices=tuple(choices),
        options=tuple(options),
        value=value,
        has_money=has_money,
    )


def _value_of_blocks(setting: Setting) -> tuple[FloatArray, Minable, bool]:
    """Return what mining each column brings over leaving it, in every draw.

    In money where price and costs are there, else gold above the cutoff [mg].
    """
    reading, ground = setting.reading, setting.reading.log.ground
    has_money = not find_missing_terms(ground)
    terms = terms_of(reading) if has_money else None
    cutoff = read_cutoff(ground)
    minable = minable_of(
        reading,
        edge_m=2.0 if terms is None else terms.min_width_m,
        min_pay_m=cutoff.min_pay_m if terms is None else terms.min_pay_m,
        terms=terms,
    )
    if minable is None:
        msg = f"{len(setting.trace.fields)} fields, but no stretch of them was sampled."
        raise ValueError(msg)
    blocks = minable.blocks
    if terms is None:
        needed = setting.trace.cutoff_mg_m3 * blocks.pay_m3
        value = np.maximum(blocks.gold_mg - needed, 0.0).sum(axis=1)
        poor = (blocks.gold_mg - needed).max(axis=1)
        value = np.where(value > 0.0, value, poor)
    else:
        washed = choose_washing(blocks, terms)
        gold = np.where(washed, blocks.gold_mg, 0.0).sum(axis=1) * terms.value_per_mg
        each = np.where(washed, terms.washing, terms.stripping)
        dug = (blocks.pay_m3 * each).sum(axis=1)
        value = gold - dug - blocks.cover_m3 * terms.stripping
    counted = blocks.allowed & (blocks.pay_m3.sum(axis=1).mean(axis=0) > 0.0)
    value = np.where(counted, value, 0.0)
    return value.reshape(len(value), -1), minable, has_money


def _near(
    setting: Setting, candidate: Candidate, minable: Minable
) -> npt.NDArray[np.bool_]:
    """Return the columns that a candidate can tell of: up to the next line."""
    edges = minable.blocks.s_edges_m
    along = np.abs((edges[1:] + edges[:-1]) / 2.0 - candidate.s_m)
    near = along <= reach_m(setting)
    columns = minable.blocks.area_m2.shape[1]
    return np.repeat(near, columns)


def _most_promising(
    setting: Setting,
    candidates: Sequence[Candidate],
    value: FloatArray,
    minable: Minable,
) -> list[Candidate]:
    """Keep those whose gold goes most with the worth of the ground around them."""
    is_open = find_open_blocks(value)
    promise = []
    for one in candidates:
        near = _near(setting, one, minable) & is_open
        around = value[:, near].sum(axis=1)
        colors = np.log(expect_colors(setting, one).sum(axis=0) + 0.3)
        if around.std() == 0.0 or colors.std() == 0.0:
            promise.append(0.0)
        else:
            promise.append(abs(np.corrcoef(colors, around)[0, 1]) * around.std())
    best = np.argsort(-np.array(promise), kind="stable")[:MOST_WEIGHED]
    return [candidates[at] for at in sorted(best) if promise[at] > 0.0]


def _option(
    setting: Setting,
    candidate: Candidate,
    value: FloatArray,
    minable: Minable,
    rng: np.random.Generator,
) -> Option:
    expected = expect_colors(setting, candidate)
    counts = simulate_counts(expected, rng)
    return Option(
        looks=look_at(counts),
        near=_near(setting, candidate, minable) & find_open_blocks(value),
        s_m=candidate.s_m,
        hours=dig_hours(setting, candidate),
    )
