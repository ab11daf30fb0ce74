"""Made gold on the streams of a real elevation model, washed place by place.

The surface is the one that matplotlib ships (a fault valley, cells of about 90 m). The
gold is invented: sources on the ground, lost downstream, diluted, laid down unevenly,
washed and counted. Nothing here knows the levels, the grid or the chances of the
method; loss, unevenness, strength and number of sources are drawn from laws of their
own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from matplotlib.cbook import get_sample_data

from pennyweight.terrain.elevation import ElevationModel
from pennyweight.terrain.routing import route_water
from pennyweight.terrain.streams import Streams, find_streams
from pennyweight.upstream.tree import StreamTree, make_tree

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]

#: Cell of the surface [m]; the file has degrees, 3 seconds of arc.
CELL_M = 90.0
M2_IN_KM2 = 1e6
#: A pan, loose, over the swell [m3 bank], and the share of colors that panning finds.
PAN_BANK_M3, RECOVERY = 0.005, 0.85


@dataclass(frozen=True)
class Truth:
    """Where gold enters a tree, and how it lies."""

    tree: StreamTree
    source: IndexArray
    strength: FloatArray
    loss_per_km: float
    evenness: float
    everywhere_m3: float

    def gold(self) -> FloatArray:
        """Return the gold of sources that passes every foot [colors km2/m3]."""
        flux = np.zeros(self.tree.n_reaches)
        kept = np.exp(-self.loss_per_km * self.tree.length_m / 1000.0)
        np.add.at(flux, self.source, self.strength * kept[self.source] ** 0.5)
        for reach in self.tree.order:
            below = self.tree.down[reach]
            if below >= 0:
                flux[below] += flux[reach] * kept[below]
        return flux

    def wash(self, reach: int, pans: int, rng: np.random.Generator) -> int:
        """Return the colors of a sample at the foot of a reach."""
        colors_m3 = self.gold()[reach] / self.tree.supply_km2[reach]
        mean = (colors_m3 + self.everywhere_m3) * pans * PAN_BANK_M3 * RECOVERY
        return int(rng.poisson(mean * rng.gamma(self.evenness) / self.evenness))


def real_streams() -> Streams:
    """Return the streams of the surface that matplotlib ships."""
    held: Any = get_sample_data("jacksboro_fault_dem.npz")
    with held:
        height = np.asarray(held["elevation"], dtype=np.float64)
    model = ElevationModel(height, west_m=500_000.0, north_m=4_000_000.0, cell_m=CELL_M)
    return find_streams(route_water(model), least_area_m2=40.0 * CELL_M**2)


def cut_catchment(streams: Streams, outlet: int) -> StreamTree:
    """Return the tree of everything that flows past a reach."""
    kept = streams.upstream_of(outlet)
    number = np.full(streams.n_reaches, -1)
    number[kept] = np.arange(len(kept))
    down = np.where(kept == outlet, -1, number[streams.downstream[kept]])
    heads = ~np.isin(kept, streams.downstream)
    first = streams.point_area_m2[streams.first_point[kept]]
    return make_tree(
        down,
        streams.length_m[kept],
        own_area_km2=streams.own_area_m2[kept] / M2_IN_KM2,
        head_area_km2=np.where(heads, first, 0.0) / M2_IN_KM2,
        slope=streams.slope[kept],
    )


def catchments(streams: Streams, fewest: int, most: int) -> list[int]:
    """Return the reaches past which so many reaches flow."""
    count = np.ones(streams.n_reaches)
    for reach in streams.seq[::-1]:
        if streams.downstream[reach] >= 0:
            count[streams.downstream[reach]] += count[reach]
    return np.flatnonzero((count >= fewest) & (count <= most)).tolist()


def make_truth(
    tree: StreamTree, rng: np.random.Generator, *, n_sources: int | None = None
) -> Truth:
    """Return invented gold: mostly one source, sometimes more, sometimes none."""
    if n_sources is None:
        n_sources = int(rng.choice([0, 1, 2, 3], p=[0.1, 0.6, 0.2, 0.1]))
    chance = tree.own_area_km2 / tree.own_area_km2.sum()
    loss = 0.0 if rng.random() < 0.2 else float(np.exp(rng.uniform(-3.0, 0.7)))
    everywhere = 0.0 if rng.random() < 0.5 else float(np.exp(rng.uniform(-1.0, 4.0)))
    return Truth(
        tree=tree,
        source=rng.choice(tree.n_reaches, size=n_sources, p=chance),
        strength=10.0 ** rng.normal(2.2, 0.8, n_sources),
        loss_per_km=loss,
        evenness=float(np.exp(rng.uniform(-0.9, 1.2))),
        everywhere_m3=everywhere,
    )
