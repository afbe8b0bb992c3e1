"""The command reference, made from the program itself.

``python -m scrapstore.cli.reference`` writes it to ``scrapstore/guide/commands.md``; a test fails
when that file is not what this would write. The text is laid out here, from names and help texts
alone, so that it does not change with the way a library prints its help.
"""

import inspect
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import typer

from scrapstore.cli.app import build_app
from scrapstore.cli.messages import argument_name, argument_usage

__all__ = ["reference_file", "reference_text"]

_EVERYWHERE = ("store", "json", "units", "set", "help")


def reference_file() -> Path:
    """Return where the reference is kept."""
    return Path(__file__).parent.parent / "guide" / "commands.md"


def reference_text() -> str:
    """Return the reference: every command with its arguments and options, in Markdown."""
    parts = [
        "# Every command",
        "Made from the program: do not edit.",
        "Every command also takes `--store FOLDER`, `--json` (one JSON document on standard "
        "output, lengths in\ninches), `--units in|cm`, `--set KEY=VALUE` (a setting for this "
        "call) and `--help`. Exit status:\n0 done, 1 something is yours to put right (the message "
        "says what), 2 the call is wrong,\n130 stopped with Ctrl-C.",
    ]
    # Typed as Any: what typer builds has its type in a library that is typer's own business.
    root: Any = typer.main.get_command(build_app())
    for path, command in _commands(root, ("scrapstore",)):
        parts.append(_section(path, command))
    return "\n\n".join(parts) + "\n"


def _commands(command: Any, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Any]]:
    """Yield every command that does something, groups opened up."""
    inner = getattr(command, "commands", None)
    if inner is None:
        yield path, command
        return
    for name, each in inner.items():
        if not each.hidden:
            yield from _commands(each, (*path, name))


def _section(path: tuple[str, ...], command: Any) -> str:
    own = [
        param
        for param in command.params
        if param.name not in _EVERYWHERE and not getattr(param, "hidden", False)
    ]
    arguments = [param for param in own if param.param_type_name == "argument"]
    options = [param for param in own if param.param_type_name == "option"]
    usage = " ".join([*path, *(argument_usage(param) for param in arguments)])
    if options:
        usage += " [OPTIONS]"
    parts = [f"## `{usage}`", inspect.cleandoc(command.help or "").strip()]
    lines = [f"- `{argument_name(param)}`: {param.help or ''}" for param in arguments]
    lines += [f"- `{_option(param)}`: {param.help or ''}" for param in options]
    if lines:
        parts.append("\n".join(line.rstrip() for line in lines))
    return "\n\n".join(parts)


def _option(param: Any) -> str:
    names = ", ".join(param.opts)
    if param.secondary_opts:
        names += " / " + ", ".join(param.secondary_opts)
    return names if param.is_flag else f"{names} {param.metavar or 'TEXT'}"


if __name__ == "__main__":
    reference_file().write_text(reference_text(), encoding="utf-8", newline="\n")
