"""The program: its commands, in the order that help lists them.

A command lives in a module of its own here, which has an ``app``. To add one, name that module in
`COMMANDS`.
"""

import contextlib
import errno
import gc
import os
import sys
from collections.abc import Collection, Iterable
from importlib import import_module
from typing import Annotated, Any, Final

import typer

from scrapstore.cli.base import Given, unfolded
from scrapstore.cli.messages import CommandGroup
from scrapstore.errors import LengthError, ScrapstoreError, ShapeError, UsageError
from scrapstore.printable import printable

__all__ = ["COMMANDS", "build_app", "command_of", "main"]

COMMANDS: Final = (
    "scale",
    "log",
    "gives",
    "match",
    "plan",
    "cut",
    "sew",
    "finish",
    "shopping",
    "rank",
    "design",
    "arrange",
    "project",
    "families",
    "find",
    "piles",
    "labels",
    "stocktake",
    "scrap",
    "fabric",
    "yardage",
    "ready",
    "binding",
    "crumbs",
    "batting",
    "form",
    "zip",
    "lens",
    "history",
    "undo",
    "store",
    "settings",
    "guide",
    "demo",
)


_SYNONYMS: Final = {
    "colour": "family",
    "color": "family",
    "restore": "reinstate",
    "drop": "release",
    "cut": "size",
    "effort": "try-harder",
    "prove": "check-limit",
    "seed": "variant",
}
"""Options and commands that are also understood under another or an earlier name."""

_HELP: Final = ("-h", "--help")
_WITH_VALUE: Final = ("--store", "--units", "--set")
"""The options of the whole program that a value follows."""

_INTERRUPTED: Final = 130
"""Exit status after Ctrl-C, as shells have it: 128 and the number of the signal."""
_OUTPUT_FAULTS: Final = (errno.ENOSPC, errno.EIO, errno.EPIPE)
"""A full disk, a broken device, a closed pipe behind the output."""


class _InOrder(CommandGroup):
    """Lists the commands as `COMMANDS` has them; typer would put groups last."""

    def list_commands(self, ctx: Any) -> list[str]:  # noqa: ARG002 - typer's signature
        """Return the names of the commands in the order of use."""
        return [name for name in COMMANDS if name in self.commands]


def build_app(only: Collection[str] = COMMANDS) -> typer.Typer:
    """Return the program with the commands `only` (all of them)."""
    app = typer.Typer(
        name="scrapstore",
        cls=_InOrder,
        help="A store of photographed fabric scraps: what can a project be cut from?",
        epilog='Lengths: 3 1/2, 3½", 3-1/2, 3.5, 9 cm, 90 mm, 1/4 yd. A length without a unit is '
        "in the units shown (--units, or the setting).",
        invoke_without_command=True,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={
            "help_option_names": list(_HELP),
            "token_normalize_func": lambda word: _SYNONYMS.get(word, word),
        },
    )
    app.callback()(unfolded(_everywhere))
    for name in (name for name in COMMANDS if name in only):
        module: typer.Typer = import_module(f"scrapstore.cli.{name}").app
        if module.registered_callback:
            app.add_typer(module)
        else:
            app.registered_commands += module.registered_commands
    return app


def _everywhere(
    context: typer.Context,
    given: Given,
    version: Annotated[bool, typer.Option("--version", help="Show the version.")] = False,
) -> None:
    context.obj = given
    if version:
        from scrapstore import __version__

        typer.echo(f"scrapstore {__version__}")
    elif context.invoked_subcommand is None:
        typer.echo(_GREETING)


_GREETING: Final = """\
scrapstore keeps your fabric scraps and finds out what a project can be cut from.

To begin:
  scrapstore demo                        the whole way on sample photos, in a minute
  scrapstore scrap add --size "9 x 6"    a scrap by its size
  scrapstore log PHOTO --size "9 x 6"    a scrap with its photo
  scrapstore project new cushion.toml    a project file to start from
  scrapstore match cushion.toml          what it can be cut from, and what to buy

scrapstore guide lists the pages to read, scrapstore --help every command."""


def command_of(words: Iterable[str]) -> str | None:
    """Return the command that a call with these `words` names, None when it names none of them.

    Options of the whole program may come before it.
    """
    rest = iter(words)
    for word in rest:
        if word in _WITH_VALUE:
            next(rest, None)
        elif word in _HELP:
            return None
        elif not word.startswith("-"):
            return word if word in COMMANDS else None
    return None


def main() -> None:
    """Run the program on the arguments it was started with."""
    for stream in (sys.stdout, sys.stderr):
        # A terminal that has no ½ or × shall still show the rest of the line.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    # Most of what is made stays until the end: to look through it often finds no rubbish.
    gc.set_threshold(100_000, 20, 20)
    command = command_of(sys.argv[1:])
    try:
        # Making every command takes a third of a quick start.
        program = build_app(COMMANDS if command is None else [command])
        status = program(prog_name="scrapstore", standalone_mode=False) or 0
        sys.stdout.flush()
    except KeyboardInterrupt:  # before a command has begun
        status = _INTERRUPTED
    except ScrapstoreError as error:
        _say(str(error))
        status = 2 if isinstance(error, LengthError | ShapeError | UsageError) else 1
    except OSError as error:
        if error.filename is not None or error.errno not in _OUTPUT_FAULTS:
            raise  # a fault of the program: what files hold is checked where they are read
        status = _output_failed(error)
    if status == _INTERRUPTED:
        _say("stopped; what was not finished was not kept")
    sys.exit(status)


def _say(message: str) -> None:
    typer.echo(printable(f"scrapstore: {message}"), err=True)


def _output_failed(error: OSError) -> int:
    """Say that the output could not be written, where that can still be said; return 1."""
    with contextlib.suppress(OSError):
        _say(f"cannot write the output ({error.strerror})")
    # What is still held back cannot be written either; Python would try once more at its end.
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return 1
