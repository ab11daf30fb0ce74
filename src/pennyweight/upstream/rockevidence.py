"""What rocks point to, with little weight: stain, veinlets, contacts, heavy dark rock.

A pointer makes a source somewhat likelier before anything is washed. The weights are
ours: trade lore, no published odds. They are stated with every answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

Pointer = Literal["stain", "veinlets", "contact", "heavy", "black sand"]

#: How much likelier a pointer makes a source near it [-]; ours. docs/sources.md
#: "pointers of rocks".
POINTER_WEIGHTS: dict[Pointer, float] = {
    "stain": 1.5,
    "veinlets": 1.5,
    "contact": 1.5,
    "heavy": 1.2,
    "black sand": 1.2,
}
#: All pointers together weigh no more [-].
MOST_WEIGHT = 3.0
#: Bedrock points to the water within so far of it; float to so far above it [m]; ours.
BEDROCK_REACH_M, FLOAT_REACH_M = 150.0, 500.0

RED_WORDS = ("rust", "red", "iron", "gossan", "limonite", "hematite", "brown")
QUARTZ_WORDS = ("quartz", "vein", "stringer", "stockwork")
HEAVY_WORDS = (
    "magnetite", "hematite", "ironstone", "basalt", "gabbro", "serpentin", "diorite",
    "greenstone", "amphibolite", "hornblend", "pyroxenite", "peridotite",
)  # fmt: skip


@dataclass(frozen=True)
class RockNote:
    """One note of a rock beside the water.

    Attributes
    ----------
    piece : int
        Piece that it lies at.
    above_m : float
        Way up to it from the foot of that piece [m].
    kind : str
        bedrock, float or boulder.
    name, stain, veinlets : str
        As written; empty where nothing is.
    """

    piece: int
    above_m: float
    kind: str
    name: str
    stain: str
    veinlets: str


@dataclass(frozen=True)
class PointedAt:
    """A pointer at a place.

    Attributes
    ----------
    pointer : str
        What it is.
    note : RockNote
        Where, and by which rock.
    weight : float
        How much likelier it makes a source near it [-].
    other : str
        For a contact: the rock on its other side.
    """

    pointer: Pointer
    note: RockNote
    weight: float
    other: str = ""


def read_pointers(note: RockNote) -> tuple[Pointer, ...]:
    """Return what one note points to by itself.

    Parameters
    ----------
    note : RockNote
        As written.

    Returns
    -------
    tuple of str
        Pointers; none where nothing is odd.

    Examples
    --------
    >>> read_pointers(RockNote(0, 0.0, "bedrock", "schist", "rusty", "quartz, thin"))
    ('stain', 'veinlets')
    >>> read_pointers(RockNote(0, 0.0, "float", "black sand, much of it", "", ""))
    ('black sand',)
    """
    found: list[Pointer] = []
    stain, veins, name = (one.lower() for one in (note.stain, note.veinlets, note.name))
    if any(word in stain for word in RED_WORDS):
        found.append("stain")
    if veins not in {"", "none", "no"} or any(word in name for word in QUARTZ_WORDS):
        found.append("veinlets")
    if any(word in name for word in HEAVY_WORDS):
        found.append("heavy")
    if "black sand" in name:
        found.append("black sand")
    return tuple(found)


def find_pointers(
    notes: tuple[RockNote, ...], foot_m: FloatArray, down: npt.NDArray[np.int64]
) -> tuple[PointedAt, ...]:
    """Return every pointer of the ground, contacts between bedrock notes included.

    Parameters
    ----------
    notes : tuple of RockNote
        Beside the water.
    foot_m : ndarray, shape (n_pieces,)
        Way from each piece's foot to the outlet [m].
    down : ndarray of int, shape (n_pieces,)
        Piece below each [-].

    Returns
    -------
    tuple of PointedAt
        Notes in their order, then contacts.
    """
    found = [
        PointedAt(pointer, note, POINTER_WEIGHTS[pointer])
        for note in notes
        for pointer in read_pointers(note)
    ]
    bedrock = [one for one in notes if one.kind == "bedrock" and one.name.strip()]
    for note in bedrock:
        below = _next_below(note, bedrock, foot_m, down)
        if below is not None and _rock(below) != _rock(note):
            weight = POINTER_WEIGHTS["contact"]
            found.append(PointedAt("contact", note, weight, other=below.name))
    return tuple(found)


def _rock(note: RockNote) -> str:
    return " ".join(note.name.lower().split())


def _next_below(
    note: RockNote,
    others: list[RockNote],
    foot_m: FloatArray,
    down: npt.NDArray[np.int64],
) -> RockNote | None:
    """Return the first other note on the way down from a note."""
    high_m = foot_m[note.piece] + note.above_m
    piece = note.piece
    while piece >= 0:
        here = [
            one
            for one in others
            if one.piece == piece and foot_m[piece] + one.above_m < high_m
        ]
        if here:
            return max(here, key=lambda one: one.above_m)
        piece = int(down[piece])
    return None


def point(
    pointed: tuple[PointedAt, ...], ways_m: FloatArray, above: npt.NDArray[np.bool_]
) -> FloatArray:
    """Return how much likelier the rocks make a source in each piece.

    Parameters
    ----------
    pointed : tuple of PointedAt
        All pointers.
    ways_m : ndarray, shape (n_pointers, n_pieces)
        Way along the water from each pointer to each piece [m].
    above : ndarray of bool, shape (n_pointers, n_pieces)
        Whether the water of a piece passes the pointer [-].

    Returns
    -------
    ndarray, shape (n_pieces,)
        Weights, 1 where nothing points, 3 at most [-].
    """
    weight = np.ones(ways_m.shape[1] if ways_m.ndim == 2 else 0)
    for row, one in enumerate(pointed):
        if one.note.kind == "bedrock":
            near = ways_m[row] <= BEDROCK_REACH_M
        else:
            # Float comes from above; water does not carry rocks up.
            near = above[row] & (ways_m[row] <= FLOAT_REACH_M)
        weight[near] *= one.weight
    return np.asarray(np.minimum(weight, MOST_WEIGHT))
