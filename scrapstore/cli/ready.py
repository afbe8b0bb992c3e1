"""``ready``: pieces that are cut already."""

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, bundle, command, group
from scrapstore.cli.stock import register_shared
from scrapstore.cli.tables import Shown, table
from scrapstore.cli.typed_fields import FieldOptions, adding, editing
from scrapstore.errors import ShapeError
from scrapstore.stock_entry.fields import READY_CUT_FIELDS
from scrapstore.units import parse_size

if TYPE_CHECKING:
    from scrapstore.store import NewReadyCut, ReadyCut

__all__ = ["app"]

app = group("ready", "Ready-cut pieces: add, list, show, edit, retire, reinstate.")


@bundle
class _Piece:
    """What is cut, in one of three ways."""

    size: Annotated[
        str | None,
        o.text_option("--size", "Squares or rectangles by their cut size.", metavar="'W x H'"),
    ] = None
    corners: Annotated[
        str | None,
        o.text_option("--corners", "Any outline by its corners, as cut.", metavar="'X,Y ...'"),
    ] = None
    shape: Annotated[
        str | None,
        o.text_option("--shape", "A shape, such as '60° diamond' or hexagon.", metavar="NAME"),
    ] = None
    finished: Annotated[
        str | None,
        o.text_option(
            "--finished",
            "Its finished sizes: '3', '2 x 4 1/2', or 'height=3'.",
            metavar="SIZES",
        ),
    ] = None

    def cut(self, call: Call, count: int, allowance: float) -> "NewReadyCut":
        """Return `count` pieces with the seam allowance in them; ShapeError or LengthError."""
        from scrapstore.shapes.typed_outlines import typed_corners
        from scrapstore.stock_entry import ready_cut

        match (self.size, self.corners, self.shape, self.finished):
            case str(size), None, None, None:
                width, height = parse_size(size, field="--size", default_unit=call.units)
                return ready_cut.cut_rectangle(width, height, count=count, seam_allowance=allowance)
            case None, str(corners), None, None:
                outline = typed_corners(corners, default_unit=call.units).outline
                return ready_cut.cut_polygon(outline, count=count, seam_allowance=allowance)
            case None, None, str(shape), str(finished):
                made = ready_cut.finished_shape(shape, finished, default_unit=call.units)
                return ready_cut.ready_cut_of(made, count=count, seam_allowance=allowance)
        raise ShapeError(
            "which pieces? give --size 'W x H', --corners, or --shape NAME with --finished SIZES"
        )


@command(app, "add")
def add(
    call: Call,
    piece: _Piece,
    fields: Annotated[FieldOptions, adding(READY_CUT_FIELDS)],
    seam_allowance: Annotated[
        str | None,
        o.text_option("--seam-allowance", "In the cut size; else the setting.", metavar="LENGTH"),
    ] = None,
    count: Annotated[
        int, o.number_option("--count", "How many pieces, all alike.", most=1_000_000)
    ] = 1,
) -> None:
    """Add pieces that are cut already: by --size, --corners, or --shape with --finished."""
    from scrapstore.actions.ready import add_ready_cut

    allowance = call.with_settings(seam_allowance=seam_allowance).seam_allowance
    values = fields.read_new(call)
    fabric = values.pop("fabric", None)
    pieces = replace(piece.cut(call, count, allowance), **values)
    added = call.in_store_or_new(
        add_ready_cut, pieces, fabric=fabric, make_fabric=fields.make_fabric
    )
    _print(call, (added,))


@command(app, "edit")
def edit(
    call: Call, numbers: o.NUMBERS, fields: Annotated[FieldOptions, editing(READY_CUT_FIELDS)]
) -> None:
    """Change fields of ready-cut pieces, of several numbers at once. '' empties a field."""
    from scrapstore.actions.stock import READY_CUT, edit_stock

    changes = fields.read(call)
    numbered = o.number_list(numbers)
    edited = call.in_store(edit_stock, READY_CUT, numbered, changes, make_fabric=fields.make_fabric)
    _print(call, edited)


def _print(call: Call, lots: "tuple[ReadyCut, ...]") -> None:
    from scrapstore.json_output.stock import ready_cut_list_out

    call.show(ready_cut_list_out(lots), lambda: _table(call, lots))


def _table(call: Call, lots: "tuple[ReadyCut, ...]") -> Shown:
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
    none = o.none_there(call, "ready-cut pieces", "ready add")
    return table(columns, rows, right=("no.", "count", "size as cut"), none=none)


register_shared(app, "READY_CUT", "ready-cut pieces", _print)
