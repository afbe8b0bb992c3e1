"""The options of ``add`` and ``edit``, built from the table of the fields that are typed."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field, make_dataclass
from typing import Annotated, Any, ClassVar, Final

import typer

from scrapstore.actions.stock_fields import TypedField
from scrapstore.cli import options as o
from scrapstore.cli.base import Call

__all__ = ["FieldOptions", "adding", "editing"]

_TYPES: Final[dict[str, Any]] = {"flag": bool | None, "count": int | None, "families": o.TEXTS}


@dataclass(frozen=True, kw_only=True)
class FieldOptions:
    """What was typed for the fields of a table."""

    table: ClassVar[tuple[TypedField, ...]] = ()

    @property
    def make_fabric(self) -> bool:
        """Whether a fabric that the store does not know is to be added."""
        return bool(getattr(self, "new_fabrics", False))

    def text(self, name: str) -> str:
        """Return what was typed for the field `name`; empty when nothing was."""
        return getattr(self, name) or ""

    def read(self, call: Call) -> dict[str, Any]:
        """Return the values of the fields that were given; None for one that is to be emptied.

        Raises UsageError, LengthError or ShapeError for what cannot be read.
        """
        from scrapstore.actions.read_fields import read_fields

        return read_fields(self.table, vars(self), units=call.units)

    def read_new(self, call: Call) -> dict[str, Any]:
        """Return the values of the fields that were given and are not empty, as `read` does."""
        return {name: value for name, value in self.read(call).items() if value is not None}


def adding(
    table: Iterable[TypedField], *, without: Collection[str] = (), needs: Collection[str] = ()
) -> type[FieldOptions]:
    """Return the options for adding a thing with the fields of `table`, but those of `without`.

    Those named in `needs` must be given.
    """
    return _options(
        [each for each in table if each.when_adding and each.name not in without], needs
    )


def editing(table: Iterable[TypedField]) -> type[FieldOptions]:
    """Return the options for editing things with the fields of `table`."""
    return _options(list(table), ())


def _options(table: list[TypedField], needs: Collection[str]) -> type[FieldOptions]:
    options: list[tuple[str, Any, Any]] = []
    for each in table:
        default = field() if each.name in needs else field(default=None)
        options.append(
            (each.name, Annotated[_TYPES.get(each.reads, str | None), _option(each)], default)
        )
        if each.name == "fabric":
            options.append(("new_fabrics", o.NEW_FABRICS, field(default=False)))
    namespace = {"table": tuple(table)}
    return make_dataclass(
        "TypedOptions",
        options,
        bases=(FieldOptions,),
        namespace=namespace,
        frozen=True,
        kw_only=True,
    )


def _option(each: TypedField) -> Any:
    if each.reads == "flag":
        return typer.Option(each.flag_names, help=each.about)
    if each.reads == "count":
        return o.number_option(each.flag_names, each.about, least=0)
    return o.text_option(each.flag_names, each.about, metavar=each.metavar)
