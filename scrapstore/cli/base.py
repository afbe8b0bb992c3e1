"""What all commands share: the options --store, --json, --units and --set, errors, printing.

A command is a function whose first parameter is a `Call`; `command` registers it and gives it the
shared options, so that they may stand before or after its name::

    def register(app: typer.Typer) -> None:
        command(app, "match")(match)

    def match(call: Call, project: Path) -> None:
        # its docstring is the command's help
        with call.open_store() as store:
            result = match_project(store, project, settings=call.settings)
        call.show(match_out(result), lambda: match_text(result, call))
"""

import functools
import inspect
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Final

import typer

from scrapstore.errors import (
    LengthError,
    ScrapstoreError,
    SettingsError,
    ShapeError,
    UsageError,
)
from scrapstore.printable import escaped, is_printable, printable
from scrapstore.units import Units, format_length, parse_length

if TYPE_CHECKING:
    from pydantic import BaseModel
    from rich.console import RenderableType

    from scrapstore.settings import Settings
    from scrapstore.store import Store

__all__ = [
    "INTERRUPTED",
    "JSON_OPTION",
    "SET_OPTION",
    "STORE_OPTION",
    "UNITS_OPTION",
    "Call",
    "Given",
    "command",
    "group",
]

STORE_OPTION = Annotated[
    str | None,
    typer.Option(
        "--store",
        metavar="FOLDER",
        help="The store's folder (else $SCRAPSTORE_STORE, else in your data folder).",
    ),
]
JSON_OPTION = Annotated[
    bool, typer.Option("--json", help="Print one JSON document, lengths in inches.")
]
UNITS_OPTION = Annotated[
    str | None, typer.Option("--units", metavar="in|cm", help="What lengths are shown in.")
]
SET_OPTION = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="KEY=VALUE",
        help="A setting for this call, such as ruler_step=1/16 (without a unit: in the units "
        "shown).",
    ),
]
INTERRUPTED: Final = 130
"""Exit status after Ctrl-C, as shells have it: 128 and the number of the signal."""
_SHARED: Final = {
    "store": STORE_OPTION,
    "json": JSON_OPTION,
    "units": UNITS_OPTION,
    "set": SET_OPTION,
}


@dataclass(frozen=True)
class Given:
    """The shared options as given in one place of the command line."""

    store: str | None = None
    json: bool = False
    units: str | None = None
    set: Sequence[str] | None = None

    def over(self, other: "Given") -> "Given":
        """Return these options, and those of `other` where these say nothing."""
        return Given(
            store=other.store if self.store is None else self.store,
            json=self.json or other.json,
            units=self.units or other.units,
            set=[*(other.set or ()), *(self.set or ())],
        )

    def settings(self) -> dict[str, str | float | None]:
        """Return the settings given on this call by their keys.

        Raises SettingsError for one that is not KEY=VALUE.
        """
        given: dict[str, str | float | None] = {}
        for text in self.set or ():
            key, equals, value = text.partition("=")
            if not equals or not value.strip():
                raise SettingsError(f"--set {text!r} is not KEY=VALUE; write ruler_step=1/16")
            given[key] = value.strip()
        return given | ({} if self.units is None else {"units": self.units})


class Call:
    """One call of the program: its shared options, and how it speaks."""

    def __init__(self, given: Given) -> None:
        self._given = given

    @property
    def json(self) -> bool:
        """Whether one JSON document is wanted on standard output."""
        return self._given.json

    @property
    def store(self) -> str | None:
        """The store's folder as given with --store."""
        return self._given.store

    @functools.cached_property
    def settings(self) -> "Settings":
        """The user's settings, with what this call overrules."""
        from scrapstore.settings import load_settings, overridden

        kept = load_settings()
        try:
            return overridden(kept, self._given.settings())
        except SettingsError as error:  # not in the file but in what was typed: wrong usage
            raise typer.BadParameter(str(error)) from error

    def with_settings(self, **values: str | float | None) -> "Settings":
        """Return the settings with the given ones overruled; None leaves one as it is.

        A text without a unit is in the units shown.
        """
        from scrapstore.settings import overridden

        return overridden(self.settings, values)

    def open_store(self, *, make: bool = False) -> "Store":
        """Open the store of this call; what happens to it is told on standard error.

        Only a command that adds something may make a new one: a slip in its name would seem to lose
        all that is in it.
        """
        from scrapstore.store import open_store

        return open_store(self._given.store, make=make, tell=self.say)

    def length(self, text: str, *, field: str, zero: bool = False) -> float:
        """Return the length `text` in inches; without a unit it is in the units shown.

        Nothing at all (0) is a length where `zero` allows it. Raises LengthError.
        """
        return parse_length(text, field=field, default_unit=self.settings.units, zero=zero)

    def shown(self, inches: float | None) -> str:
        """Return a length in the units shown, a dash for None."""
        return "–" if inches is None else format_length(inches, self.units).replace("~", "about ")

    @property
    def units(self) -> Units:
        """What lengths are shown in."""
        return self.settings.units

    def say(self, sentence: str) -> None:
        """Tell something beside the result: on standard error."""
        typer.echo(printable(sentence), err=True)

    def show(
        self,
        document: "BaseModel | Callable[[], BaseModel]",
        text: "Callable[[], RenderableType]",
    ) -> None:
        """Print the result: `document` as JSON when that is wanted, else what `text` returns.

        A document that takes long to make is given as a function.
        """
        if self.json:
            typer.echo(escaped(_json_text(document() if callable(document) else document)))
            return
        from rich.console import Console

        # Nothing is told by colour, and cloth may be called [red] or :star:.
        console = Console(highlight=False, markup=False, emoji=False, color_system=None)
        with console.capture() as shown:
            console.print(text())
        typer.echo(printable(shown.get()), nl=False)


def _json_text(document: "BaseModel") -> str:
    try:
        return document.model_dump_json(indent=2, by_alias=True)
    except ValueError:  # a file name that is not UTF-8
        return json.dumps(
            document.model_dump(mode="json", by_alias=True), indent=2, ensure_ascii=False
        )


def _refuse_unprintable(context: typer.Context, values: Mapping[str, Any]) -> None:
    """Refuse a typed text with control characters, or bytes that are no letters: wrong usage.

    Names of files may hold them.
    """
    parameter: Any  # of the library's own kind, which it hands on under no public name
    for parameter in context.command.params:
        value = values.get(str(parameter.name))
        for text in value if isinstance(value, list) else [value]:
            if isinstance(text, str) and not is_printable(text):
                msg = f"{printable(text)!r} holds characters that are no letters; type it without"
                raise typer.BadParameter(msg, ctx=context, param=parameter)


def command(
    app: typer.Typer, name: str, **options: Any
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Register a function as the command `name` of `app`.

    Its first parameter receives the `Call`; the rest are its arguments and options. This is the one
    place where a `ScrapstoreError` becomes a sentence on standard error and an exit status.
    """

    def register(function: Callable[..., None]) -> Callable[..., None]:
        parameters = list(inspect.signature(function).parameters.values())[1:]
        shared = [
            inspect.Parameter(
                key,
                inspect.Parameter.KEYWORD_ONLY,
                default=False if key == "json" else None,
                annotation=annotation,
            )
            for key, annotation in _SHARED.items()
        ]
        context = inspect.Parameter(
            "context", inspect.Parameter.KEYWORD_ONLY, annotation=typer.Context
        )
        own = [part.replace(kind=inspect.Parameter.KEYWORD_ONLY) for part in parameters]

        @functools.wraps(function)
        def run(*, context: typer.Context, **values: Any) -> None:
            given = Given(**{key: values.pop(key) for key in _SHARED})
            given = given.over(context.obj or Given())
            call = Call(given)
            _refuse_unprintable(context, values | {"set": list(given.set or ())})
            try:
                if given.set or given.units:
                    _ = call.settings  # a slip in them is told before anything is done
                function(call, **values)
            except ScrapstoreError as error:
                call.say(f"scrapstore: {error}")
                wrong_call = isinstance(error, LengthError | ShapeError | UsageError)
                raise typer.Exit(2 if wrong_call else 1) from error
            except KeyboardInterrupt:
                call.say("scrapstore: stopped; what was not finished was not kept")
                raise typer.Exit(INTERRUPTED) from None

        del run.__wrapped__
        signature = inspect.Signature([context, *own, *shared])
        run.__signature__ = signature  # type: ignore[attr-defined]
        run.__annotations__ = {part.name: part.annotation for part in signature.parameters.values()}
        app.command(name, **options)(run)
        return function

    return register


def group(app: typer.Typer, name: str, about: str) -> typer.Typer:
    """Add a group of commands, such as ``scrap add``, and return it."""
    inner = typer.Typer(help=about, no_args_is_help=True, rich_markup_mode=None)
    app.add_typer(inner, name=name)
    return inner
