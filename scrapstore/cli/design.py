"""``design``: tops from parameters, drawn, and as a project file to start from."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, bundle, command, group
from scrapstore.cli.tables import Shown, stack, table
from scrapstore.errors import UsageError

if TYPE_CHECKING:
    from scrapstore.actions.design import MadeDesign, UnitWish
    from scrapstore.designs import DesignOptions
    from scrapstore.projects import PieceNeed

__all__ = ["app"]

_NAME = Annotated[str, typer.Argument(metavar="DESIGN", help="Its name as listed.")]
_SHOWN: Final = {"in": 0.005, "cm": 0.05 / 2.54}
"""Inches; a smaller difference would be shown as none."""
_BORDER: Final = ("border", "border_corners")
_STARS: Final = ("star", "eight-point-star")

app = group("design", "Designs: a top from a few sizes, drawn, with its piece list.")


@bundle
class _Wish:
    """The parameters of a design."""

    size: Annotated[
        str | None,
        o.text_option(
            "--size",
            "The finished size you want: the width; of a star from tip to tip, on a rectangle the "
            "side of the square. Pieces are rounded to the ruler's marks (without a piece: 18 in).",
            metavar="LENGTH",
        ),
    ] = None
    piece: Annotated[
        str | None,
        o.text_option(
            "--piece",
            "The finished size of a piece in place of that: side of a square, height of a diamond.",
            metavar="LENGTH",
        ),
    ] = None
    a_side: Annotated[
        int | None,
        o.number_option("--a-side", "Diamonds along a side of a star's point (3).", most=20),
    ] = None
    rows: Annotated[
        int | None, o.number_option("--rows", "Rows of blocks, squares or strips.", most=40)
    ] = None
    columns: Annotated[
        int | None, o.number_option("--columns", "Columns of blocks, squares or strips.", most=40)
    ] = None
    rings: Annotated[
        int | None, o.number_option("--rings", "Rings round the middle of a flower (2).", most=12)
    ] = None
    fill: Annotated[
        str | None,
        o.text_option(
            "--fill",
            "What lies between a star's points: split (triangles, no set-in seam), hexagon or "
            "whole (whole pieces, set in), or rectangle (corners, and strips up to --size). Of "
            "three diamonds: whole, or split (the upper one halved, no set-in seam).",
            metavar="WORD",
        ),
    ] = None
    layout: Annotated[
        str | None,
        o.text_option(
            "--layout",
            "Of half-square triangles: sawtooth, peaks, zigzag, broken-dishes or concentric.",
            metavar="WORD",
        ),
    ] = None
    direction: Annotated[
        str | None,
        o.text_option("--direction", "Of strips: upright, or across.", metavar="WORD"),
    ] = None
    length: Annotated[
        str | None,
        o.text_option(
            "--length",
            "Finished length of a strip; without it the top is a square.",
            metavar="LENGTH",
        ),
    ] = None
    border: Annotated[
        str | None,
        o.text_option(
            "--border",
            "Finished width of a border round a rectangular top, within its size.",
            metavar="LENGTH",
        ),
    ] = None
    border_corners: Annotated[
        str | None,
        o.text_option("--border-corners", "straight, or mitred.", metavar="WORD"),
    ] = None

    pieced: Annotated[
        str | None,
        o.text_option(
            "--pieced",
            "A star's diamonds pieced, each to the same finished size: halves (two triangles, of "
            "60° diamonds) or fours (four small diamonds).",
            metavar="WORD",
        ),
    ] = None
    pieced_round: Annotated[
        int | None,
        o.number_option("--pieced-round", "Only the diamonds of this round are pieced.", most=39),
    ] = None
    shrinkage: Annotated[
        str | None,
        o.text_option(
            "--shrinkage",
            "What quilting draws in, such as 3%: the top is so much larger than --size (your "
            "setting quilting_shrinkage).",
            metavar="PERCENT",
        ),
    ] = None
    method: Annotated[
        str | None,
        o.text_option(
            "--method",
            "How units of triangles are made: single (each triangle is cut), pairs or eights (sewn "
            "from squares, two or eight at a time), fours (flying geese).",
            metavar="WORD",
        ),
    ] = None
    square: Annotated[
        str | None,
        o.text_option(
            "--square",
            "Cut side of the squares for pairs or eights, where you choose it.",
            metavar="LENGTH",
        ),
    ] = None

    def made_by(self, call: Call) -> "UnitWish":
        """Return how units are to be made."""
        from scrapstore.actions.design import UnitWish

        square = None if self.square is None else call.length(self.square, field="square")
        return UnitWish(None if self.method is None else self.method.strip().lower(), square)

    def read(self, call: Call) -> "DesignOptions":
        """Return the wish, lengths read in the units shown."""

        def length(field: str, text: str | None) -> float | None:
            return None if text is None else call.length(text, field=field)

        def word(text: str | None) -> str | None:
            return None if text is None else text.strip().lower()

        return {
            "size": length("size", self.size),
            "piece": length("piece", self.piece),
            "a_side": self.a_side,
            "rows": self.rows,
            "columns": self.columns,
            "rings": self.rings,
            "fill": word(self.fill),
            "layout": word(self.layout),
            "direction": word(self.direction),
            "length": length("length", self.length),
            "border": length("border", self.border),
            "border_corners": word(self.border_corners),
            "pieced": word(self.pieced),
            "pieced_round": self.pieced_round,
            "shrinkage": call.settings.quilting_shrinkage
            if self.shrinkage is None
            else _per_cent(self.shrinkage),
        }


@command(app, "list")
def listed(call: Call) -> None:
    """List the designs, with the options that each takes."""
    from scrapstore.json_output.design import designs_out

    out = designs_out()
    rows = [
        (one.name, one.about, ", ".join(map(_option, own)), one.piece, one.size)
        for one in out.designs
        if (own := [each for each in one.takes if each not in _BORDER])
    ]
    call.show(
        out,
        lambda: stack(
            table(("design", "what it is", "options", "--piece", "--size"), rows),
            "Every rectangular top takes --border and --border-corners too.",
        ),
    )


@command(app, "show")
def show(
    call: Call,
    name: _NAME,
    *,
    wish: _Wish,
    picture: Annotated[
        Path | None,
        typer.Option(
            "--picture", metavar="FILE", help="Draw it: FILE.png, .jpg, .svg, .html or .pdf."
        ),
    ] = None,
) -> None:
    """Work out a design: its size, its pieces, its seams; with --picture, draw it.

    Letters stand for the lines of the piece list, in the picture too.
    """
    from scrapstore.actions.design import show_design
    from scrapstore.json_output.design import design_out

    made = show_design(name, wish.read(call), call.settings, picture, wish.made_by(call))
    call.show(lambda: design_out(made, call.settings), lambda: _text(made, call))
    if made.picture is not None:
        call.say(f"Picture: {made.picture}")


@command(app, "start")
def start(
    call: Call,
    name: _NAME,
    file: Annotated[Path, typer.Argument(metavar="PROJECT.toml", help="The file to write.")],
    *,
    wish: _Wish,
) -> None:
    """Write a project file with a design's piece list and roles; never over one that is there."""
    from scrapstore.actions.design import start_design
    from scrapstore.json_output.design import design_out

    made = start_design(name, wish.read(call), call.settings, file, wish.made_by(call))
    call.show(
        lambda: design_out(made, call.settings),
        lambda: stack(
            _size(made, call),
            f"Written to {made.file}. Say there what cloth each role takes, then check it.",
        ),
    )


def _size(made: "MadeDesign", call: Call) -> str:
    """Return what it measures beside what was wanted, and what its pieces are cut to."""
    from scrapstore.designs import DESIGNS

    design, off = made.design, made.design.difference
    reached = f"{design.title}: {_figure(design.size, call)} {design.measured}"
    if design.shrinkage:
        reached += f" pieced, {_figure(design.finishes, call)} when quilting has drawn it in by "
        reached += f"{design.shrinkage:g}%"
    if off and abs(off) >= _SHOWN[call.units]:
        reached += f", {_figure(abs(off), call)} {'more' if off > 0 else 'less'} than wanted"
    elif off is not None:
        reached += ", as wanted"
    lines = [f"{reached}."]
    if design.name in _STARS:
        rounds = ", ".join(map(str, design.rounds))
        rest = sum(piece.role == "background" for piece in design.pieces)
        what = "pieces" if "pieced" in design.parameters else "diamonds"
        lines.append(
            f"{sum(design.rounds)} {what} in rounds of {rounds}; {rest} pieces of background."
        )
    else:
        lines.append(f"{len(design.pieces)} pieces.")
    cut = f"{DESIGNS[design.name].cut} {call.shown(made.strip)}"
    width, height = design.sides
    sides = f"{_figure(width, call).rpartition(' ')[0]} × {_figure(height, call)}"
    lines.append(f"{cut[0].upper()}{cut[1:]}; the whole top measures {sides}.")
    if design.shrinkage:
        seam = call.shown(made.project.seam_allowance)
        lines.append(f"Trim the quilted top {seam} outside its points, and sew the cover by them.")
    return "\n".join(lines)


def _seams(made: "MadeDesign") -> str:
    """Return how many seams are set in, and which filling would change that."""
    from scrapstore.designs import DESIGNS

    design, words = made.design, DESIGNS[made.design.name].words.get("fill", ())
    if design.set_in_seams:
        none = "split" in words and "border" not in design.parameters
        return f"Set-in seams: {design.set_in_seams}{'; with --fill split none' * none}."
    if made.whole_seams:
        whole = next(word for word in words if word != "split")
        return f"Set-in seams: none; with --fill {whole}, whole pieces, {made.whole_seams}."
    return "Set-in seams: none."


def _per_cent(text: str) -> float:
    try:
        return float(text.strip().removesuffix("%").replace(",", "."))
    except ValueError:
        msg = f"--shrinkage: {text!r} will not do; give per cent from 0 to 30, such as 3%"
        raise UsageError(msg) from None


def _figure(inches: float, call: Call) -> str:
    return f"{inches * 2.54:.1f} cm" if call.units == "cm" else f"{inches:.2f} in"


def _option(key: str) -> str:
    return f"--{key.replace('_', '-')}"


def _text(made: "MadeDesign", call: Call) -> Shown:
    from scrapstore.report.piece_text import cut_sizes
    from scrapstore.shapes import label_in

    project, step = made.project, call.settings.ruler_step

    def finished(need: "PieceNeed") -> str:
        if need.makes is not None:
            return f"{need.makes.each} × {need.makes.piece} each"
        return label_in(need.shape, call.units).replace("~", "about ")

    rows = [
        (
            project.letters[need.name],
            need.name,
            str(need.count),
            finished(need),
            ", ".join(cut_sizes(need, project.seam_allowance, call.units, step)),
        )
        for need in project.pieces
    ]
    return stack(
        _size(made, call),
        _seams(made),
        table(("", "piece", "count", "finishes as", "cut size"), rows, right=("count",)),
        "Cut sizes are rounded up to the ruler's marks.",
        *([made.method] if made.method else []),
        *made.design.notes,
    )
