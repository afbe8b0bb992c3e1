"""The five ways to type a scrap's size on the command line."""

from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli.base import Call

if TYPE_CHECKING:
    from scrapstore.shapes.typed_outlines import TypedOutline

__all__ = [
    "CORNERS",
    "FLAWS",
    "GRAIN",
    "MARGIN",
    "PRECUT",
    "SIZE",
    "STRIP",
    "TRIANGLE",
    "one_outline",
]

SIZE = Annotated[
    str | None,
    typer.Option(
        "--size",
        metavar="'W x H'",
        help="A rectangle, such as '9 x 22' or '9 x WOF'; or a precut by its name.",
    ),
]
STRIP = Annotated[
    str | None,
    typer.Option(
        "--strip",
        metavar="'W x L'",
        help="A strip, such as '2 1/2 x 40' or '2 1/2 x WOF' (width of fabric).",
    ),
]
TRIANGLE = Annotated[
    str | None,
    typer.Option(
        "--triangle",
        metavar="'W x H'",
        help="A right triangle by its two short sides; another one by its corners.",
    ),
]
CORNERS = Annotated[
    str | None,
    typer.Option(
        "--corners",
        metavar="'X,Y ...'",
        help="Any outline by its corners in order, such as '0,0 5,0 5 1/2,3 0,4'.",
    ),
]
PRECUT = Annotated[
    str | None,
    typer.Option(
        "--precut",
        metavar="NAME",
        help="fat quarter, fat eighth, fat eighth 11 x 18, 5 in square, 10 in square, "
        "2 1/2 in strip.",
    ),
]
FLAWS = Annotated[
    list[str] | None,
    typer.Option(
        "--flaw",
        metavar="'X,Y ...'",
        help="A hole, stain or tear that no piece may touch, by its corners in the scrap's frame; "
        "may be repeated.",
    ),
]
GRAIN = Annotated[
    str | None,
    typer.Option(
        "--grain",
        metavar="TEXT",
        help="Lengthwise grain: first or second (along the measure typed first or second), "
        "degrees from the level, or unknown.",
    ),
]
MARGIN = Annotated[
    str | None,
    typer.Option(
        "--margin",
        metavar="LENGTH",
        help="Kept free along the edge; else none for a precut and the setting for the rest.",
    ),
]


def one_outline(
    call: Call,
    *,
    size: str | None,
    strip: str | None,
    triangle: str | None,
    corners: str | None,
    precut: str | None,
    grain: str | None,
    margin: str | None,
) -> "tuple[TypedOutline, float]":
    """Return the outline that was typed, and its margin in inches.

    Raises ShapeError unless exactly one kind of size is given.
    """
    from scrapstore.actions.typed_sizes import typed_margin, typed_size

    texts = {
        "size": size,
        "strip": strip,
        "triangle": triangle,
        "corners": corners,
        "precut": precut,
    }
    typed = typed_size(texts, grain, call.settings, default_unit=call.units, options=True)
    if typed.note:
        call.say(typed.note)
    return typed, typed_margin(margin, typed, call.settings, default_unit=call.units)
