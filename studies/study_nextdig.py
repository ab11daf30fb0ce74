"""Next digs: what the same number of digs is worth, chosen by the tool or otherwise.

Ground is invented and first sampled by five lines of digs. Then a dozen more digs are
opened: where the tool proposes them, four at a time; as regular lines half-way between
the first; or at random. The same model then decides, block by block, what to mine at
the cutoff, and the truth settles it. Regret is the gold above the cutoff that the
decision gave away: what a perfect one would have brought, less what this one brings.
The seeds of the table were not used while building.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from simulated_ground import (
    CUTOFF_MG_M3,
    EAST_M,
    MIN_PAY_M,
    NORTH_M,
    STANDARD,
    Notebook,
    Truth,
    dig_lines,
    make_truth,
    open_dig,
    open_notebook,
    write_log,
)

from pennyweight.answers.answer import BookName
from pennyweight.answers.nextdigs import plan_digs
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import TraceAnswer, trace_streaks

FloatArray = npt.NDArray[np.float64]

N_GROUNDS = 200

#: Five lines 30 m apart, a dig every 5 m, two pans from each contact.
SPARSE = replace(
    STANDARD, name="sparse program", n_lines=5, line_gap_m=30.0, dig_gap_m=5.0, pans=2.0
)
#: Digs added in all, and at a time.
MORE_DIGS, AT_A_TIME = 12, 4
#: Days that are offered to the plan: more than four digs take [d].
PLENTY_DAYS = 6.0
#: Side of a block that is mined or left [m].
BLOCK_M = 2.0
#: The drawn centerline begins so far above the first line [m].
ABOVE_M = 40.0

POLICIES = ("the tool", "regular grid", "random digs")
N_BOOT = 4000


@dataclass
class Blocks:
    """Middles of the blocks that are decided on, and what mining each truly brings."""

    s_m: FloatArray
    n_m: FloatArray
    value: FloatArray


def study(rng: np.random.Generator) -> str:
    """Return the table of regrets, as Markdown."""
    regret = np.array(
        [regrets(int(seed)) for seed in rng.integers(10_000, 2**31, N_GROUNDS)]
    )
    return say_table(regret, np.random.default_rng(7))


def regrets(seed: int) -> tuple[float, float, float, float]:
    """Return the regret of each policy on one ground, and of the first lines alone.

    As a share of what a perfect decision would bring [-].
    """
    rng = np.random.default_rng([seed, 11])
    truth = make_truth(SPARSE, rng)
    first = open_notebook(truth, rng)
    dig_lines(truth, rng, first)
    blocks = true_blocks(truth)
    best = float(np.maximum(blocks.value, 0.0).sum())
    books = {
        "the tool": copy_of(first),
        "regular grid": copy_of(first),
        "random digs": copy_of(first),
    }
    # The same stream of chances behind each policy, so that only the places differ.
    by_tool(truth, books["the tool"], np.random.default_rng([seed, 21]), seed)
    by_grid(truth, books["regular grid"], np.random.default_rng([seed, 22]))
    at_random(truth, books["random digs"], np.random.default_rng([seed, 23]))
    found = [regret_of(books[one], blocks, seed) for one in POLICIES]
    found.append(regret_of(first, blocks, seed))
    tool, grid, chance, before = (one / best for one in found)
    return tool, grid, chance, before


def copy_of(book: Notebook) -> Notebook:
    """Return a notebook that can be written on alone."""
    return replace(
        book,
        digs=list(book.digs),
        layers=list(book.layers),
        samples=list(book.samples),
        tallies=list(book.tallies),
    )


def true_blocks(truth: Truth) -> Blocks:
    """Return the blocks of the sampled stretch with what mining them truly brings."""
    length = SPARSE.line_gap_m * (SPARSE.n_lines - 1)
    half = SPARSE.floor_m / 2.0 - SPARSE.dig_gap_m
    s_m = np.arange(BLOCK_M / 2.0, length, BLOCK_M)
    n_m = np.arange(-half + BLOCK_M / 2.0, half, BLOCK_M)
    fine = truth.field["bedrock"]
    value = np.empty((len(s_m), len(n_m)))
    for row, s in enumerate(s_m):
        for column, n in enumerate(n_m):
            along = np.abs(truth.s_m - s) <= BLOCK_M / 2.0
            across = np.abs(truth.n_m - n) <= BLOCK_M / 2.0
            value[row, column] = fine[np.ix_(along, across)].mean()
    cost = CUTOFF_MG_M3 * max(truth.thickness_m, MIN_PAY_M)
    return Blocks(s_m, n_m, (value - cost) * BLOCK_M**2)


def trace(book: Notebook, seed: int) -> tuple[Reading, TraceAnswer]:
    """Return what the tool makes of a notebook."""
    log = write_log(SPARSE, book)
    name = BookName(name="invented", id="study")
    made_at = "2026-01-01T00:00:00+00:00"
    reading = Reading(book=name, revision="1", log=log, made_at=made_at, seed=seed)
    return reading, trace_streaks(reading, cutoff_mg_m3=CUTOFF_MG_M3)


def by_tool(truth: Truth, book: Notebook, rng: np.random.Generator, seed: int) -> None:
    """Open digs where the tool proposes them, some at a time."""
    opened = 0
    while opened < MORE_DIGS:
        reading, _ = trace(book, seed)
        plan = plan_digs(reading, PLENTY_DAYS)
        wanted = [one for one in plan.digs if one.kind != "end dig"][:AT_A_TIME]
        if not wanted:
            return
        for number, one in enumerate(wanted[: MORE_DIGS - opened]):
            place = (one.easting_m - EAST_M, one.northing_m - NORTH_M)
            line = one.line or f"T{opened + number}"
            more(truth, book, rng, (f"t{opened + number}", line), place)
        opened += len(wanted)


def by_grid(truth: Truth, book: Notebook, rng: np.random.Generator) -> None:
    """Open digs on lines half-way between the first, evenly spread."""
    gaps = (np.arange(SPARSE.n_lines - 1) + 0.5) * SPARSE.line_gap_m
    each = MORE_DIGS // len(gaps)
    half = SPARSE.floor_m / 2.0
    across = np.linspace(-half + 2.5, half - 2.5, each)
    for row, s_m in enumerate(gaps):
        for column, n_m in enumerate(across):
            name = (f"g{row}-{column}", f"G{row}")
            more(truth, book, rng, name, (float(s_m), float(n_m)))


def at_random(truth: Truth, book: Notebook, rng: np.random.Generator) -> None:
    """Open digs anywhere in the sampled stretch."""
    length = SPARSE.line_gap_m * (SPARSE.n_lines - 1)
    half = SPARSE.floor_m / 2.0
    for number in range(MORE_DIGS):
        place = (float(rng.uniform(0.0, length)), float(rng.uniform(-half, half)))
        more(truth, book, rng, (f"r{number}", f"R{number}"), place)


def more(
    truth: Truth,
    book: Notebook,
    rng: np.random.Generator,
    name: tuple[str, str],
    place: tuple[float, float],
) -> None:
    """Open one more dig: on a line by tape from its peg, elsewhere by the receiver."""
    lines = {f"L{at + 1}": shift for at, shift in enumerate(truth.shift_n_m)}
    if name[1] in lines:
        shift = (0.0, lines[name[1]])
    else:
        east, north = rng.normal(0.0, SPARSE.receiver_m, 2)
        shift = (float(east), float(north))
    dug = (place[0] - shift[0], place[1] - shift[1])
    open_dig(truth, rng, book, name=name[0], line=name[1], place=dug, shift=shift)


def regret_of(book: Notebook, blocks: Blocks, seed: int) -> float:
    """Return what the tool's decision gives away, block by block [mg]."""
    _, answer = trace(book, seed)
    mined = np.zeros(blocks.value.shape, dtype=np.bool_)
    for one in answer.fields:
        if one.horizon != "bedrock":
            continue
        thick = np.where(np.isfinite(one.thickness_m), one.thickness_m, MIN_PAY_M)
        over = one.accumulation_mg_m2 - CUTOFF_MG_M3 * np.maximum(thick, MIN_PAY_M)
        expected = np.where(one.sampled, over.mean(axis=0), -1.0)
        rows = np.abs(one.s_m[:, None] - ABOVE_M - blocks.s_m).argmin(axis=0)
        columns = np.abs(one.n_m[:, None] - blocks.n_m).argmin(axis=0)
        mined |= expected[np.ix_(rows, columns)] > 0.0
    best = np.maximum(blocks.value, 0.0).sum()
    return float(best - blocks.value[mined].sum())


def say_table(regret: FloatArray, rng: np.random.Generator) -> str:
    """Return mean regrets and their ratios with paired bootstrap intervals."""
    count = len(regret)
    rows = [
        f"| {name} | {regret[:, at].mean():.3f} | "
        f"{regret[:, at].std() / math.sqrt(count):.3f} |"
        for at, name in enumerate((*POLICIES, "the first lines alone"))
    ]
    picks = rng.integers(0, count, (N_BOOT, count))
    ratios = []
    for at, name in ((1, "a regular grid"), (2, "random digs")):
        means = regret[picks].mean(axis=1)
        low, high = np.quantile(means[:, 0] / means[:, at], (0.05, 0.95))
        ratio = regret[:, 0].mean() / regret[:, at].mean()
        ratios.append(f"| to {name} | {ratio:.2f} | {low:.2f}-{high:.2f} |")
    return "\n".join(
        (
            f"{count} grounds, {MORE_DIGS} more digs on each.",
            "",
            "| digs chosen by | mean regret, share of the best | standard error |",
            "| --- | --- | --- |",
            *rows,
            "",
            "| regret of the tool | ratio | 90 % (paired bootstrap) |",
            "| --- | --- | --- |",
            *ratios,
        )
    )
