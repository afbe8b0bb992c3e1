"""The program: its commands, in the order that help lists them.

A command lives in a module of its own here, which has ``register(app)``. To add one, name that
module in `COMMANDS`.
"""

import contextlib
import errno
import os
import sys
from importlib import import_module
from typing import Annotated, Any, Final

import typer
from typer.core import TyperGroup

from scrapstore import __version__
from scrapstore.cli.base import JSON_OPTION, SET_OPTION, STORE_OPTION, UNITS_OPTION, Given

__all__ = ["COMMANDS", "build_app", "main"]

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


_OUTPUT_FAULTS: Final = (errno.ENOSPC, errno.EIO, errno.EPIPE)
"""A full disk, a broken device, a closed pipe behind the output."""


class _InOrder(TyperGroup):
    """Lists the commands as `COMMANDS` has them; typer would put groups last."""

    def list_commands(self, ctx: Any) -> list[str]:  # noqa: ARG002 - typer's signature
        """Return the names of the commands in the order of use."""
        return [name for name in COMMANDS if name in self.commands]


def build_app() -> typer.Typer:
    """Return the whole program."""
    app = typer.Typer(
        name="scrapstore",
        cls=_InOrder,
        help="A store of photographed fabric scraps: what can a project be cut from?",
        epilog='Lengths: 3 1/2, 3½", 3-1/2, 3.5, 9 cm, 90 mm, 1/4 yd. A length without a unit is '
        "in the units shown (--units, or the setting).",
        no_args_is_help=True,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    app.callback()(_everywhere)
    for name in COMMANDS:
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


def _tell_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"scrapstore {__version__}")
        raise typer.Exit


def main() -> None:
    """Run the program on the arguments it was started with."""
    for stream in (sys.stdout, sys.stderr):
        # A terminal that has no ½ or × shall still show the rest of the line.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        build_app()()
        sys.stdout.flush()
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
