"""How deep bedrock is to be expected where a dig stopped short of it.

A dig that ended within the gravel next to bedrock has seen some of the pay. Where
its neighbors tell the depth well enough it speaks for that horizon, at a depth that
stays uncertain; elsewhere its gold belongs to the gravel.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from pennyweight.streaks.contacts import BEDROCK, Column, Contact
from pennyweight.streaks.horizons import CLASS_EDGE_M
from pennyweight.streaks.sites import Sites
from pennyweight.streaks.surfaces import DepthTold, predict_depth

#: Digs that must have met bedrock before any depth is expected. Our choice.
LEAST_MET = 5
#: Depths less sure than this are not used [m]. Our choice.
MOST_SD_M = 0.25


def expect_bedrock(
    columns: Mapping[str, Column], sites: Sites, *, rng: np.random.Generator
) -> dict[str, Column]:
    """Return the columns with an expected bedrock where a dig stopped just short.

    Parameters
    ----------
    columns : mapping
        Dig name to what it met.
    sites : Sites
        Where the digs lie.
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    dict
        Columns; an expected contact has an `sd_m` above 0.
    """
    filled = dict(columns)
    known: list[int] = []
    short: list[int] = []
    for site, name in enumerate(sites.digs):
        if name not in columns or columns[name].bottom_m is None:
            continue
        met = columns[name].depth_of(BEDROCK) is not None
        (known if met else short).append(site)
    if len(known) < LEAST_MET or not short:
        return filled
    met_m = [columns[sites.digs[site]].depth_of(BEDROCK) or 0.0 for site in known]
    bottom_m = [columns[sites.digs[site]].bottom_m or 0.0 for site in short]
    told = DepthTold(
        s_m=sites.s_m[known + short],
        n_m=sites.n_m[known + short],
        depth_m=np.array(met_m + bottom_m),
        met=np.arange(len(known) + len(short)) < len(known),
    )
    mean, sd = predict_depth(told, rng=rng)
    for site, depth_m, sd_m, low_m in zip(short, mean, sd, bottom_m, strict=True):
        # Higher up there is a tail of the gold alone, and how much of it is a guess.
        near = sd_m <= MOST_SD_M and depth_m - low_m < CLASS_EDGE_M
        if near:
            name = sites.digs[site]
            contact = Contact(
                horizon=BEDROCK, depth_m=max(float(depth_m), low_m), sd_m=float(sd_m)
            )
            filled[name] = replace(
                columns[name], contacts=(*columns[name].contacts, contact)
            )
    return filled
