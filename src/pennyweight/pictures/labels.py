"""Labels that keep clear of each other; what finds no room is left out.

A picture says which marks may not be covered, then offers its labels with their
importance; the most important are set first, each at the best free place beside
its anchor.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from pennyweight.pictures.svg import Look, Markup, element, haloed
from pennyweight.pictures.textwidth import text_width

#: Height of a line above and below its baseline, in parts of the type size.
ASCENT, DESCENT = 0.74, 0.22

#: Side of the cells in which taken places are looked up [px].
CELL_PX = 64.0


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in the picture [px]; y grows downward."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box) -> bool:
        """Tell whether two boxes share any of the picture."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def holds(self, other: Box) -> bool:
        """Tell whether the other box lies wholly inside."""
        return (
            self.left <= other.left
            and self.top <= other.top
            and self.right >= other.right
            and self.bottom >= other.bottom
        )

    def grown(self, by_px: float) -> Box:
        """Return the box with a margin around it."""
        return Box(
            self.left - by_px,
            self.top - by_px,
            self.right + by_px,
            self.bottom + by_px,
        )


def box_around(x_px: float, y_px: float, radius_px: float) -> Box:
    """Return the square around a round mark."""
    return Box(x_px - radius_px, y_px - radius_px, x_px + radius_px, y_px + radius_px)


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A line of text that belongs to a place.

    Attributes
    ----------
    words : str
        What it says.
    x_px, y_px : float
        The place [px].
    gap_px : float
        How far from the place the text stays [px].
    importance : float
        Greater is set first; below the keeper's floor it is not set at all.
    size_px : float
        Type size [px].
    ink : str
        Color of the text.
    bold, italic, centered : bool
        How it is set; centered labels sit on the place itself.
    ids : mapping
        `data_...` attributes by which the page finds it.
    """

    words: str
    x_px: float
    y_px: float
    gap_px: float = 6.0
    importance: float = 1.0
    size_px: float = 12.0
    ink: str = "currentColor"
    bold: bool = False
    italic: bool = False
    centered: bool = False
    ids: dict[str, str] = field(default_factory=dict)

    def places(self) -> Iterable[Box]:
        """Yield the boxes that the text may fill, the best first."""
        width = text_width(self.words, self.size_px, bold=self.bold)
        up, down = ASCENT * self.size_px, DESCENT * self.size_px
        height = up + down
        gap = self.gap_px
        if self.centered:
            shifts = [(0.0, 0.0)]
            shifts += [(0.0, step * height) for step in (-1.0, 1.0, -2.0, 2.0)]
            for right, below in shifts:
                left = self.x_px - width / 2.0 + right
                top = self.y_px - height / 2.0 + below
                yield Box(left, top, left + width, top + height)
            return
        slant = gap * 0.72
        corners = (
            (gap, -height / 2.0),
            (slant, -slant - height),
            (-width / 2.0, -gap - height),
            (-slant - width, -slant - height),
            (-gap - width, -height / 2.0),
            (slant, slant),
            (-width / 2.0, gap),
            (-slant - width, slant),
        )
        for reach in (1.0, 1.9):
            for right, below in corners:
                left = self.x_px + right + (reach - 1.0) * gap * _sign(right, width)
                top = self.y_px + below + (reach - 1.0) * gap * _sign(below, height)
                yield Box(left, top, left + width, top + height)


def _sign(shift: float, size: float) -> float:
    """Return which way a place lies from its anchor: 1, 0 or -1."""
    middle = shift + size / 2.0
    return 0.0 if abs(middle) < 1e-6 else (1.0 if middle > 0.0 else -1.0)


@dataclass
class LabelKeeper:
    """Sets labels inside a frame, around what must stay visible.

    Attributes
    ----------
    frame : Box
        Where text may stand.
    taken : list of Box
        Marks and labels already there.
    """

    frame: Box
    taken: list[Box] = field(default_factory=list)
    _cells: dict[tuple[int, int], list[Box]] = field(default_factory=dict, repr=False)

    def block(self, box: Box) -> None:
        """Keep text off a mark."""
        self.taken.append(box)
        for cell in _cells_of(box):
            self._cells.setdefault(cell, []).append(box)

    def free(self, box: Box) -> bool:
        """Tell whether a box lies in the frame and meets nothing."""
        return self.frame.holds(box) and not any(
            box.meets(one)
            for cell in _cells_of(box)
            for one in self._cells.get(cell, ())
        )

    def place(self, label: Label) -> Box | None:
        """Return the box that a label takes, or None where there is no room."""
        for box in label.places():
            if self.free(box.grown(1.0)):
                self.block(box)
                return box
        return None


def _cells_of(box: Box) -> list[tuple[int, int]]:
    """Return the cells of a coarse grid that a box touches, for quick look-up."""
    columns = range(int(box.left // CELL_PX), int(box.right // CELL_PX) + 1)
    rows = range(int(box.top // CELL_PX), int(box.bottom // CELL_PX) + 1)
    return [(column, row) for column in columns for row in rows]


def draw_labels(
    labels: Sequence[Label], keeper: LabelKeeper, look: Look, *, floor: float = 0.0
) -> list[Markup]:
    """Return the labels that found room, the most important first.

    Parameters
    ----------
    labels : sequence of Label
        In any order; equal importance keeps it.
    keeper : LabelKeeper
        What is already in the picture; it learns the new labels.
    look : Look
        For the halo.
    floor : float
        Importance below which a label is not even tried.

    Returns
    -------
    list of Markup
        Text elements.
    """
    drawn = []
    for label in sorted(labels, key=lambda one: -one.importance):
        if label.importance < floor:
            continue
        box = keeper.place(label)
        if box is not None:
            drawn.append(_draw(label, box, look))
    return drawn


def _draw(label: Label, box: Box, look: Look) -> Markup:
    return element(
        "text",
        label.words,
        x=box.left,
        y=box.top + ASCENT * label.size_px,
        font_size=label.size_px,
        font_weight="600" if label.bold else None,
        font_style="italic" if label.italic else None,
        fill=label.ink if label.ink != "currentColor" else look.palette.ink,
        **haloed(look),
        **label.ids,
    )


def spread_apart(places_px: Sequence[float], gap_px: float) -> list[float]:
    """Return places moved as little as need be to keep a gap between neighbors.

    Parameters
    ----------
    places_px : sequence of float
        Where they would like to be, ascending [px].
    gap_px : float
        Least distance from one to the next [px].

    Returns
    -------
    list of float
        Ascending; clusters stay centered on where they were [px].

    Examples
    --------
    >>> spread_apart([0.0, 1.0, 50.0], 10.0)
    [-4.5, 5.5, 50.0]
    """
    clusters: list[tuple[float, int]] = []
    for place in places_px:
        start, count = place, 1
        while clusters:
            before, many = clusters[-1]
            if before + many * gap_px <= start:
                break
            clusters.pop()
            start = (before * many + (start - many * gap_px) * count) / (many + count)
            count += many
        clusters.append((start, count))
    return [start + i * gap_px for start, count in clusters for i in range(count)]
