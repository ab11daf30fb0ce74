"""The inks of page and paper, in one place.

Warm paper and dark ink by day, the other way around by night. Gold ink means gold
and nothing else; red only where someone may be hurt or something be lost. Grade
is one hue in five steps from straw to umber; by night the ramp runs the other way,
so that the richest always stands out most from the ground.
"""

from __future__ import annotations

from dataclasses import dataclass, fields


@dataclass(frozen=True, slots=True, kw_only=True)
class Palette:
    """One set of inks, each as "#rrggbb".

    Attributes
    ----------
    paper, raised : str
        The ground, and a surface that lies on it.
    ink, soft_ink, faint_ink : str
        Text; second text (still 4.5 to 1 on the paper); hairlines, never text.
    gold : str
        Gold and nothing else.
    grade_1 to grade_5 : str
        From the poorest step to the richest.
    water, water_ink : str
        Surface of water, and words about it.
    contour : str
        Contour lines.
    danger : str
        Hurt or loss.
    shade : str
        Of the terrain: shadow by day, light by night, laid on by its strength.
    """

    paper: str
    raised: str
    ink: str
    soft_ink: str
    faint_ink: str
    gold: str
    grade_1: str
    grade_2: str
    grade_3: str
    grade_4: str
    grade_5: str
    water: str
    water_ink: str
    contour: str
    danger: str
    shade: str

    @property
    def ramp(self) -> tuple[str, ...]:
        """The grade ramp from the poorest step to the richest."""
        return (self.grade_1, self.grade_2, self.grade_3, self.grade_4, self.grade_5)


DAY = Palette(
    paper="#fbf7ee",
    raised="#f3ecdd",
    ink="#2a2521",
    soft_ink="#675c50",
    faint_ink="#cfc4b2",
    gold="#946200",
    grade_1="#eeddaa",
    grade_2="#d3b064",
    grade_3="#ac8038",
    grade_4="#7a5423",
    grade_5="#432a11",
    water="#a9bfc9",
    water_ink="#3f6475",
    contour="#b39a7d",
    danger="#ad2417",
    shade="#3a3026",
)

NIGHT = Palette(
    paper="#1b1815",
    raised="#26221d",
    ink="#ece4d6",
    soft_ink="#b1a594",
    faint_ink="#4a4239",
    gold="#e6b450",
    grade_1="#57401f",
    grade_2="#83602c",
    grade_3="#b08843",
    grade_4="#d6b66e",
    grade_5="#f6e7b6",
    water="#3d5560",
    water_ink="#94b6c4",
    contour="#6a5a48",
    danger="#ff8d78",
    shade="#d8ccb8",
)

#: Printed on white: the paper itself is the ground.
PRINT = Palette(
    **{one.name: getattr(DAY, one.name) for one in fields(DAY)}
    | {"paper": "#ffffff", "raised": "#f6f1e6"}
)


def palette_css() -> str:
    """Return the inks as CSS custom properties, day first, then night.

    Returns
    -------
    str
        A `:root` rule and the same under `prefers-color-scheme: dark`.
    """
    day, night = _properties(DAY), _properties(NIGHT)
    return (
        f":root {{\n{day}}}\n\n"
        f'@media (prefers-color-scheme: dark) {{\n:root:not([data-light="day"]) {{\n'
        f'{night}}}\n}}\n\n:root[data-light="night"] {{\n{night}}}\n'
    )


def _properties(palette: Palette) -> str:
    return "".join(
        f"  --{one.name.replace('_', '-')}: {getattr(palette, one.name)};\n"
        for one in fields(palette)
    )


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two inks, 1 to 21.

    Parameters
    ----------
    one, other : str
        Inks as "#rrggbb".

    Returns
    -------
    float
        (L1 + 0.05) / (L2 + 0.05) with the lighter luminance on top [-].

    References
    ----------
    W3C, Web Content Accessibility Guidelines 2.1, "contrast ratio" and
    "relative luminance".
    """
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def _luminance(ink: str) -> float:
    channels = [int(ink[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    linear = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in channels
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
