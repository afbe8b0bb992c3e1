"""``project``: write a project file to start from, and check one."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli.base import Call, command, group
from scrapstore.cli.tables import Shown, stack, table

if TYPE_CHECKING:
    from scrapstore.projects import Project

__all__ = ["app"]

_FILE = Annotated[Path, typer.Argument(metavar="PROJECT.toml", help="The project file.")]


app = group("project", "Project files: what is to be made, piece by piece.")


@command(app, "new")
def new(
    call: Call,
    file: _FILE,
    stock_list: Annotated[
        bool,
        typer.Option("--stock-list", help="Write a list of sizes to keep in stock; see gives."),
    ] = False,
) -> None:
    """Write a commented project file to start from; never over one that is there."""
    from pydantic import BaseModel

    from scrapstore.actions.project import write_starter

    class StarterOut(BaseModel):
        file: Path

    written = write_starter(file, stock_list=stock_list)
    call.show(StarterOut(file=written), lambda: f"Written to {written}. Change it, then check it.")


@command(app, "check")
def check(call: Call, file: _FILE) -> None:
    """Read a project file; list every fault with its line, or the pieces with their cut sizes."""
    from scrapstore.actions.project import read_project_file
    from scrapstore.json_output.project import project_out

    project = read_project_file(file, call.settings)
    call.show(project_out(project, call.settings), lambda: _pieces(project, call))


@command(app, "shapes")
def shapes(call: Call) -> None:
    """List the shapes that a project file may use, the measures each needs, and its edge 1.

    Edges are counted counter-clockwise; cutting sheets draw edge 1 of every piece heavy.
    """
    from scrapstore.json_output.project import shapes_out

    listed = shapes_out()
    call.show(
        listed,
        lambda: table(
            ("shape", "measures", "edge 1"),
            [
                (
                    s.kind,
                    _plain(" or ".join(" + ".join(way) for way in s.ways) or "corners"),
                    s.edge_1,
                )
                for s in listed.shapes
            ],
        ),
    )


def _plain(name: str) -> str:
    return name.replace("_", " ")


def _pieces(project: "Project", call: Call) -> Shown:

    from scrapstore.json_output.project import project_out
    from scrapstore.report.piece_text import cut_sizes, finishes_as

    out = project_out(project, call.settings)
    rows = [
        (
            piece.name,
            piece.role,
            str(piece.count),
            finishes_as(need, project.seam_allowance, call.units),
            ", ".join(
                cut_sizes(need, project.seam_allowance, call.units, call.settings.ruler_step)
            ),
        )
        for piece, need in zip(out.pieces, project.pieces, strict=True)
    ]
    lines = [f"{out.name}: {sum(piece.count for piece in out.pieces)} pieces, no fault found."]
    if out.covered is not None:
        lines.append(f"The pieces make up {out.covered:.1%} of the cushion top.")
    if project.design is not None:
        design = project.design
        lines.append(
            f"Design: {design.title}; each of its {len(design.pieces)} pieces has a place."
        )
    return stack(
        "\n".join(lines),
        table(("piece", "role", "count", "finishes as", "cut size"), rows, right=("count",)),
        "Cut sizes are rounded up to the ruler's marks.",
    )
