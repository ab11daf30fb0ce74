"""Floods over a made valley, and landlab's overland flow in the same run.

    python benchmarks/bench_highwater.py

prints how many cells are moved on by a step in a second, by both, and which share of
the machine's memory bandwidth that takes, measured by a plain copy.
"""

from __future__ import annotations

import importlib
import os
import sys
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from pennyweight.highwater.flood import Flood, flood_at, let_run, still_water
from pennyweight.highwater.reach import Reach

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "highwater"))
from flumes import meandering_valley

CELLS = 500
#: Traffic of a cell and step [bytes]: planes of 8 bytes read and written by the two
#: stages (faces 4 + 16, shares 4 + 1, change 17 + 8, twice) and the look over (6),
#: written planes counted twice because a line is fetched before it is written.
TRAFFIC = 8 * (2 * (4 + 16 + 4 + 2 + 17 + 8) + 6)


def pool() -> tuple[Reach, Flood]:
    """Return a rough plane, all of it under water that has begun to run."""
    rng = np.random.default_rng(1)
    rows = np.arange(CELLS)[:, np.newaxis]
    bed = 100.0 - 0.01 * rows + 0.05 * rng.random((CELLS, CELLS))
    reach = Reach(bed, 1.0, np.array([[0, CELLS // 2]]), manning_n=0.03)
    start = still_water(reach, np.full(bed.shape, 0.5))
    return reach, let_run(reach, start, 2.0)


def overland_flow() -> Any:
    """Return landlab's model of the same plane and water."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        landlab = importlib.import_module("landlab")
        components = importlib.import_module("landlab.components")
    reach, flood = pool()
    grid = landlab.RasterModelGrid((CELLS, CELLS), xy_spacing=1.0)
    grid.add_zeros("topographic__elevation", at="node")[:] = reach.bed_m.ravel()
    grid.add_zeros("surface_water__depth", at="node")[:] = flood.depth_m.ravel()
    return components.OverlandFlow(grid, mannings_n=0.03)


def bench_flood_of_a_reach() -> Callable[[], object]:
    """Run a flood of 60 m3/s over 500 x 500 cells of 1 m until it is steady."""
    reach = meandering_valley(CELLS, 1.0)
    return lambda: flood_at(reach, 60.0)


def bench_water_on_all_cells() -> Callable[[], object]:
    """Run water on all of 500 x 500 cells for 1 s, about 10 steps."""
    reach, flood = pool()
    return lambda: let_run(reach, flood, 1.0)


def bench_landlab_on_all_cells() -> Callable[[], object]:
    """Take 10 steps of landlab's overland flow on the same 500 x 500 cells."""
    model = overland_flow()

    def ten_steps() -> None:
        for _ in range(10):
            model.overland_flow()

    return ten_steps


def copied_bytes_s() -> float:
    """Return what a plain copy reads and writes in a second [bytes]."""
    source, target = np.ones(30_000_000), np.empty(30_000_000)
    best_s = np.inf
    for _ in range(5):
        began = time.perf_counter()
        np.copyto(target, source)
        best_s = min(best_s, time.perf_counter() - began)
    # Read, fetched before it is written, and written.
    return 3.0 * source.nbytes / best_s


def report() -> None:
    """Print the rates."""
    print(f"load before: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    reach, flood = pool()
    rates = []
    for _ in range(3):
        began, cpu = time.perf_counter(), time.process_time()
        after = let_run(reach, flood, 4.0)
        wall_s, cpu_s = time.perf_counter() - began, time.process_time() - cpu
        rates.append((after.steps * CELLS**2 / wall_s, after.steps * CELLS**2 / cpu_s))
    ours, ours_cpu = max(rates)
    model = overland_flow()
    model.overland_flow()
    began, cpu = time.perf_counter(), time.process_time()
    for _ in range(20):
        model.overland_flow()
    theirs = 20 * CELLS**2 / (time.perf_counter() - began)
    theirs_cpu = 20 * CELLS**2 / (time.process_time() - cpu)
    copy = copied_bytes_s()
    print(f"flood:    {ours / 1e6:.2f} million cells x steps a second")
    print(f"          {ours_cpu / 1e6:.2f} million a second of processor time")
    print(f"landlab:  {theirs / 1e6:.2f} million cells x steps a second")
    print(f"          {theirs_cpu / 1e6:.2f} million a second of processor time")
    print(f"copy:     {copy / 1e9:.1f} GB a second")
    print(f"share of that taken by the flood: {ours * TRAFFIC / copy:.0%}")


if __name__ == "__main__":
    report()
