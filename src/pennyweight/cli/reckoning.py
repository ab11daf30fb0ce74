"""The calculator: one pan, and small reckonings at the camp table, without a book."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from pennyweight.cli.asking import json_option, print_json, print_lines, units_option
from pennyweight.cli.layout import bullets, pairs, paragraph
from pennyweight.errors import CallError
from pennyweight.units import Measures, parse_quantity, to_inside

if TYPE_CHECKING:
    from pennyweight.answers.benchforms import Asked

#: Name -> what it says in the list of commands; the rest is imported when called.
RECKONINGS = {
    "enough": "Say how many pans are enough at a grade.",
    "pan": "Say what a pan holds, by its measures or by your own bucket.",
    "weight": "Say how much ground a weighed sample was.",
    "specimen": "Say how much gold a piece of quartz holds.",
    "value": "Say what raw gold, or ground of a grade, is worth.",
    "grain": "Say whether a grain may be gold.",
    "settling": "Say how fast gold, mica, pyrite and others sink.",
    "charge": "Say whether a charge of concentrate is enough.",
}

#: What else a person may know of one pan, by the option's name.
MORE = ("weighed_mg", "balance_mg", "put_in", "found", "fineness")


class Reckonings(click.Group):
    """The small reckonings, each with the options that it asks for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return their names."""
        return list(RECKONINGS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return one as a command, imported now."""
        return _command(cmd_name) if cmd_name in RECKONINGS else None


def _command(name: str) -> click.Command:
    """Return a reckoning as a command."""
    from pennyweight.answers.benchforms import BENCHES  # noqa: PLC0415 - slow to import

    bench = BENCHES[name]
    options: list[click.Parameter] = [
        click.Option(
            [_flag(one.name), one.name],
            type=click.Choice(list(one.choices)) if one.choices else None,
            required=one.needed,
            metavar=None if one.choices else _example(one.quantity, one.units),
            help=_help(one.label, one.units, one.hint, quantity=one.quantity),
        )
        for one in bench.asked
    ]

    def reckon(measures: Measures, *, as_json: bool, **typed: str | None) -> None:
        from pennyweight.answers.answer import to_json  # noqa: PLC0415 - slow to import

        found = {one.name: _read(one, typed[one.name]) for one in bench.asked}
        answer = bench.answer(found)
        if as_json:
            print_json(to_json(answer))
        else:
            print_lines(_tell(answer, measures))

    command = click.Command(
        name, callback=reckon, params=options, help=f"{bench.question} {bench.about}"
    )
    command.short_help = RECKONINGS[name]
    return units_option(json_option(command))


def _flag(name: str) -> str:
    """Return the option of a field: `--rim`, `--in-air-g`, `--gold-ppm`."""
    for tail in ("_mg_m3", "_m3", "_m", "_mg"):
        if name.endswith(tail) and not name.endswith("kg_m3"):
            name = name.removesuffix(tail)
            break
    return f"--{name.replace('_', '-')}"


def _example(quantity: str, units: tuple[str, ...]) -> str:
    """Return what an option takes."""
    return f'"NUMBER {units[0]}"' if quantity else "NUMBER"


def _help(label: str, units: tuple[str, ...], hint: str, *, quantity: str) -> str:
    """Return an option's help."""
    unit = f" [{' or '.join(units)}]" if units else ""
    given = ", the number with its unit" if quantity else ""
    return f"{label}{unit}{given}.{' ' if hint else ''}{hint}"


def _read(one: Asked, typed: str | None) -> Any:
    """Return what an option means; a quantity carries its unit."""
    if typed is None or not one.quantity:
        return one.read(typed or one.usual)
    try:
        return parse_quantity(typed, one.quantity)
    except ValueError as error:
        msg = f"{_flag(one.name)}: {error}"
        raise CallError(msg) from error


def _tell(answer: Any, measures: Measures) -> list[str]:
    """Return a reckoning as lines."""
    from pennyweight.answers.benchwords import (  # noqa: PLC0415 - slow to import
        bench_facts,
        bench_verdict,
    )

    supposed = [_suppose(key, value) for key, value in answer.assumptions.items()]
    return [
        *paragraph(bench_verdict(answer, measures)),
        *pairs(bench_facts(answer, measures)),
        *bullets("Supposed, because you did not say:", supposed),
        *bullets("Before you act on it:", answer.cautions),
    ]


def _suppose(key: str, value: float) -> str:
    """Return an assumption as one line: what, how much, whence, how to replace it."""
    from pennyweight.answers.assumptions import (  # noqa: PLC0415 - slow to import
        find_assumption,
    )
    from pennyweight.answers.wording import (  # noqa: PLC0415 - slow to import
        number_words,
    )

    words, _ = find_assumption(key)
    shown = number_words(value, 3)
    if words is None:
        return f"{key.replace('_', ' ')}: {shown}."
    unit = f" {words.unit}" if words.unit else ""
    return f"{words.label}: {shown}{unit} ({words.source}). {words.remedy}"


def _size(typed: str | None) -> str | None:
    """Return a size class in its one written form."""
    from pennyweight.exchange.sizeclasses import (  # noqa: PLC0415 - slow to import
        parse_size_class,
    )

    if typed is None:
        return None
    try:
        return parse_size_class(typed)
    except ValueError as error:
        msg = f"--size is {typed!r}; give {error}."
        raise CallError(msg) from error


@click.group("reckon", cls=Reckonings, invoke_without_command=True)
@click.option("--pans", type=float, help="Pans washed.")
@click.option("--colors", type=int, help="Colors seen in all of them.")
@click.option(
    "--pan-volume-l", type=float, help="What the pan holds, struck level, in liters."
)
@click.option(
    "--swell", type=float, help="Growth of the ground when dug; 0.25 is 25 %."
)
@click.option(
    "--size", help='Size class of the colors: "0.5-1" mm, "20/40 mesh", No.2.'
)
@click.option("--weighed-mg", type=float, help="What the colors weigh together.")
@click.option("--balance-mg", type=float, help="Reading step of the balance.")
@click.option(
    "--put-in", type=int, help="Grains put into tailings to try your panning."
)
@click.option("--found", type=int, help="Of these, the grains found again.")
@click.option("--fineness", type=float, help="Gold in 1000 parts of raw gold.")
@units_option
@json_option
@click.pass_context
def reckon_command(
    context: click.Context, /, measures: Measures, *, as_json: bool, **given: Any
) -> None:
    """Say what some colors in some pans can mean, without any book.

    With a word after it, another small reckoning at the camp table.
    """
    if context.invoked_subcommand is not None:
        return
    needed = ("pans",) if given["weighed_mg"] is not None else ("pans", "colors")
    for name in needed:
        if given[name] is None:
            raise click.MissingParameter(
                ctx=context, param_type="option", param_hint=f"'--{name}'"
            )
    from pennyweight.answers.answer import to_json  # noqa: PLC0415 - slow to import
    from pennyweight.answers.reckon import (  # noqa: PLC0415 - slow to import
        PanMore,
        reckon_pan,
    )
    from pennyweight.cli.telling import tell_reckoning  # noqa: PLC0415 - slow to import

    liters = given["pan_volume_l"]
    pan_m3 = None if liters is None else to_inside(liters, "l", "volume")
    more = PanMore(
        size_class=_size(given["size"]),
        **{one: given[one] for one in MORE},
    )
    answer = reckon_pan(
        given["pans"], given["colors"], pan_m3, swell=given["swell"], more=more
    )
    if as_json:
        print_json(to_json(answer))
    else:
        print_lines(tell_reckoning(answer, measures))
