"""Rows ⇄ working forms, by the names of their fields.

A column without a field of its name, and a field without a column, is an error at the first row: so
a new one cannot be forgotten on one side.
"""

from collections.abc import Mapping
from dataclasses import fields
from typing import Any, TypeVar, cast

from sqlalchemy import Table

from scrapstore.shapes import bounding_sides
from scrapstore.store.forms import NewReadyCut, NewScrap
from scrapstore.store.geometry import checked_flaw, storable_outline

__all__ = ["form_of_row", "measured_pieces", "measured_scrap", "row_of_form"]

_Form = TypeVar("_Form")


def form_of_row(form: type[_Form], row: Mapping[str, Any]) -> _Form:
    """Return the working form of a row, given as its columns and what else the form has."""
    return form(**{field.name: row[field.name] for field in fields(cast("Any", form))})


def row_of_form(table: Table, form: Any, **worked_out: Any) -> dict[str, Any]:
    """Return the columns of `form` by name: each the field of its name, or what was `worked_out`.

    A column such as fabric_id has the number of the field fabric.
    """
    names = [name for name in table.c.keys() if name not in ("id", "created")]  # noqa: SIM118 - no dict
    own = {name: _column(form, name) for name in names if name not in worked_out}
    return own | worked_out


def _column(form: Any, name: str) -> Any:
    if hasattr(form, name):
        return getattr(form, name)
    thing = getattr(form, name.removesuffix("_id"))
    return None if thing is None else thing.id


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
