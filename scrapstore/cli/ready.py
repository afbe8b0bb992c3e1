"""``ready``: pieces that are cut already."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command, group
from scrapstore.cli.stock import register_shared
from scrapstore.errors import ShapeError

if TYPE_CHECKING:
    from rich.console import RenderableType

    from scrapstore.store import NewReadyCut, ReadyCut

__all__ = ["app"]

SEAM = Annotated[
    str | None,
    typer.Option("--seam-allowance", metavar="LENGTH", help="In the cut size; else the setting."),
]


app = group("ready", "Ready-cut pieces: add, list, show, edit, retire, reinstate.")


@command(app, "add")
def add(
    call: Call,
    count: Annotated[int, o.number_argument("COUNT", "How many pieces.")],
    cut: Annotated[
        str | None,
        typer.Option("--cut", metavar="'W x H'", help="Squares or rectangles by their cut size."),
    ] = None,
    corners: Annotated[
        str | None,
        typer.Option("--corners", metavar="'X,Y ...'", help="Any outline by its corners, as cut."),
    ] = None,
    shape: Annotated[
        str | None,
        typer.Option("--shape", metavar="NAME", help="A shape, such as '60° diamond' or hexagon."),
    ] = None,
    finished: Annotated[
        str | None,
        typer.Option(
            "--finished",
            metavar="SIZES",
            help="Its finished sizes: '3', '2 x 4 1/2', or 'height=3'.",
        ),
    ] = None,
    seam_allowance: SEAM = None,
    fabric: o.FABRIC = None,
    new_fabrics: o.NEW_FABRICS = False,
    family: o.FAMILY = None,
    value: o.VALUE = None,
    place: o.PLACE = None,
    note: o.NOTE = None,
) -> None:
    """Add pieces that are cut already: by --cut, --corners, or --shape with --finished."""
    from dataclasses import replace

    from scrapstore.actions.add_stock import add_ready_cut
    from scrapstore.store.typed_words import known_family, known_value, text_or_none

    allowance = call.with_settings(seam_allowance=seam_allowance).seam_allowance
    pieces = replace(
        _pieces(call, count, allowance, cut=cut, corners=corners, shape=shape, finished=finished),
        family=known_family(family) if family else None,
        value=known_value(value) if value else None,
        place=text_or_none(place),
        note=text_or_none(note),
    )
    with call.open_store(make=True) as store:
        added = add_ready_cut(store, pieces, fabric=text_or_none(fabric), make_fabric=new_fabrics)
    _print(call, (added,))


def _pieces(
    call: Call,
    count: int,
    seam_allowance: float,
    *,
    cut: str | None,
    corners: str | None,
    shape: str | None,
    finished: str | None,
) -> "NewReadyCut":
    from scrapstore.actions.add_stock import (
        cut_polygon,
        cut_rectangle,
        finished_shape,
        ready_cut_of,
    )
    from scrapstore.shapes.typed_outlines import typed_corners
    from scrapstore.units import parse_size

    given = (cut is not None, corners is not None, shape is not None, finished is not None)
    if cut is not None and sum(given) == 1:
        width, height = parse_size(cut, field="--cut", default_unit=call.units)
        return cut_rectangle(width, height, count=count, seam_allowance=seam_allowance)
    if corners is not None and sum(given) == 1:
        outline = typed_corners(corners, default_unit=call.units).outline
        return cut_polygon(outline, count=count, seam_allowance=seam_allowance)
    if shape is not None and finished is not None and sum(given) == 2:
        made = finished_shape(shape, finished, default_unit=call.units)
        return ready_cut_of(made, count=count, seam_allowance=seam_allowance)
    msg = "which pieces? give --cut 'W x H', --corners, or --shape NAME with --finished SIZES"
    raise ShapeError(msg)


@command(app, "edit")
def edit(
    call: Call,
    numbers: o.NUMBERS,
    count: Annotated[
        int | None, o.number_option("--count", "How many there are now.", least=0)
    ] = None,
    fabric: o.FABRIC = None,
    new_fabrics: o.NEW_FABRICS = False,
    family: o.FAMILY = None,
    value: o.VALUE = None,
    place: o.PLACE = None,
    status: o.STATUS = None,
    set_aside_for: o.SET_ASIDE_FOR = None,
    note: o.NOTE = None,
) -> None:
    """Change fields of ready-cut pieces, of several numbers at once. '' empties a field."""
    from scrapstore.actions.stock import READY_CUT, edit_stock

    texts = {"fabric": fabric, "place": place, "set_aside_for": set_aside_for, "note": note}
    changes: dict[str, Any] = o.stock_changes(
        texts=texts, family=family, value=value, status=status
    )
    if count is not None:
        changes["count"] = count
    numbered = o.number_list(numbers)
    with call.open_store() as store:
        _print(call, edit_stock(store, READY_CUT, numbered, changes, make_fabric=new_fabrics))


def _print(call: Call, lots: "tuple[ReadyCut, ...]") -> None:
    from scrapstore.json_output.stock import ready_cut_list_out

    call.show(ready_cut_list_out(lots), lambda: _table(call, lots))


def _table(call: Call, lots: "tuple[ReadyCut, ...]") -> "RenderableType":
    from scrapstore.cli.tables import table
    from scrapstore.shapes import label_in

    rows = [
        (
            str(lot.id),
            str(lot.count),
            label_in(lot, call.units),
            o.sides_text(call, lot.sides),
            lot.fabric.name if lot.fabric else "",
            " ".join(word for word in (lot.value, lot.family) if word),
            lot.place or "",
            o.status_text(lot.status, lot.set_aside_for),
        )
        for lot in lots
    ]
    columns = (
        "no.",
        "count",
        "finished",
        "size as cut",
        "fabric",
        "family",
        "place",
        "status",
    )
    none = o.none_there("ready-cut pieces", "ready add")
    return table(columns, rows, right=("no.", "count", "size as cut"), none=none)


register_shared(app, "READY_CUT", "ready-cut pieces", _print)
