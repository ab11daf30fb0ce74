"""Stones too big for the plant, from what the layers say."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import log

from pennyweight.records import Layer
from pennyweight.worth.terms import Terms

#: Smallest stone that counts as too big for a pan [m]; common practice, no source.
PAN_STONE_M = 0.05

#: Share of the layers with a stone too big to move from which the plant cannot work
#: the ground [-]; our assumption.
TOO_MANY = 0.10


@dataclass(frozen=True, slots=True, kw_only=True)
class Stones:
    """Stones of the ground, as one plant meets them.

    Attributes
    ----------
    largest_m : float or None
        The longest that was seen; None where no layer tells [m].
    too_big_share : float
        Share of the ground that is stones too big for the plant [-].
    unmoved_share : float
        Share of the layers that hold a stone too big to be moved aside [-].
    told : int
        Layers that tell of their stones [-].
    """

    largest_m: float | None
    too_big_share: float
    unmoved_share: float
    told: int

    @property
    def bar_the_plant(self) -> bool:
        """Whether the plant cannot work this ground for its stones."""
        return self.unmoved_share >= TOO_MANY


def weigh_stones(layers: Iterable[Layer], terms: Terms) -> Stones:
    """Return how the stones of the ground suit a plant.

    Parameters
    ----------
    layers : iterable of Layer
        Bedrock is left out.
    terms : Terms
        With the largest stone that passes, and that can be moved [m].

    Returns
    -------
    Stones
        Nothing is too big where no layer tells of its stones.

    Notes
    -----
    The share of stones too big for a pan is taken to be spread evenly over the
    logarithm of size, from 5 cm to the largest stone of the layer; our assumption.
    Layers count by their thickness.
    """
    told = [
        one
        for one in layers
        if one.largest_clast_m is not None and one.material != "bedrock"
    ]
    if not told:
        return Stones(largest_m=None, too_big_share=0.0, unmoved_share=0.0, told=0)
    thick = [max(one.bottom_m - one.top_m, 0.0) for one in told]
    whole = sum(thick)
    big = sum(
        thick_m * share_above(one, terms.largest_stone_m)
        for thick_m, one in zip(thick, told, strict=True)
    )
    largest = [one.largest_clast_m or 0.0 for one in told]
    unmoved = sum(size > terms.moves_stone_m for size in largest)
    return Stones(
        largest_m=max(largest),
        too_big_share=big / whole if whole > 0.0 else 0.0,
        unmoved_share=unmoved / len(told),
        told=len(told),
    )


def share_above(layer: Layer, size_m: float) -> float:
    """Return the share of a layer that is stones longer than a size.

    Parameters
    ----------
    layer : Layer
        With its largest stone and its share of stones too big for a pan.
    size_m : float
        Above 0 [m].

    Returns
    -------
    float
        Share [-]; 0 where the layer does not tell.

    Examples
    --------
    20 % of stones up to 0.4 m: above 0.2 m lie a third of the doublings from 5 cm.

    >>> one = Layer(dig="A", top_m=0.0, bottom_m=1.0, largest_clast_m=0.4,
    ...     oversize_percent=20.0)
    >>> round(share_above(one, 0.2), 4)
    0.0667
    """
    largest, percent = layer.largest_clast_m, layer.oversize_percent
    if largest is None or percent is None or largest <= max(size_m, PAN_STONE_M):
        return 0.0
    above = log(largest / max(size_m, PAN_STONE_M)) / log(largest / PAN_STONE_M)
    return percent / 100.0 * above
