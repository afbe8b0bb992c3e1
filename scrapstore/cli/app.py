"""The program: its commands, in the order that help lists them.

A command lives in a module of its own here, which has ``register(app)``. To add one, name that
module in `COMMANDS`.
"""

import contextlib
import errno
import gc
import os
import re
import sys
from collections.abc import Collection, Iterable, Iterator
from importlib import import_module
from typing import Annotated, Any, Final

import typer
from typer.core import TyperGroup

from scrapstore.cli.base import (
    INTERRUPTED,
    JSON_OPTION,
    SET_OPTION,
    STORE_OPTION,
    UNITS_OPTION,
    Given,
)
from scrapstore.printable import printable

__all__ = ["COMMANDS", "build_app", "command_of", "main"]

COMMANDS: Final = (
    "scale",
    "log",
    "match",
    "plan",
    "rank",
    "project",
    "families",
    "find",
    "piles",
    "scrap",
    "fabric",
    "yardage",
    "ready",
    "binding",
    "lens",
    "history",
    "store",
    "settings",
    "guide",
    "demo",
)


_SYNONYMS: Final = {
    "colour": "family",
    "color": "family",
    "restore": "reinstate",
    "effort": "try-harder",
    "prove": "check-limit",
    "seed": "variant",
}
"""Options and commands that are also understood under another or an earlier name."""

_LIBRARY_WORDS: Final = {
    r"Input should be a valid integer": "give a whole number, such as 3",
    r"Input should be a valid number": "give a number, such as 2.5",
    r"Input should be less than or equal to (.*)": "give {0} at most",
    r"Input should be greater than or equal to (.*)": "give at least {0}",
    r"Input should be (.*)": "it should be {0}",
}
"""What the library that reads options says, and what a quilter would."""

_HELP: Final = ("-h", "--help")
_WITH_VALUE: Final = ("--store", "--units", "--set")
"""The options of the whole program that a value follows."""

_UsageError: Final[Any] = typer.BadParameter.__base__

_OUTPUT_FAULTS: Final = (errno.ENOSPC, errno.EIO, errno.EPIPE)
"""A full disk, a broken device, a closed pipe behind the output."""


@contextlib.contextmanager
def _printable_errors() -> Iterator[None]:
    """Let a wrong word be told in our words, and quoted without what moves the cursor."""
    try:
        yield
    except _UsageError as error:
        error.message = printable(_own_words(error.message))
        raise


class _InOrder(TyperGroup):
    """Lists the commands as `COMMANDS` has them; typer would put groups last."""

    def make_context(self, *words: Any, **more: Any) -> Any:
        """Read the options before the command."""
        with _printable_errors():
            return super().make_context(*words, **more)

    def invoke(self, ctx: Any) -> Any:
        """Read the command's own words and run it."""
        with _printable_errors():
            return super().invoke(ctx)

    def list_commands(self, ctx: Any) -> list[str]:  # noqa: ARG002 - typer's signature
        """Return the names of the commands in the order of use."""
        return [name for name in COMMANDS if name in self.commands]


def _own_words(message: str) -> str:
    """Return what would be right where `message` is one that pydantic made, else `message`."""
    for pattern, words in _LIBRARY_WORDS.items():
        if found := re.match(pattern, message):
            return words.format(*found.groups())
    return message


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
    app.callback()(_everywhere)
    for name in (name for name in COMMANDS if name in only):
        import_module(f"scrapstore.cli.{name}").register(app)
    return app


def _everywhere(
    context: typer.Context,
    store: STORE_OPTION = None,
    json: JSON_OPTION = False,
    units: UNITS_OPTION = None,
    set: SET_OPTION = None,  # noqa: A002 - named after its option
    version: Annotated[  # noqa: ARG001 - its callback acts
        bool,
        typer.Option(
            "--version",
            callback=lambda on: _tell_version(on),
            is_eager=True,
            help="Tell the version.",
        ),
    ] = False,
) -> None:
    context.obj = Given(store=store, json=json, units=units, set=set)
    if context.invoked_subcommand is None:
        typer.echo(_GREETING)


_GREETING: Final = """\
scrapstore keeps your fabric scraps and tells what a project can be cut from.

To begin:
  scrapstore demo                        the whole way on sample photos, in a minute
  scrapstore scrap add --size "9 x 6"    a scrap by its size
  scrapstore log PHOTO --size "9 x 6"    a scrap with its photo
  scrapstore project new cushion.toml    a project file to start from
  scrapstore match cushion.toml          what it can be cut from, and what to buy

scrapstore guide lists the pages to read, scrapstore --help every command."""


def _tell_version(wanted: bool) -> None:
    if wanted:
        from scrapstore import __version__

        typer.echo(f"scrapstore {__version__}")
        raise typer.Exit


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
    # Not told how many threads to use, scikit-learn counts the processor's cores, and reports at
    # length where a system does not tell them.
    os.environ.setdefault("OMP_NUM_THREADS", str(os.cpu_count() or 1))
    # Most of what is made stays until the end: to look through it often finds no rubbish.
    gc.set_threshold(100_000, 20, 20)
    try:
        command = command_of(sys.argv[1:])
        # Making every command takes a third of a quick start.
        build_app(COMMANDS if command is None else [command])()
        sys.stdout.flush()
    except KeyboardInterrupt:  # before a command has begun
        sys.exit(INTERRUPTED)
    except OSError as error:
        if error.filename is not None or error.errno not in _OUTPUT_FAULTS:
            raise  # a fault of the program: files of the user's are told of where they are used
        sys.exit(_untold(error))


def _untold(error: OSError) -> int:
    """Say that the output could not be written, where that can still be said; return 1."""
    with contextlib.suppress(OSError):
        typer.echo(f"scrapstore: cannot write the output ({error.strerror})", err=True)
    # What is still held back cannot be written either; Python would try once more at its end.
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return 1
