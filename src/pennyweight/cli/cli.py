"""The command line: which commands there are, and how a call ends.

The commands add nothing of their own; they ask the rooms below and print. Whatever
goes wrong ends in one place, `run`: one clear line and an exit code.
"""

from __future__ import annotations

import importlib
import io
import os
import sys
import warnings
from collections.abc import Sequence

import click

from pennyweight import __version__
from pennyweight.cli.stopping import listen
from pennyweight.errors import CallError, PennyweightError
from pennyweight.progress import Cancelled

ANSWERED = 0
FAULT = 1
CANCELLED = 130

#: Command -> the file that holds it. They are imported when they are called.
COMMANDS = {
    "new": "books",
    "intake": "books",
    "grade": "questions",
    "trace": "questions",
    "upstream": "questions",
    "highwater": "questions",
    "worth": "questions",
    "bulk": "surer",
    "reconcile": "surer",
    "hours": "surer",
    "next": "questions",
    "report": "handingout",
    "share": "handingout",
    "check": "books",
    "reckon": "reckoning",
    "serve": "page",
    "demo": "page",
}


class Commands(click.Group):
    """The commands in the order in which a season needs them."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names of the commands."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return a command, imported now."""
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"pennyweight.cli.{COMMANDS[cmd_name]}")
        command: click.Command = getattr(module, f"{cmd_name}_command")
        return command


@click.group(
    cls=Commands,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 88},
)
@click.option(
    "--traceback",
    is_flag=True,
    help="When the program itself is at fault, show where.",
)
@click.version_option(__version__, prog_name="pennyweight")
@click.pass_context
def pennyweight(context: click.Context, traceback: bool) -> None:
    """Keep hand-dug placer samples, follow pay streaks, choose ground.

    Without a command, the page opens in your browser with the books that you have.
    Nothing leaves this machine.
    """
    context.obj = {"traceback": traceback}
    if context.invoked_subcommand is None:
        from pennyweight.cli.page import open_page  # noqa: PLC0415 - only here

        open_page()


def run(arguments: Sequence[str]) -> int:
    """Carry out a call and return its exit code.

    Parameters
    ----------
    arguments : sequence of str
        As typed after the name of the program.
    """
    try:
        with pennyweight.make_context("pennyweight", list(arguments)) as context:
            pennyweight.invoke(context)
    except click.ClickException as wrong_call:
        _tell_wrong_call(wrong_call)
        return CallError.exit_code
    except click.exceptions.Exit as ended:
        return ended.exit_code
    except (KeyboardInterrupt, click.Abort, Cancelled):
        _say("Cancelled; nothing was changed.")
        return CANCELLED
    except PennyweightError as error:
        _say(str(error))
        return error.exit_code
    except BrokenPipeError:
        _leave_the_pipe()
        return ANSWERED
    except Exception as fault:
        _tell_fault(fault, arguments)
        return FAULT
    return ANSWERED


def _say(text: str) -> None:
    """Print to standard error; what stands on standard output is the answer."""
    click.echo(text, err=True)


def _tell_wrong_call(wrong_call: click.ClickException) -> None:
    """Tell what is wrong with a call, and where its help is."""
    context = getattr(wrong_call, "ctx", None)
    command = "pennyweight" if context is None else context.command_path
    _say(f"{wrong_call.format_message()} See: {command} --help")


def _tell_fault(fault: Exception, arguments: Sequence[str]) -> None:
    """Tell a fault of the program in one line, or with its place if asked."""
    if "--traceback" in arguments:
        import traceback  # noqa: PLC0415 - hardly ever needed

        _say("".join(traceback.format_exception(fault)))
    what = " ".join(str(fault).split()) or "no more is known"
    line = f"The program is at fault: {type(fault).__name__}: {what}."
    if "--traceback" not in arguments:
        line += " To see where: pennyweight --traceback ..."
    _say(line)


def _leave_the_pipe() -> None:
    """Keep Python from complaining once more that no one reads on."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())


def main() -> None:
    """Carry out the call of this process and end it."""
    listen()
    for stream in (sys.stdout, sys.stderr):
        # Units and dashes must not break on a terminal of another encoding.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="replace")
    if not sys.warnoptions:
        # Warnings of libraries are for developers, who ask for them with -W.
        warnings.simplefilter("ignore")
    code = run(sys.argv[1:])
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        _leave_the_pipe()
    sys.exit(code)
