"""The table of the fields that are typed: it fits the working forms, and texts are read by it."""

from dataclasses import fields
from typing import Any

import pytest

from scrapstore.errors import LengthError, ScrapstoreError, ShapeError, UsageError
from scrapstore.stock_entry.fields import (
    BINDING_FIELDS,
    FABRIC_FIELDS,
    NOTION_FIELDS,
    READY_CUT_FIELDS,
    SCRAP_FIELDS,
    YARDAGE_FIELDS,
    TypedField,
)
from scrapstore.stock_entry.read_fields import read_fields
from scrapstore.store import (
    NewBindingStrip,
    NewFabric,
    NewNotion,
    NewReadyCut,
    NewScrap,
    NewYardage,
)

TABLES: list[tuple[type[Any], tuple[TypedField, ...]]] = [
    (NewScrap, SCRAP_FIELDS),
    (NewYardage, YARDAGE_FIELDS),
    (NewReadyCut, READY_CUT_FIELDS),
    (NewBindingStrip, BINDING_FIELDS),
    (NewNotion, NOTION_FIELDS),
    (NewFabric, FABRIC_FIELDS),
]
# What is typed another way, or worked out, of each kind.
NOT_TYPED = {
    NewScrap: {
        "outline", "flaws", "grain_deg", "margin", "uncertainty", "old_edges", "photo", "cut_out",
        "swatches", "corrected", "parent_id",
    },
    NewYardage: set(),
    NewReadyCut: {"kind", "label", "cut", "measures", "seam_allowance"},
    NewBindingStrip: {"width", "length"},
    NewNotion: {"kind", "width", "length"},
    NewFabric: {"retired"},
}  # fmt: skip


@pytest.mark.parametrize(("form", "table"), TABLES)
def test_each_field_of_a_form_is_in_the_table(
    form: type[Any], table: tuple[TypedField, ...]
) -> None:
    """Once, or it is one of those that are not typed as a field."""
    names = [field.name for field in table]
    assert sorted(names) == sorted({field.name for field in fields(form)} - NOT_TYPED[form])


@pytest.mark.parametrize(
    ("table", "typed", "read"),
    [
        (
            SCRAP_FIELDS,
            {"name": " sleeve ", "place": " ", "note": None},
            {"name": "sleeve", "place": None},
        ),
        (SCRAP_FIELDS, {"family": "Navy", "value": "DARK"}, {"family": "blue", "value": "dark"}),
        (SCRAP_FIELDS, {"accents": ["teal", ""]}, {"accents": ("blue",)}),
        (SCRAP_FIELDS, {"accents": [""], "family": ""}, {"accents": None, "family": None}),
        (SCRAP_FIELDS, {"status": "set-aside", "size": "9 x 6"}, {"status": "set aside"}),
        (
            YARDAGE_FIELDS,
            {"length": "2.54", "usable_width": ""},
            {"length": 1.0, "usable_width": None},
        ),
        (READY_CUT_FIELDS, {"count": 0}, {"count": 0}),
        (BINDING_FIELDS, {"start_slope_deg": "/"}, {"start_slope_deg": 45.0}),
        (FABRIC_FIELDS, {"washed": False, "alike": None}, {"washed": False}),
    ],
)
def test_texts_are_read_as_the_table_says(
    table: tuple[TypedField, ...], typed: dict[str, Any], read: dict[str, Any]
) -> None:
    """What is not given is left out; what is typed as empty is None. Lengths are in cm here."""
    assert read_fields(table, typed, units="cm") == read


@pytest.mark.parametrize(
    ("table", "typed", "error", "words"),
    [
        (SCRAP_FIELDS, {"family": "pruple"}, UsageError, "did you mean purple"),
        (SCRAP_FIELDS, {"status": ""}, UsageError, "status: '' is not one"),
        (YARDAGE_FIELDS, {"length": ""}, LengthError, "length"),
        (YARDAGE_FIELDS, {"usable_width": "wide"}, LengthError, "width"),
        (READY_CUT_FIELDS, {"count": -1}, ShapeError, "give 0 or more"),
        (BINDING_FIELDS, {"end_slope_deg": ""}, ShapeError, "end: cannot read"),
    ],
)
def test_a_text_that_cannot_be_read_is_refused(
    table: tuple[TypedField, ...], typed: dict[str, Any], error: type[ScrapstoreError], words: str
) -> None:
    with pytest.raises(error, match=words):
        read_fields(table, typed)
