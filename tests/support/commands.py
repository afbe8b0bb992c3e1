"""All commands of the program, and a call of each in the folder that `furnished` makes."""

from collections.abc import Iterator
from typing import Any, Final

import typer

from scrapstore.cli.app import build_app

__all__ = ["CALLS", "COMMANDS", "Words"]

Words = tuple[str, ...]


def _commands() -> Iterator[tuple[Words, Any]]:
    def walk(command: Any, words: Words) -> Iterator[tuple[Words, Any]]:
        inner = getattr(command, "commands", None)
        if inner is None:
            yield words, command
        else:
            for name, one in inner.items():
                yield from walk(one, (*words, name))

    yield from walk(typer.main.get_command(build_app()), ())


COMMANDS: Final = dict(_commands())
"""Every command as the library has it, by its words, such as (scrap, add)."""

CALLS: Final[dict[Words, Words]] = {
    ("scale",): ("card.pdf",),
    ("log",): ("photo.jpg", "--size", "9 x 6"),
    ("gives",): ("2", "--for", "pad.toml"),
    ("match",): ("pad.toml", "--no-sheets"),
    ("plan", "keep"): ("pad.toml", "--name", "second"),
    ("plan", "list"): (),
    ("plan", "show"): ("first",),
    ("plan", "sheets"): ("first",),
    ("plan", "picture"): ("first", "top.png"),
    ("plan", "done"): ("sewn",),
    ("cut",): ("first", "--yes"),
    ("plan", "release"): ("first",),
    ("shopping",): ("pad.toml", "first"),
    ("rank",): (".",),
    ("design", "list"): (),
    ("design", "show"): ("star", "--picture", "star.svg"),
    ("design", "start"): ("star", "star.toml"),
    ("arrange",): ("squares.toml",),
    ("project", "new"): ("new.toml",),
    ("project", "check"): ("pad.toml",),
    ("project", "shapes"): (),
    ("families",): (),
    ("find",): ("--like", "blue"),
    ("piles",): ("2",),
    ("labels",): ("labels.pdf",),
    ("stocktake",): ("bin 2", "--there", "1,2", "--yes"),
    ("scrap", "add"): ("--size", "9 x 22"),
    ("scrap", "list"): (),
    ("scrap", "show"): ("3",),
    ("scrap", "edit"): ("2", "--place", "bin 2"),
    ("scrap", "retire"): ("2",),
    ("scrap", "reinstate"): ("2",),
    ("fabric", "add"): ("Deck stripe",),
    ("fabric", "list"): (),
    ("fabric", "show"): ("Navy dot",),
    ("fabric", "edit"): ("linen", "--washed"),
    ("fabric", "retire"): ("linen",),
    ("fabric", "reinstate"): ("linen",),
    ("yardage", "add"): ("--fabric", "linen", "--length", "1/2 yd"),
    ("yardage", "list"): (),
    ("yardage", "show"): ("2",),
    ("yardage", "edit"): ("1", "--length", "9"),
    ("yardage", "retire"): ("1",),
    ("yardage", "reinstate"): ("1",),
    ("ready", "add"): ("--count", "12", "--size", "5 x 5"),
    ("ready", "list"): (),
    ("ready", "show"): ("2",),
    ("ready", "edit"): ("1", "--count", "9"),
    ("ready", "retire"): ("1",),
    ("ready", "reinstate"): ("1",),
    ("binding", "add"): ("--size", "2 1/2 x 40"),
    ("binding", "list"): (),
    ("binding", "show"): ("2",),
    ("binding", "edit"): ("1", "--end", "/"),
    ("binding", "retire"): ("1",),
    ("binding", "reinstate"): ("1",),
    ("crumbs", "add"): ("--weight", "4 oz", "--family", "blue"),
    ("crumbs", "list"): (),
    ("crumbs", "show"): ("1",),
    ("crumbs", "edit"): ("1", "--weight", "90 g"),
    ("crumbs", "retire"): ("1",),
    ("crumbs", "reinstate"): ("1",),
    ("batting", "add"): ("--size", "22 x 22"),
    ("batting", "list"): (),
    ("batting", "show"): ("1",),
    ("batting", "edit"): ("1", "--note", "half loft"),
    ("batting", "retire"): ("1",),
    ("batting", "reinstate"): ("1",),
    ("form", "add"): ("--size", "18 x 18"),
    ("form", "list"): (),
    ("form", "show"): ("2",),
    ("form", "edit"): ("2", "--count", "1"),
    ("form", "retire"): ("2",),
    ("form", "reinstate"): ("2",),
    ("zip", "add"): ("--length", "16"),
    ("zip", "list"): (),
    ("zip", "show"): ("3",),
    ("zip", "edit"): ("3", "--length", "14"),
    ("zip", "retire"): ("3",),
    ("zip", "reinstate"): ("3",),
    ("sew",): ("pad.toml", "--sheet", "sewing.pdf"),
    ("finish",): ("--size", "8 x 8"),
    ("lens", "list"): (),
    ("lens", "forget"): ("1",),
    ("history",): (),
    ("undo",): ("--yes",),
    ("store", "info"): (),
    ("store", "check"): (),
    ("store", "backup"): (),
    ("store", "restore"): ("copy",),
    ("store", "export"): ("new.zip",),
    ("store", "import"): ("store.zip", "--store", "empty"),
    ("settings", "show"): (),
    ("settings", "set"): ("margin", "1/4"),
    ("settings", "path"): (),
    ("guide",): ("store",),
}
"""A call of every command that is carried out; the demo alone is left out, for it takes long."""
