"""The five ways to type a scrap's size on the command line."""

from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli.base import Call
from scrapstore.errors import ShapeError

if TYPE_CHECKING:
    from scrapstore.actions.outlines import TypedOutline

__all__ = [
    "CORNERS",
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
    typer.Option("--size", metavar="'W x H'", help="A rectangle, such as '9 x 22'."),
]
STRIP = Annotated[
    str | None,
    typer.Option("--strip", metavar="'W x L'", help="A strip, such as '2 1/2 x 40'."),
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
    from scrapstore.actions import outlines

    given = {
        "size": size,
        "strip": strip,
        "triangle": triangle,
        "corners": corners,
        "precut": precut,
    }
    typed_by = [(kind, text) for kind, text in given.items() if text is not None]
    if len(typed_by) != 1:
        what = "no size was typed" if not typed_by else "two sizes were typed"
        msg = f"{what}; give one of --size, --strip, --triangle, --corners, --precut"
        raise ShapeError(msg)
    kind, text = typed_by[0]
    if kind == "precut":
        typed = outlines.typed_precut(text, usable_width=call.settings.usable_width)
    else:
        read = {
            "size": outlines.typed_rectangle,
            "strip": outlines.typed_strip,
            "triangle": outlines.typed_triangle,
            "corners": outlines.typed_corners,
        }[kind]
        typed = read(text, default_unit=call.units)
    typed = outlines.with_grain(typed, grain)
    if margin is not None:
        return typed, call.length(margin, field="margin", zero=True)
    return typed, 0.0 if typed.clean else call.settings.margin
