"""``scrap``: scraps typed in, listed, shown, edited, used up, brought back."""

from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command, group
from scrapstore.cli.filters import ScrapFilters
from scrapstore.cli.sizes import FLAWS, SizeOptions
from scrapstore.cli.tables import Shown, facts, stack, table
from scrapstore.cli.typed_fields import FieldOptions, adding, editing
from scrapstore.sentences import several
from scrapstore.stock_entry.fields import SCRAP_FIELDS
from scrapstore.units import format_area

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pydantic import BaseModel

    from scrapstore.store import Scrap, StockFilter

__all__ = ["app"]

app = group("scrap", "Scraps: add by size, list, show, edit, retire, reinstate.")


@command(app, "add")
def add(
    call: Call,
    size: SizeOptions,
    fields: Annotated[FieldOptions, adding(SCRAP_FIELDS)],
    flaws: FLAWS = None,
    count: o.COUNT = 1,
    parent: Annotated[
        int | None,
        o.number_option("--parent", "The scrap it was cut off (an offcut).", metavar="NUMBER"),
    ] = None,
    parent_used_up: Annotated[
        bool,
        typer.Option("--parent-used-up", help="Mark that scrap as used up: it has been cut."),
    ] = False,
) -> None:
    """Add a scrap by its typed size, without a photo. Give one of the five kinds of size.

    An offcut has fabric, colours, place, project and grain from its parent, unless you say
    otherwise; type it as it lay there. The parent must be used up, or its cloth would count twice.
    """
    from scrapstore.actions.scrap import add_scraps
    from scrapstore.shapes.typed_outlines import typed_flaws
    from scrapstore.store import NewScrap

    typed, kept_free = size.outline(call)
    values = fields.read_new(call)
    fabric = values.pop("fabric", None)
    new = NewScrap(
        outline=typed.outline,
        flaws=typed_flaws(flaws or (), default_unit=call.units),
        grain_deg=typed.grain_deg,
        margin=kept_free,
        parent_id=parent,
        **values,
    )
    added = call.in_store_or_new(
        add_scraps,
        new,
        count=count,
        fabric=fabric,
        make_fabric=fields.make_fabric,
        own=[*fields.read(call), *(() if size.grain is None else ("grain_deg",))],
        parent_used_up=parent_used_up,
    )
    _print(call, added)
    taken = added[0].grain_deg if size.grain is None and typed.grain_deg is None else None
    if taken is not None:
        call.say(
            f"Its lengthwise grain is taken as that of scrap {parent}, {round(taken, 1):g}° from "
            "the level; --grain says otherwise."
        )


@command(app, "list")
def list_all(call: Call, filters: ScrapFilters) -> None:
    """List scraps. Filters combine; one given twice lets either through.

    Under a colour, greys, whites and blacks with a tint of it come last, said apart.
    """
    from scrapstore.actions.scrap import list_scraps

    only = filters.read(call)
    _print(call, call.in_store(list_scraps, only), only)


@command(app, "show")
def show(call: Call, number: o.NUMBER) -> None:
    """Show everything about one scrap."""
    from scrapstore.actions.scrap import show_scrap
    from scrapstore.json_output.stock import scrap_out

    detail = call.in_store(show_scrap, number)
    photo = detail.scrap.photo
    offcuts = ", ".join(f"#{scrap.id}" for scrap in detail.offcuts)
    extra = [
        ("offcuts", offcuts),
        ("photo", "" if photo is None else photo.original_name or f"no. {photo.id}"),
    ]
    call.show(scrap_out(detail.scrap), lambda: _facts(call, detail.scrap, extra))


@command(app, "edit")
def edit(
    call: Call,
    numbers: o.NUMBERS,
    size: SizeOptions,
    fields: Annotated[FieldOptions, editing(SCRAP_FIELDS)],
    flaws: FLAWS = None,
    fill_holes: Annotated[
        bool,
        typer.Option(
            "--fill-holes", help="What the photo was measured to have as holes is print, no hole."
        ),
    ] = False,
) -> None:
    """Change fields of one or several scraps at once. An empty text ('') empties a field."""
    from scrapstore.actions.scrap import edit_scraps
    from scrapstore.shapes.typed_outlines import grain_of, typed_flaws

    changes = fields.read(call)
    if size.given:
        typed, _ = size.outline(call)
        changes |= {"outline": typed.outline, "uncertainty": 0.0}
        if size.grain is not None:
            changes["grain_deg"] = typed.grain_deg
    elif size.grain is not None:
        # The scrap keeps its outline: first and second are its own level and upright.
        changes["grain_deg"] = grain_of(size.grain)
    if size.margin is not None:
        changes["margin"] = call.length(size.margin, field="margin", zero=True)
    if flaws is not None:
        changes["flaws"] = typed_flaws(flaws, default_unit=call.units)
    numbered = o.number_list(numbers)
    edited = call.in_store(
        edit_scraps, numbered, changes, make_fabric=fields.make_fabric, fill_holes=fill_holes
    )
    _print(call, edited)


@command(app, "retire")
def retire(call: Call, numbers: o.NUMBERS) -> None:
    """Take scraps off the list as used up. Their history stays; reinstate brings them back."""
    from scrapstore.actions.scrap import retire_scraps

    _print(call, call.in_store(retire_scraps, o.number_list(numbers)))


@command(app, "reinstate")
def reinstate(call: Call, numbers: o.NUMBERS) -> None:
    """Make scraps available again, whether used up or set aside."""
    from scrapstore.actions.scrap import reinstate_scraps

    _print(call, call.in_store(reinstate_scraps, o.number_list(numbers)))


def _print(call: Call, scraps: "tuple[Scrap, ...]", only: "StockFilter | None" = None) -> None:
    def document() -> "BaseModel":
        from scrapstore.json_output.stock import scrap_list_out

        return scrap_list_out(scraps)

    call.show(document, lambda: _listed(call, scraps, only))


def _listed(call: Call, scraps: "tuple[Scrap, ...]", only: "StockFilter | None") -> Shown:
    if not scraps:
        return o.no_scraps(call)
    softer = [
        scrap
        for scrap in scraps
        if only and only.softness(scrap.shown_family, scrap.accents, scrap.tints)
    ]
    area = format_area(sum(scrap.area for scrap in scraps), call.units)
    total = f"{len(scraps)} scrap{'' if len(scraps) == 1 else 's'}, together {area}"
    if not (only and softer):
        return stack(_table(call, scraps), total)
    words = several(only.families, "or")
    firm = scraps[: -len(softer)]
    first = _table(call, firm) if firm else f"No scrap reads as {words}."
    many = ("s", "; the surest first") if len(softer) > 1 else ("", "")
    head = (
        f"Also, softer: {len(softer)} grey, white or black scrap{many[0]} with a tint of "
        f"{words}{many[1]}."
    )
    return stack(first, "", head, _table(call, softer), total)


def _table(call: Call, scraps: "Sequence[Scrap]") -> Shown:
    """Return a table of scraps; sizes are of the smallest rectangle round each."""
    from scrapstore.colour import tint_words

    rows = [
        (
            str(scrap.id),
            o.outline_text(call, scrap.outline, scrap.sides),
            ", ".join(filter(None, (scrap.shown_family, tint_words(scrap.tints)))),
            scrap.shown_value or "",
            scrap.fabric.name if scrap.fabric else scrap.name or "",
            scrap.place or "",
            o.status_text(scrap.status, scrap.set_aside_for),
        )
        for scrap in scraps
    ]
    columns = ("no.", "size", "family", "value", "fabric or name", "place", "status")
    return table(columns, rows, right=("no.", "size"))


def _grain_words(grain_deg: float | None) -> str:
    """Say how the lengthwise grain lies in the scrap's own frame."""
    if grain_deg is None:
        return "not known"
    degrees = round(grain_deg, 1) % 360
    known = {0.0: "along the first measure", 90.0: "along the second measure"}
    return known.get(degrees, f"{degrees:g}° from the first measure, counter-clockwise")


def _texts(scrap: "Scrap") -> list[tuple[str, str]]:
    """Return the texts of a scrap that have a line of their own, in the order of the table."""
    elsewhere = ("name", "fabric", "set_aside_for", "note")
    return [
        (field.name.replace("_", " "), getattr(scrap, field.name) or "")
        for field in SCRAP_FIELDS
        if field.reads == "text" and field.name not in elsewhere
    ]


def _margin_words(call: Call, scrap: "Scrap") -> str:
    if scrap.margin == 0:
        return "none"
    return call.shown(scrap.margin) + (" along its old edges" if scrap.old_edges else "")


def _facts(call: Call, scrap: "Scrap", extra: list[tuple[str, str]]) -> Shown:
    from scrapstore.cli.confirm_measured import uncertainty_text
    from scrapstore.colour import family, tint_words

    corner_count = len(scrap.outline.exterior.coords) - 1
    holes = len(scrap.outline.interiors)
    swatches = ", ".join(
        f"{family(s.rgb)} {s.share:.0%} (#{s.rgb[0]:02x}{s.rgb[1]:02x}{s.rgb[2]:02x})"
        for s in scrap.swatches
    )
    corrected = f" (yours: {', '.join(scrap.corrected)})" if scrap.corrected else ""
    status = scrap.status + (f" for {scrap.set_aside_for}" if scrap.set_aside_for else "")
    return facts(
        [
            ("scrap", f"#{scrap.id}" + (f" {scrap.name}" if scrap.name else "")),
            ("size", o.outline_text(call, scrap.outline, scrap.sides)),
            ("area", format_area(scrap.area, call.units)),
            (
                "outline",
                f"{corner_count} corners" + (f", {holes} hole{'s' * (holes > 1)}" if holes else ""),
            ),
            ("flaws", str(len(scrap.flaws)) if scrap.flaws else ""),
            ("grain", _grain_words(scrap.grain_deg)),
            ("margin", _margin_words(call, scrap)),
            ("measured to", uncertainty_text(call, scrap.uncertainty)),
            ("family", (scrap.shown_family or "") + corrected),
            ("tint", tint_words(scrap.tints)),
            ("accents", ", ".join(scrap.accents)),
            ("value", scrap.value or ""),
            ("colours", swatches),
            ("fabric", scrap.fabric.name if scrap.fabric else ""),
            *_texts(scrap),
            ("status", status),
            ("cut off", f"#{scrap.parent_id}" if scrap.parent_id else ""),
            *extra,
            ("note", scrap.note or ""),
            ("added", scrap.created.astimezone().strftime("%Y-%m-%d %H:%M")),
        ]
    )
