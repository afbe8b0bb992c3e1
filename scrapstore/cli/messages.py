"""What is wrong with a call, in the program's own words.

The library that reads the command line has words of its own, which change with its version. Here
only the kind of its error is looked at, never its text: a `Command` raises UsageError instead.
"""

from collections.abc import Collection
from typing import Any, Final

import typer
from typer.core import TyperCommand, TyperGroup

from scrapstore.errors import UsageError

__all__ = [
    "Command",
    "CommandGroup",
    "argument_name",
    "argument_usage",
    "needs_command",
    "refuse_leftover",
]

_UNREADABLE: Final[Any] = typer.BadParameter.__base__
"""The library's error for a call that it cannot read; it hands it on under no public name."""


class _OwnWords:
    def parse_args(self, ctx: Any, args: list[str]) -> Any:
        """Read the options and arguments; UsageError for what cannot be read."""
        try:
            return super().parse_args(ctx, args)  # type: ignore[misc]
        except _UNREADABLE as error:
            raise UsageError(_own_words(error, ctx)) from None


class Command(_OwnWords, TyperCommand):
    """One command, whose help names its arguments as the rest of the program does."""

    def collect_usage_pieces(self, ctx: Any) -> list[str]:  # noqa: ARG002 - the library's signature
        """Return the words after the command's name in its first line of help."""
        return [*map(argument_usage, _arguments(self)), "[OPTIONS]"]

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Write what each argument and option is."""
        options = [each for each in self.get_params(ctx) if each.param_type_name == "option"]
        for title, rows in (
            ("Arguments", [(argument_name(each), each.help or "") for each in _arguments(self)]),
            ("Options", [row for each in options if (row := each.get_help_record(ctx))]),
        ):
            if rows:
                with formatter.section(title):
                    formatter.write_dl(rows)


class CommandGroup(_OwnWords, TyperGroup):
    """Commands that share a first word."""

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Find the command that the first of `args` names; UsageError where there is none."""
        word = args[0]
        if not {word, ctx.token_normalize_func(word)} & set(self.commands):
            raise UsageError(
                f"{_words(ctx)} has no command {word!r}; {_choice(word, _shown(self), ctx)}"
            )
        return super().resolve_command(ctx, args)


def needs_command(context: typer.Context) -> None:
    """Refuse a call that ends after the first word of its command."""
    if context.invoked_subcommand is None:
        names = ", ".join(_shown(context.command))
        raise UsageError(f"{_words(context)} needs one more word: {names}; {_help(context)}")


def refuse_leftover(context: typer.Context) -> None:
    """Refuse words that belong to no option and no argument."""
    if context.args:
        raise UsageError(
            f"{_words(context)} has no use for {context.args[0]!r}; put a value of several words "
            f"in quotes; {_help(context)}"
        )


def _own_words(error: Any, context: Any) -> str:
    """Return what was wrong, where, and what to do."""
    parameters = context.command.params
    match type(error).__name__:
        case "NoSuchOption":
            option = error.option_name
            shown = [each for each in parameters if not getattr(each, "hidden", False)]
            known = [name for each in shown for name in each.opts if name.startswith("--")]
            return f"{_words(context)} has no option {option}; {_choice(option, known, context)}"
        case "MissingParameter":
            about = (error.param.help or "").removesuffix(".")
            option = error.param.opts[0] if error.param.opts[0].startswith("-") else ""
            name = f"{option} {_metavar(error.param)}".strip()
            return f"{_words(context)} needs {name}: {about}; {_help(context)}"
        case "BadOptionUsage":
            option = error.option_name
            metavar = next(_metavar(each) for each in parameters if option in each.opts)
            if metavar is None:
                return f"{option} takes no value; write {option} alone"
            return f"{option} needs a value: {option} {metavar}; {_help(context)}"
    return f"{_words(context)}: the program cannot read this call; {_help(context)}"


def _arguments(command: Any) -> list[Any]:
    return [each for each in command.params if each.param_type_name == "argument"]


def argument_name(argument: Any) -> str:
    """Return what help calls an argument, such as ``NUMBER``."""
    return str(argument.metavar or argument.name.upper()).strip("[]")


def argument_usage(argument: Any) -> str:
    """Return an argument as a line of usage has it: ``[NUMBER ...]`` may be left out."""
    name = argument_name(argument) + (" ..." if argument.nargs != 1 else "")
    return name if argument.required else f"[{name}]"


def _metavar(parameter: Any) -> str | None:
    return str(parameter.metavar).strip("[]") if parameter.metavar else None


def _words(context: Any) -> str:
    """Return the words of a command, such as ``scrap list``."""
    return str(context.command_path.partition(" ")[2] or "the program")


def _shown(group: Any) -> list[str]:
    return [name for name, command in group.commands.items() if not command.hidden]


def _choice(word: str, known: Collection[str], context: Any) -> str:
    from scrapstore.near_words import near_words

    dashes = "--" if word.startswith("-") else ""
    near = near_words(word.strip("-"), [name.strip("-") for name in known])
    return f"did you mean {dashes}{f' or {dashes}'.join(near)}?" if near else _help(context)


def _help(context: Any) -> str:
    return f"{context.command_path} --help says more"
