"""``log``: photos of scraps into the store."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command
from scrapstore.cli.sizes import CORNERS, GRAIN, MARGIN, PRECUT, SIZE, STRIP, TRIANGLE, one_outline
from scrapstore.errors import PhotoError

if TYPE_CHECKING:
    from rich.console import RenderableType

    from scrapstore.actions.log import LogResult

__all__ = ["register"]

# \b keeps the lines after it as they are.
_HELP = """Log photos of scraps, one on each, with the size you typed.

The colours are read from the photo. What is typed here holds for every photo that has no entry in
the file scraps.toml beside it. An entry there looks like this:

\b
  ["curtain-end.jpg"]
  size = "9 x 6"    # or strip, triangle, corners, precut; in inches
  grain = "first"   # along the measure typed first
  fabric = "waiting room curtain"
  place = "blue tin"

A photo that cannot be used is refused by name; the others still go in.
"""


def register(app: typer.Typer) -> None:
    """Add the command to `app`."""
    command(app, "log", help=_HELP)(log)


def log(
    call: Call,
    photos: Annotated[
        list[Path], typer.Argument(metavar="PHOTO_OR_FOLDER", help="Photos, or folders of them.")
    ],
    size: SIZE = None,
    strip: STRIP = None,
    triangle: TRIANGLE = None,
    corners: CORNERS = None,
    precut: PRECUT = None,
    grain: GRAIN = None,
    margin: MARGIN = None,
    name: Annotated[str | None, typer.Option("--name", metavar="TEXT", help="A name.")] = None,
    fabric: o.FABRIC = None,
    new_fabrics: o.NEW_FABRICS = False,
    family: o.FAMILY = None,
    value: o.VALUE = None,
    place: o.PLACE = None,
    from_project: o.FROM_PROJECT = None,
    note: o.NOTE = None,
    again: Annotated[
        bool, typer.Option("--again", help="Add a photo that was logged before once more.")
    ] = False,
) -> None:
    """Log photos; `_HELP` is what help says of it."""
    from scrapstore.actions.log import log_photos
    from scrapstore.actions.log_external import log_out
    from scrapstore.actions.words import known_family, known_value, text_or_none
    from scrapstore.cli.progress import progress_bar
    from scrapstore.store import NewFabric, NewScrap

    others = None
    if any(text is not None for text in (size, strip, triangle, corners, precut)):
        from scrapstore.actions.size_list import TypedScrap

        typed, kept_free = one_outline(
            call,
            size=size,
            strip=strip,
            triangle=triangle,
            corners=corners,
            precut=precut,
            grain=grain,
            margin=margin,
        )
        scrap = NewScrap(
            outline=typed.outline,
            grain_deg=typed.grain_deg,
            margin=kept_free,
            name=text_or_none(name),
            place=text_or_none(place),
            from_project=text_or_none(from_project),
            family=known_family(family) if family else None,
            value=known_value(value) if value else None,
            note=text_or_none(note),
        )
        cloth = text_or_none(fabric)
        others = TypedScrap(scrap=scrap, fabric=NewFabric(name=cloth) if cloth else None)
    with call.open_store() as store, progress_bar("photos") as advance:
        result = log_photos(
            store,
            photos,
            call.settings,
            typed=others,
            again=again,
            make_fabrics=new_fabrics,
            advance=advance,
        )
    for one in result.skipped:
        numbers = ", ".join(f"#{number}" for number in one.scraps) or "no scrap"
        call.say(f"{one.path.name}: logged already ({numbers}); --again adds it nonetheless")
    for refusal in result.refused:
        call.say(f"refused: {refusal.reason}")
    call.show(log_out(result), lambda: _text(call, result))
    if result.refused:
        count = len(result.refused)
        msg = (
            f"{count} photo{'s were' if count > 1 else ' was'} refused, see above; the rest is kept"
        )
        raise PhotoError(msg)


def _text(call: Call, result: "LogResult") -> "RenderableType":
    from scrapstore.cli.tables import stack, table

    rows = [
        (
            str(scrap.id),
            logged.path.name,
            o.sides_text(call, scrap.short_side, scrap.long_side),
            scrap.family or "",
            ", ".join(scrap.accents),
            scrap.value or "",
        )
        for logged in result.logged
        for scrap in logged.scraps
    ]
    counts = f"{len(rows)} logged, {len(result.skipped)} there already, "
    summary = f"{counts}{len(result.refused)} refused"
    if not rows:
        return summary
    columns = ("no.", "photo", "size", "reads as", "with", "value")
    return stack(table(columns, rows, right=("no.", "size")), summary)
