"""What each small reckoning asks: the same questions on the page and in a terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from pennyweight.answers.bench import BenchAnswer, measure_pan, weigh_ground
from pennyweight.answers.benchgold import (
    compare_settling,
    name_grain,
    price_gold,
    weigh_specimen,
)
from pennyweight.answers.benchplan import plan_charge, plan_pans
from pennyweight.errors import CallError
from pennyweight.units import QUANTITIES, to_inside

YES_NO = {"yes": "yes", "no": "no"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One thing that a reckoning asks.

    Attributes
    ----------
    name : str
        Keyword of the function that answers.
    label : str
        What a person reads above it.
    quantity : str
        length, volume, mass or grade, where it is typed in a unit; else empty.
    units : tuple of str
        Units offered; the first is the usual one. For a quantity they are its own,
        else one fixed word such as "g" or "%".
    choices : mapping
        Value to words, where one is picked.
    usual : str
        What stands there at first.
    needed : bool
        Whether the reckoning cannot do without.
    hint : str
        One plain sentence.
    whole : bool
        Whether it is a whole number.
    scale : float
        What a typed number is multiplied with: 0.01 for percent.
    """

    name: str
    label: str
    quantity: str = ""
    units: tuple[str, ...] = ()
    choices: Mapping[str, str] | None = None
    usual: str = ""
    needed: bool = False
    hint: str = ""
    whole: bool = False
    scale: float = 1.0

    def read(self, text: str, unit: str = "") -> Any:
        """Return what was typed, in the unit that the function takes.

        Parameters
        ----------
        text : str
            As typed; a comma may be the decimal mark.
        unit : str
            One of `units`; else the first.

        Returns
        -------
        float, int, str, bool or None
            None where nothing was typed.

        Raises
        ------
        CallError
            It is missing, no number, or none of the choices.
        """
        bare = text.strip()
        if not bare:
            if self.needed:
                msg = f"{self.label} is needed."
                raise CallError(msg)
            return None
        if self.choices is not None:
            return self._choose(bare)
        if self.name == "currency":
            return bare
        try:
            number = float(bare.replace(",", "."))
        except ValueError:
            msg = f"{self.label}: {bare} is no number. Write it like 0.35."
            raise CallError(msg) from None
        if self.whole:
            if not number.is_integer():
                msg = f"{self.label}: {bare} is no whole number."
                raise CallError(msg)
            return int(number)
        if self.quantity:
            unit = unit if unit in QUANTITIES[self.quantity] else self.units[0]
            return to_inside(number, unit, self.quantity)
        return number * self.scale

    def _choose(self, text: str) -> str | bool:
        """Return the choice that was made."""
        choices = self.choices or {}
        if text not in choices:
            msg = f"{self.label}: {text} is not offered; give {', '.join(choices)}."
            raise CallError(msg)
        return text == "yes" if choices is YES_NO else text


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """One small reckoning.

    Attributes
    ----------
    name : str
        In addresses and commands.
    question : str
        Its heading.
    about : str
        What to do before asking, in a sentence or two.
    asked : tuple of Asked
        What it needs.
    reckon : callable
        Takes the answers by name.
    """

    name: str
    question: str
    about: str
    asked: tuple[Asked, ...]
    reckon: Callable[..., BenchAnswer]

    def answer(self, found: Mapping[str, Any]) -> BenchAnswer:
        """Return the answer to what was typed; nothing typed is left to the default.

        Parameters
        ----------
        found : mapping
            Name to value, None where nothing was typed.

        Returns
        -------
        BenchAnswer
            With what had to be supposed.

        Raises
        ------
        CallError
            A number lies outside what is allowed.
        """
        return self.reckon(**{k: v for k, v in found.items() if v is not None})


FINENESS = Asked(
    name="fineness",
    label="Fineness",
    units=("of 1000",),
    hint="Parts of gold in a thousand of the raw gold.",
)

PAN = Bench(
    name="pan",
    question="What does my pan hold?",
    about=(
        "Best is your own bucket: fill the pan as you always do, count pans into a "
        "bucket up to a mark, and measure what it holds up to there. Once is enough."
    ),
    asked=(
        Asked(
            name="bucket_m3",
            label="Bucket, up to its mark",
            quantity="volume",
            units=("l", "gal"),
        ),
        Asked(name="pans", label="Pans that filled it"),
        Asked(
            name="rim_m",
            label="Rim, inside",
            quantity="length",
            units=("cm", "in"),
            hint="Pans are called by it: 14 inches, 36 cm.",
        ),
        Asked(
            name="bottom_m",
            label="Bottom, inside",
            quantity="length",
            units=("cm", "in"),
        ),
        Asked(name="depth_m", label="Depth", quantity="length", units=("cm", "in")),
        Asked(
            name="fill",
            label="Filled",
            choices={"struck": "struck level", "heaped": "heaped"},
            usual="struck",
        ),
        Asked(
            name="swell",
            label="Swell",
            units=("%",),
            scale=0.01,
            hint="Growth of the ground when dug; 20 is usual in gravel.",
        ),
    ),
    reckon=measure_pan,
)

WEIGHT = Bench(
    name="weight",
    question="How much ground was it, by weight?",
    about=(
        "Where a sample was weighed and not measured, its water counts. Dry a kilogram "
        "of it to learn how much water is in it."
    ),
    asked=(
        Asked(name="wet_kg", label="Weight as dug", units=("kg",), needed=True),
        Asked(
            name="moisture",
            label="Water in it",
            units=("%",),
            scale=0.01,
            needed=True,
            hint="Of the wet weight.",
        ),
        Asked(
            name="dry_bank_kg_m3",
            label="Dry weight of the ground",
            units=("kg/m³ bank",),
            needed=True,
            hint="From a measured hole here; there is no usual value to lean on.",
        ),
    ),
    reckon=weigh_ground,
)

SPECIMEN = Bench(
    name="specimen",
    question="How much gold is in this quartz?",
    about=(
        "Weigh the dry piece, then hung by a thread and wholly under water, no air "
        "clinging to it."
    ),
    asked=(
        Asked(name="in_air_g", label="Weight in air", units=("g",), needed=True),
        Asked(name="in_water_g", label="Weight in water", units=("g",), needed=True),
        Asked(name="step_g", label="Balance reads to", units=("g",)),
        Asked(name="rock_g_cm3", label="Density of the rock", units=("g/cm³",)),
        FINENESS,
    ),
    reckon=weigh_specimen,
)

VALUE = Bench(
    name="value",
    question="What is the gold worth?",
    about="Raw gold is part silver; money is paid for the fine gold in it.",
    asked=(
        Asked(
            name="price_per_ozt",
            label="Price of a troy ounce of fine gold",
            needed=True,
        ),
        Asked(name="currency", label="Money"),
        Asked(
            name="grade_mg_m3",
            label="Grade of the ground",
            quantity="grade",
            units=("mg/m3", "mg/yd3", "gr/yd3"),
        ),
        Asked(
            name="raw_mg",
            label="Or raw gold in hand",
            quantity="mass",
            units=("g", "mg", "dwt", "ozt"),
        ),
        FINENESS,
    ),
    reckon=price_gold,
)

GRAIN = Bench(
    name="grain",
    question="Is it gold?",
    about="Try what you can; leave open what you did not try.",
    asked=(
        Asked(
            name="malleable",
            label="Under a knife point it flattens",
            choices=YES_NO,
            hint="Gold flattens. What breaks, crumbles or splits is not gold.",
        ),
        Asked(name="magnetic", label="A magnet lifts it", choices=YES_NO),
        Asked(
            name="stays",
            label="It stays in the pan with the black sand",
            choices=YES_NO,
            hint="Mica and quartz wash over; gold stays to the last.",
        ),
        Asked(
            name="streak",
            label="Its mark on unglazed tile",
            choices={"yellow": "yellow", "black": "black", "white": "white, or none"},
        ),
        Asked(name="density_g_cm3", label="Density", units=("g/cm³",)),
    ),
    reckon=name_grain,
)

SETTLING = Bench(
    name="settling",
    question="How fast do grains sink?",
    about="Gold stays in the pan because it sinks faster; how much, hangs on its size.",
    asked=(
        Asked(
            name="size_m",
            label="Size of the grains",
            quantity="length",
            units=("mm",),
            needed=True,
            hint="The sieve that holds them.",
        ),
        Asked(name="water_c", label="Water", units=("°C",), hint="From 0 to 20."),
    ),
    reckon=compare_settling,
)

ENOUGH = Bench(
    name="enough",
    question="How many pans are enough?",
    about="Ask about the poorest ground that you would still mine.",
    asked=(
        Asked(
            name="grade_mg_m3",
            label="Grade that you ask about",
            quantity="grade",
            units=("mg/m3", "mg/yd3", "gr/yd3"),
            needed=True,
        ),
        Asked(name="color_mg", label="A color weighs", quantity="mass", units=("mg",)),
        Asked(
            name="pan_volume_m3",
            label="One pan holds",
            quantity="volume",
            units=("l", "gal"),
        ),
        Asked(
            name="wanted_error",
            label="Wanted within",
            units=("%",),
            scale=0.01,
            usual="25",
            hint="Four times in five.",
        ),
        Asked(name="digs", label="Digs so far", usual="3", whole=True),
        Asked(name="pans", label="Pans from each", usual="4"),
        Asked(
            name="depth_m",
            label="Depth of one more dig",
            quantity="length",
            units=("m", "ft"),
            usual="1",
        ),
    ),
    reckon=plan_pans,
)

CHARGE = Bench(
    name="charge",
    question="Is this charge of concentrate enough?",
    about="Where a part of a concentrate is assayed for the whole of it.",
    asked=(
        Asked(name="charge_g", label="Charge taken", units=("g",), needed=True),
        Asked(
            name="top_size_mm",
            label="Passes a sieve of",
            units=("mm",),
            needed=True,
        ),
        Asked(name="gold_ppm", label="Gold in it", units=("g/t",), needed=True),
        Asked(name="wanted_rel_sd", label="Wanted error", units=("%",), scale=0.01),
        FINENESS,
    ),
    reckon=plan_charge,
)

BENCHES: Mapping[str, Bench] = {
    one.name: one
    for one in (ENOUGH, PAN, WEIGHT, SPECIMEN, VALUE, GRAIN, SETTLING, CHARGE)
}
