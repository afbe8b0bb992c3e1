"""What bears on the colour of scraps, read quickly: thousands are grouped while a person waits."""

import json
from dataclasses import dataclass
from typing import Any, cast

from sqlalchemy import String, select, type_coerce

from scrapstore.colour import Swatch, Value
from scrapstore.store.filters import StockFilter
from scrapstore.store.forms import Scrap
from scrapstore.store.models import FabricRow, ScrapRow
from scrapstore.store.reader import Reader

__all__ = ["ColouredScrap", "coloured_scraps"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ColouredScrap:
    """What bears on a scrap's colour, and what to call it in a list.

    `family` and `value` are as kept with the scrap; `fabric_family` and `fabric_value` are its
    fabric's, for a scrap that has none. `area` is in square inches, the sides in inches.
    """

    id: int
    name: str | None
    fabric: str | None
    place: str | None
    area: float
    long_side: float
    short_side: float
    swatches: tuple[Swatch, ...]
    family: str | None
    accents: tuple[str, ...]
    value: Value | None
    corrected: tuple[str, ...]
    fabric_family: str | None
    fabric_value: Value | None


def coloured_scraps(reader: Reader, only: StockFilter | None = None) -> tuple[ColouredScrap, ...]:
    """Return the colours of the scraps that `only` lets through, by number."""
    only = only or StockFilter()
    if only != StockFilter(statuses=only.statuses):
        return tuple(_of_scrap(scrap) for scrap in reader.scraps(only))
    query = (
        select(
            ScrapRow.id,
            ScrapRow.name,
            FabricRow.name,
            ScrapRow.place,
            ScrapRow.area,
            ScrapRow.long_side,
            ScrapRow.short_side,
            ScrapRow.family,
            ScrapRow.value,
            FabricRow.family,
            FabricRow.value,
            # As the text they are stored as: decoded all together, far quicker than one by one.
            type_coerce(ScrapRow.swatches, String),
            type_coerce(ScrapRow.accents, String),
            type_coerce(ScrapRow.corrected, String),
        )
        .join(ScrapRow.fabric, isouter=True)
        .order_by(ScrapRow.id)
    )
    if only.statuses:
        query = query.where(ScrapRow.status.in_(only.statuses))
    rows = reader.session.execute(query).all()
    lists = (json.loads(f"[{','.join(str(row[at]) for row in rows)}]") for at in (-3, -2, -1))
    return tuple(_of_columns(*each) for each in zip(rows, *lists, strict=True))


def _of_columns(
    row: Any, swatches: list[dict[str, Any]], accents: list[str], corrected: list[str]
) -> ColouredScrap:
    number, name, fabric, place, area, long_side, short_side, family, value, *cloth = row[:-3]
    return ColouredScrap(
        id=number,
        name=name,
        fabric=fabric,
        place=place,
        area=area,
        long_side=long_side,
        short_side=short_side,
        swatches=tuple(
            Swatch(tuple(one["rgb"]), tuple(one["lab"]), one["share"]) for one in swatches
        ),
        family=family,
        accents=tuple(accents),
        value=cast("Value | None", value),
        corrected=tuple(corrected),
        fabric_family=cloth[0],
        fabric_value=cloth[1],
    )


def _of_scrap(scrap: Scrap) -> ColouredScrap:
    return ColouredScrap(
        id=scrap.id,
        name=scrap.name,
        fabric=None if scrap.fabric is None else scrap.fabric.name,
        place=scrap.place,
        area=scrap.area,
        long_side=scrap.long_side,
        short_side=scrap.short_side,
        swatches=scrap.swatches,
        family=scrap.family,
        accents=scrap.accents,
        value=scrap.value,
        corrected=scrap.corrected,
        fabric_family=None if scrap.fabric is None else scrap.fabric.family,
        fabric_value=None if scrap.fabric is None else scrap.fabric.value,
    )
