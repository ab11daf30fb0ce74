"""How a straightened valley is placed in a picture, one strip a horizon."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.answers.trace import Area, TraceAnswer, ValleyField
from pennyweight.answers.wording import horizon_words
from pennyweight.pictures.labels import Box
from pennyweight.pictures.svg import Look

#: A horizon whose field never reaches this is not drawn, unless it is the only one.
SHOWN_FROM = 0.15

#: Room before the first and after the last place, so that marks stay inside [px].
PAD_PX = 14.0

#: Least and greatest height of a strip [px].
THIN_PX, THICK_PX = 130.0, 310.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """One horizon's piece of the picture and how it is placed.

    Attributes
    ----------
    field : ValleyField
        What is drawn.
    area : Area
        Its edges in the valley.
    left_px, top_px : float
        Upper left corner.
    s_px_per_m, n_px_per_m : float
        Scales along and across.
    upright : bool
        Whether downstream is down instead of right.
    """

    field: ValleyField
    area: Area
    left_px: float
    top_px: float
    s_px_per_m: float
    n_px_per_m: float
    upright: bool

    def place(
        self, s_m: npt.ArrayLike, n_m: npt.ArrayLike
    ) -> list[tuple[float, float]]:
        """Return valley coordinates as places in the picture [px]."""
        along = (np.atleast_1d(np.asarray(s_m)) - self.area.s0_m) * self.s_px_per_m
        along = along + PAD_PX
        if self.upright:
            x_px = (np.atleast_1d(np.asarray(n_m)) - self.area.n0_m) * self.n_px_per_m
            y_px = along
        else:
            x_px = along
            y_px = (self.area.n1_m - np.atleast_1d(np.asarray(n_m))) * self.n_px_per_m
        x_px, y_px = np.broadcast_arrays(x_px + self.left_px, y_px + self.top_px)
        return [(float(x), float(y)) for x, y in zip(x_px, y_px, strict=True)]

    @property
    def box(self) -> Box:
        """Its rectangle [px]."""
        long = (self.area.s1_m - self.area.s0_m) * self.s_px_per_m + 2.0 * PAD_PX
        wide = (self.area.n1_m - self.area.n0_m) * self.n_px_per_m
        right, down = (wide, long) if self.upright else (long, wide)
        return Box(self.left_px, self.top_px, self.left_px + right, self.top_px + down)

    @property
    def heading(self) -> str:
        """Where its gold lies, in words."""
        words = horizon_words(self.field.horizon)
        return words[0].upper() + words[1:]


def shown_fields(trace: TraceAnswer) -> list[ValleyField]:
    """Return the fields in which pay is not unlikely everywhere; one at least."""
    likely = [one for one in trace.fields if np.max(one.probability_above) > SHOWN_FROM]
    return likely or list(trace.fields[:1])


def lay_out_strips(fields: list[ValleyField], area: Area, look: Look) -> list[Strip]:
    """Return where each horizon's strip stands: below, or beside, the one before."""
    long_m, wide_m = area.s1_m - area.s0_m, area.n1_m - area.n0_m
    if look.narrow:
        room = look.width_px - 34.0 - 8.0 - 12.0 * (len(fields) - 1)
        across = room / len(fields)
        length = min(max(long_m * across / wide_m, 420.0), 560.0)
        return [
            Strip(
                field=field,
                area=area,
                left_px=34.0 + number * (across + 12.0),
                top_px=46.0,
                s_px_per_m=(length - 2.0 * PAD_PX) / long_m,
                n_px_per_m=across / wide_m,
                upright=True,
            )
            for number, field in enumerate(fields)
        ]
    length = look.width_px - 44.0 - 10.0 - 2.0 * PAD_PX
    across = min(max(wide_m * length / long_m, THIN_PX), THICK_PX)
    return [
        Strip(
            field=field,
            area=area,
            left_px=44.0,
            top_px=44.0 + number * (across + 62.0),
            s_px_per_m=length / long_m,
            n_px_per_m=across / wide_m,
            upright=False,
        )
        for number, field in enumerate(fields)
    ]
