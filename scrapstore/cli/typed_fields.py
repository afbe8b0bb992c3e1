"""The options of ``add`` and ``edit``, built from the table of the fields that are typed."""

from collections.abc import Collection, Iterable
from dataclasses import MISSING
from functools import partial
from typing import Annotated, Any, Final

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Bundle, Call
from scrapstore.stock_entry.fields import TypedField

__all__ = ["FieldOptions", "adding", "editing"]

_TYPES: Final[dict[str, Any]] = {"flag": bool | None, "count": int | None, "families": o.TEXTS}


class FieldOptions:
    """What was typed for the fields of a table, by their names.

    `make_fabric` says whether a fabric that the store does not know is to be added.
    """

    def __init__(
        self, table: Collection[TypedField], *, new_fabrics: bool = False, **typed: Any
    ) -> None:
        self.make_fabric = new_fabrics
        self._table = table
        self._typed = typed

    def text(self, name: str) -> str:
        """Return what was typed for the field `name`; empty when nothing was."""
        return self._typed[name] or ""

    def read(self, call: Call) -> dict[str, Any]:
        """Return the values of the fields that were given; None for one that is to be emptied.

        Raises UsageError, LengthError or ShapeError for what cannot be read.
        """
        from scrapstore.stock_entry.read_fields import read_fields

        return read_fields(self._table, self._typed, units=call.units)

    def read_new(self, call: Call) -> dict[str, Any]:
        """Return the values of the fields that were given and are not empty, as `read` does."""
        return {name: value for name, value in self.read(call).items() if value is not None}


def adding(
    table: Iterable[TypedField], *, without: Collection[str] = (), needs: Collection[str] = ()
) -> Bundle:
    """Return the options for adding a thing with the fields of `table`, but those of `without`.

    Those named in `needs` must be given. The command receives `FieldOptions`.
    """
    return editing([each for each in table if each.when_adding and each.name not in without], needs)


def editing(table: Collection[TypedField], needs: Collection[str] = ()) -> Bundle:
    """Return the options for editing things with the fields of `table`."""
    options: list[tuple[str, Any, Any]] = []
    for each in table:
        kind: Any = Annotated[_TYPES.get(each.reads, str | None), _option(each)]
        options.append((each.name, kind, MISSING if each.name in needs else None))
        if each.name == "fabric":
            options.append(("new_fabrics", o.NEW_FABRICS, False))
    return Bundle(options, partial(FieldOptions, table))


def _option(each: TypedField) -> Any:
    if each.reads == "flag":
        return typer.Option(each.flag_names, help=each.about)
    if each.reads == "count":
        return o.number_option(each.flag_names, each.about, least=0)
    return o.text_option(each.flag_names, each.about, metavar=each.metavar)
