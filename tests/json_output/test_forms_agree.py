"""A field of stock is in all three forms: stored, working and JSON. What lacks is named."""

from dataclasses import dataclass, fields
from typing import Any

import pytest
from pydantic import AliasPath, BaseModel
from sqlalchemy import Table

from scrapstore.json_output.stock_schema import (
    BindingOut,
    FabricOut,
    NotionOut,
    PhotoOut,
    ReadyCutOut,
    ScrapOut,
    YardageOut,
)
from scrapstore.store import BindingStrip, Fabric, Notion, ReadyCut, Scrap, StoredPhoto, Yardage
from scrapstore.store.models import (
    BINDING,
    FABRICS,
    NOTIONS,
    PHOTOS,
    READY_CUT,
    SCRAPS,
    YARDAGE,
)

KINDS: list[tuple[Table, type[Any], type[BaseModel]]] = [
    (FABRICS, Fabric, FabricOut),
    (PHOTOS, StoredPhoto, PhotoOut),
    (SCRAPS, Scrap, ScrapOut),
    (YARDAGE, Yardage, YardageOut),
    (READY_CUT, ReadyCut, ReadyCutOut),
    (BINDING, BindingStrip, BindingOut),
    (NOTIONS, Notion, NotionOut),
]
# Worked out from swatches and from kept plans; no column.
NOT_STORED = {Scrap: {"tints"}, Yardage: {"promised"}}
# A photo is shown as a part of its scraps, which tell when they were added.
NOT_PRINTED = {StoredPhoto: {"created"}}
# Printed in place of the field, or beside the fields it is made of.
PRINTED_AS = {Yardage: {"width": "usable_width"}}
WORKED_OUT = {"sides", "left"}


def lacking(table: Table, form: type[Any], printed: type[BaseModel]) -> list[str]:
    """Return a line for each field that one of the three forms has and another has not."""
    working = {field.name for field in fields(form)}
    stored = set()
    for column in table.c:
        whole = column.name.removesuffix("_id")
        stored.add(whole if whole in working else column.name)
    out = set()
    for name, field in printed.model_fields.items():
        alias = field.validation_alias or name
        attribute = str(alias.path[0]) if isinstance(alias, AliasPath) else str(alias)
        out.add(PRINTED_AS.get(form, {}).get(attribute, attribute))
    wanted = {
        "the table": (stored, working - NOT_STORED.get(form, set())),
        "the working form": (working, stored | (out - WORKED_OUT)),
        "the JSON": (out, working - NOT_PRINTED.get(form, set())),
    }
    return [
        f"{name} is not in {where} ({form.__name__})"
        for where, (there, should) in wanted.items()
        for name in sorted(should - there)
    ]


@pytest.mark.parametrize(("table", "form", "printed"), KINDS)
def test_each_field_is_stored_and_printed(
    table: Table, form: type[Any], printed: type[BaseModel]
) -> None:
    assert lacking(table, form, printed) == []


def test_what_lacks_is_named() -> None:
    """A field in one form only is missed in the other two."""

    @dataclass(frozen=True, kw_only=True)
    class Wider(BindingStrip):
        shop: str | None = None

    class WiderOut(BindingOut):
        colour: str | None

    assert lacking(BINDING, Wider, WiderOut) == [
        "shop is not in the table (Wider)",
        "colour is not in the working form (Wider)",
        "shop is not in the JSON (Wider)",
    ]
