"""What all commands share: the options --store, --json, --units and --set, errors, printing.

A module of commands has an `app`; a command is a function whose first parameter is a `Call`.
`command` gives it the shared options, so that they may stand before or after its name::

    app = typer.Typer()  # or `group`, for commands such as ``scrap add``

    @command(app, "match")
    def match(call: Call, project: Path) -> None:
        # its docstring is the command's help
        result = call.in_store(match_project, project, settings=call.settings)
        call.show(match_out(result), lambda: match_text(result, call))
"""

import functools
import inspect
import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import MISSING, dataclass, fields, is_dataclass
from typing import TYPE_CHECKING, Annotated, Any, Concatenate, NamedTuple, ParamSpec, TypeVar

import typer

from scrapstore.cli.messages import Command, CommandGroup, needs_command, refuse_leftover
from scrapstore.errors import SettingsError, UsageError
from scrapstore.printable import escaped, is_printable, printable
from scrapstore.units import Units, format_about, parse_length

if TYPE_CHECKING:
    from pydantic import BaseModel
    from rich.console import RenderableType

    from scrapstore.settings import Settings
    from scrapstore.store import Store

__all__ = ["Bundle", "Call", "Given", "bundle", "command", "group", "unfolded"]


_Given = ParamSpec("_Given")
_Result = TypeVar("_Result")


@dataclass(frozen=True)
class Given:
    """The shared options as given in one place of the command line."""

    store: Annotated[
        str | None,
        typer.Option(
            "--store",
            metavar="FOLDER",
            help="The store's folder (else $SCRAPSTORE_STORE, else in your data folder).",
        ),
    ] = None
    json: Annotated[
        bool, typer.Option("--json", help="Print one JSON document, lengths in inches.")
    ] = False
    units: Annotated[
        str | None, typer.Option("--units", metavar="in|cm", help="What lengths are shown in.")
    ] = None
    set: Annotated[
        list[str] | None,
        typer.Option(
            "--set",
            metavar="KEY=VALUE",
            help="A setting for this call, such as ruler_step=1/16 (without a unit: in the units "
            "shown).",
        ),
    ] = None

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
        self.filtered = False  # whether a list was narrowed
        self.typed: tuple[str, ...] = ()  # the options of the command itself that were given

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
            raise UsageError(str(error)) from error

    def with_settings(self, **values: str | float | None) -> "Settings":
        """Return the settings with the given ones overruled; None leaves one as it is.

        A text without a unit is in the units shown.
        """
        from scrapstore.settings import overridden

        return overridden(self.settings, values)

    def open_store(self, *, make: bool = False) -> "Store":
        """Open the store of this call; what happens to it is said on standard error.

        Only a command that adds something may make a new one: a slip in its name would seem to lose
        all that is in it.
        """
        from scrapstore.store import open_store

        return open_store(self._given.store, make=make, notify=self.say)

    def in_store(
        self,
        action: "Callable[Concatenate[Store, _Given], _Result]",
        /,
        *given: _Given.args,
        **named: _Given.kwargs,
    ) -> "_Result":
        """Return what `action` does with the open store of this call and what is `given`."""
        with self.open_store() as store:
            return action(store, *given, **named)

    def in_store_or_new(
        self,
        action: "Callable[Concatenate[Store, _Given], _Result]",
        /,
        *given: _Given.args,
        **named: _Given.kwargs,
    ) -> "_Result":
        """Return the same as `in_store`; a store that is not there is made."""
        with self.open_store(make=True) as store:
            return action(store, *given, **named)

    def length(self, text: str, *, field: str, zero: bool = False) -> float:
        """Return the length `text` in inches; without a unit it is in the units shown.

        Nothing at all (0) is a length where `zero` allows it. Raises LengthError.
        """
        return parse_length(text, field=field, default_unit=self.settings.units, zero=zero)

    def shown(self, inches: float | None) -> str:
        """Return a length in the units shown, a dash for None."""
        return "–" if inches is None else format_about(inches, self.units)

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

        # No meaning is in a colour, and cloth may be called [red] or :star:.
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


def command(
    app: typer.Typer, name: str, **options: Any
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Register a function as the command `name` of `app`.

    Its first parameter receives the `Call`; the rest are its arguments and options.
    """

    def register(function: Callable[..., None]) -> Callable[..., None]:
        def run(context: typer.Context, given: Given, **values: Any) -> None:
            refuse_leftover(context)
            given = given.over(context.obj or Given())
            _refuse_unprintable(context, given)
            call = Call(given)
            call.typed = _typed_options(context)
            if given.set or given.units:
                _ = call.settings  # a slip in them is reported before anything is done
            function(call, **values)

        context, given, _ = inspect.signature(run).parameters.values()
        own = list(inspect.signature(function).parameters.values())[1:]
        unfolded_run = unfolded(run, [context, *own, given])
        unfolded_run.__doc__ = function.__doc__
        settings = {"allow_extra_args": True}
        app.command(name, cls=Command, context_settings=settings, **options)(unfolded_run)
        return function

    return register


class Bundle(NamedTuple):
    """Options that a command receives as one object, which `make` makes of their values.

    An option has a name, a type annotated as the library wants it, and a default or MISSING.
    """

    options: Sequence[tuple[str, Any, Any]]
    make: Callable[..., Any]


def bundle(options: type[_Result]) -> type[_Result]:
    """Make a class whose fields are declared as options a dataclass; quickly, for a quick start."""
    return dataclass(kw_only=True, eq=False, repr=False)(options)


def unfolded(
    function: Callable[..., None], parameters: Iterable[inspect.Parameter] | None = None
) -> Callable[..., None]:
    """Return `function` as the library is to see it: with each option of a bundle by itself.

    A bundle is a parameter whose type is a dataclass, its fields declared as options are, or is
    annotated with a `Bundle`. `parameters` are those of `function` unless they are given.
    """
    seen: list[inspect.Parameter] = []
    bundles: dict[str, Bundle] = {}
    for part in parameters or inspect.signature(function).parameters.values():
        found = _bundle(part.annotation)
        if found is None:
            seen.append(part.replace(kind=part.KEYWORD_ONLY))
            continue
        bundles[part.name] = found
        for name, annotation, default in found.options:
            given = {} if default is MISSING else {"default": default}
            option = inspect.Parameter(name, part.KEYWORD_ONLY, annotation=annotation, **given)
            seen.append(option)

    def run(**values: Any) -> None:
        for name, (options, make) in bundles.items():
            values[name] = make(**{each: values.pop(each) for each, _, _ in options})
        function(**values)

    run.__signature__ = inspect.Signature(seen)  # type: ignore[attr-defined]
    run.__annotations__ = {each.name: each.annotation for each in seen}
    return run


def _bundle(annotation: Any) -> Bundle | None:
    """Return the bundle that `annotation` is or is annotated with, None where there is none."""
    for each in (annotation, *getattr(annotation, "__metadata__", ())):
        if isinstance(each, Bundle):
            return each
        if isinstance(each, type) and is_dataclass(each):
            return Bundle([(part.name, part.type, part.default) for part in fields(each)], each)
    return None


def group(name: str, about: str) -> typer.Typer:
    """Return a group of commands that share the first word `name`, such as ``scrap add``."""
    app = typer.Typer(
        name=name, help=about, cls=CommandGroup, invoke_without_command=True, rich_markup_mode=None
    )
    app.callback()(needs_command)
    return app


def _typed_options(context: typer.Context) -> tuple[str, ...]:
    """Return the options that were typed, without those that all commands share."""
    shared = {part.name for part in fields(Given)}
    parameter: Any  # as below
    typed = []
    for parameter in context.command.params:
        source = context.get_parameter_source(parameter.name)
        if source is not None and source.name == "COMMANDLINE" and parameter.name not in shared:
            typed += [text for text in parameter.opts[:1] if text.startswith("-")]
    return tuple(typed)


def _refuse_unprintable(context: typer.Context, given: Given) -> None:
    """Refuse a typed text with control characters, or bytes that are no letters: wrong usage.

    Names of files may hold them.
    """
    typed = context.params | {"set": given.set, "units": given.units, "store": None}
    parameter: Any  # of the library's own kind, which it hands on under no public name
    for parameter in context.command.params:
        value = typed.get(str(parameter.name))
        for text in value if isinstance(value, list) else [value]:
            if isinstance(text, str) and not is_printable(text):
                raise UsageError(
                    f"{parameter.opts[0]}: {printable(text)!r} holds characters that are no "
                    "letters; type it without them"
                )
