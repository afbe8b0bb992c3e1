"""What bears on the colour of scraps, read quickly: thousands are grouped while a person waits."""

import json
from dataclasses import dataclass
from typing import Any, cast

import shapely
from sqlalchemy import String, select, type_coerce

from scrapstore.colour import Swatch, Value
from scrapstore.shapes import sides_as_drawn
from scrapstore.store.column_types import Bytes, UnreadableValueError
from scrapstore.store.filters import StockFilter
from scrapstore.store.forms import Scrap
from scrapstore.store.geometry import outlines_from_wkb
from scrapstore.store.models import FABRICS, SCRAPS
from scrapstore.store.reader import Reader
from scrapstore.store.stock_types import swatches_of_json, words_of_json

__all__ = ["ColouredScrap", "coloured_scraps"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ColouredScrap:
    """What bears on a scrap's colour, and what to call it in a list.

    `family` and `value` are as kept with the scrap; `fabric_family` and `fabric_value` are its
    fabric's, for a scrap that has none. `area` is in square inches; `sides` are in inches, in the
    order typed or drawn.
    """

    id: int
    name: str | None
    fabric: str | None
    place: str | None
    area: float
    sides: tuple[float, float]
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
            SCRAPS.c.id,
            SCRAPS.c.name,
            FABRICS.c.name,
            SCRAPS.c.place,
            SCRAPS.c.area,
            SCRAPS.c.long_side,
            SCRAPS.c.short_side,
            type_coerce(SCRAPS.c.outline, Bytes).label("outline"),
            SCRAPS.c.family,
            SCRAPS.c.value,
            FABRICS.c.family,
            FABRICS.c.value,
            # As the text they are stored as: decoded all together, far quicker than one by one.
            type_coerce(SCRAPS.c.swatches, String),
            type_coerce(SCRAPS.c.accents, String),
            type_coerce(SCRAPS.c.corrected, String),
        )
        .join(FABRICS, FABRICS.c.id == SCRAPS.c.fabric_id, isouter=True)
        .order_by(SCRAPS.c.id)
    )
    if only.statuses:
        query = query.where(SCRAPS.c.status.in_(only.statuses))
    rows = reader.ask(query)
    bounds = shapely.bounds(outlines_from_wkb([row.outline for row in rows])).tolist()
    try:
        lists = [json.loads(f"[{','.join(str(row[at]) for row in rows)}]") for at in (-3, -2, -1)]
        return tuple(_of_columns(*each) for each in zip(rows, bounds, *lists, strict=True))
    except (ValueError, KeyError, TypeError, OverflowError, RecursionError) as error:
        msg = "a scrap's swatches, accents or corrections are not what this program writes there"
        raise UnreadableValueError(msg) from error


def _of_columns(
    row: Any,
    bounds: tuple[float, float, float, float],
    swatches: list[dict[str, Any]],
    accents: list[str],
    corrected: list[str],
) -> ColouredScrap:
    number, name, fabric, place, area, long_side, short_side, _, family, value, *cloth = row[:-3]
    return ColouredScrap(
        id=number,
        name=name,
        fabric=fabric,
        place=place,
        area=area,
        sides=sides_as_drawn(long_side, short_side, bounds),
        swatches=swatches_of_json(swatches),
        family=family,
        accents=words_of_json(accents),
        value=cast("Value | None", value),
        corrected=words_of_json(corrected),
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
        sides=scrap.sides,
        swatches=scrap.swatches,
        family=scrap.family,
        accents=scrap.accents,
        value=scrap.value,
        corrected=scrap.corrected,
        fabric_family=None if scrap.fabric is None else scrap.fabric.family,
        fabric_value=None if scrap.fabric is None else scrap.fabric.value,
    )
