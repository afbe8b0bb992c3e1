"""The five ways to type a scrap's size on the command line."""

from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli.base import Call, bundle
from scrapstore.cli.options import text_option

if TYPE_CHECKING:
    from scrapstore.shapes.typed_outlines import TypedOutline

__all__ = ["FLAWS", "SizeOptions"]

FLAWS = Annotated[
    list[str] | None,
    typer.Option(
        "--flaw",
        metavar="'X,Y ...'",
        help="A hole, stain or tear that no piece may touch, by its corners in the scrap's frame; "
        "may be repeated.",
    ),
]


@bundle
class SizeOptions:
    """A scrap's size in one of five ways, its grain and its margin."""

    size: Annotated[
        str | None,
        text_option(
            "--size",
            "A rectangle, such as '9 x 22' or '9 x WOF'; or a precut by its name.",
            metavar="'W x H'",
        ),
    ] = None
    strip: Annotated[
        str | None,
        text_option(
            "--strip",
            "A strip, such as '2 1/2 x 40' or '2 1/2 x WOF' (width of fabric).",
            metavar="'W x L'",
        ),
    ] = None
    triangle: Annotated[
        str | None,
        text_option(
            "--triangle",
            "A right triangle by its two short sides; another one by its corners.",
            metavar="'W x H'",
        ),
    ] = None
    corners: Annotated[
        str | None,
        text_option(
            "--corners",
            "Any outline by its corners in order, such as '0,0 5,0 5 1/2,3 0,4'.",
            metavar="'X,Y ...'",
        ),
    ] = None
    precut: Annotated[
        str | None,
        text_option(
            "--precut",
            "fat quarter, fat eighth, fat eighth 11 x 18, 5 in square, 10 in square, "
            "2 1/2 in strip.",
            metavar="NAME",
        ),
    ] = None
    grain: Annotated[
        str | None,
        text_option(
            "--grain",
            "Lengthwise grain: first or second (along the measure typed first or second), "
            "degrees from the level, or unknown.",
        ),
    ] = None
    margin: Annotated[
        str | None,
        text_option(
            "--margin",
            "Kept free along the edge; else none for a precut and the setting for the rest.",
            metavar="LENGTH",
        ),
    ] = None

    def _texts(self) -> dict[str, str | None]:
        kinds = ("size", "strip", "triangle", "corners", "precut")
        return {kind: getattr(self, kind) for kind in kinds}

    @property
    def given(self) -> bool:
        """Whether a size is given."""
        return any(text is not None for text in self._texts().values())

    def outline(self, call: Call) -> "tuple[TypedOutline, float]":
        """Return the outline that was typed, and its margin in inches.

        Raises ShapeError unless exactly one kind of size is given.
        """
        from scrapstore.stock_entry.sizes import typed_margin, typed_size

        typed = typed_size(
            self._texts(), self.grain, call.settings, default_unit=call.units, options=True
        )
        if typed.note:
            call.say(typed.note)
        return typed, typed_margin(self.margin, typed, call.settings, default_unit=call.units)
