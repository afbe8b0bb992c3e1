"""Rows ⇄ working forms, by the names of their fields.

A column without a field of its name, and a field without a column, is an error at the first row: so
a new one cannot be forgotten on one side.
"""

from collections.abc import Mapping
from dataclasses import fields
from typing import Any, TypeVar, cast

from scrapstore.shapes import bounding_sides
from scrapstore.store.forms import NewReadyCut, NewScrap
from scrapstore.store.geometry import checked_flaw, storable_outline
from scrapstore.store.models import Base

__all__ = ["fill_row", "form_of_row", "measured_pieces", "measured_scrap"]

_Form = TypeVar("_Form")


def form_of_row(form: type[_Form], row: Mapping[str, Any]) -> _Form:
    """Return the working form of a row, given as its columns and what else the form has."""
    return form(**{field.name: row[field.name] for field in fields(cast("Any", form))})


def fill_row(row: Base, form: Any, **worked_out: Any) -> None:
    """Write `form` into `row`: each column has the field of its name, or what was `worked_out`.

    A column such as fabric_id has the number of the field fabric.
    """
    for column in row.__table__.columns:
        name = column.name
        if name in worked_out:
            setattr(row, name, worked_out[name])
        elif name not in ("id", "created"):
            setattr(row, name, getattr(form, name) if hasattr(form, name) else _number(form, name))


def _number(form: Any, column: str) -> int | None:
    thing = getattr(form, column.removesuffix("_id"))
    return None if thing is None else int(thing.id)


def measured_scrap(scrap: NewScrap) -> dict[str, Any]:
    """Return the columns that come from the outline; ShapeError for an outline that is none."""
    outline = storable_outline(scrap.outline, what="scrap")
    long_side, short_side = bounding_sides(outline)
    return {
        "outline": outline,
        "flaws": tuple(checked_flaw(flaw, outline) for flaw in scrap.flaws),
        "area": outline.area,
        "long_side": long_side,
        "short_side": short_side,
    }


def measured_pieces(pieces: NewReadyCut) -> dict[str, Any]:
    """Return the columns that come from the outline; ShapeError for an outline that is none."""
    cut = storable_outline(pieces.cut, what="ready-cut piece")
    long_side, short_side = bounding_sides(cut)
    return {"cut": cut, "long_side": long_side, "short_side": short_side}
