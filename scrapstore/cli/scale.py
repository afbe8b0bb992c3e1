"""``scale``: the scale to print and lay beside scraps."""

from pathlib import Path
from typing import Annotated

import typer

from scrapstore.cli.base import Call, command

__all__ = ["app"]


app = typer.Typer()


@command(app, "scale")
def scale(
    call: Call,
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="Where it goes; the name ends in .pdf or .png.")
    ],
    paper: Annotated[
        str | None,
        typer.Option(
            "--paper", metavar="a4|letter", help="The printer's paper (else the setting paper)."
        ),
    ] = None,
) -> None:
    """Write the scale to print: six squares on a card, and a line to check the printer with.

    Print it at 100 % and measure the line of 6 in. If it came out longer or shorter, say so once:
    scrapstore settings set check_line "6 1/16". Cut into six squares spread round the scraps it
    measures best and teaches the program your lens; as a whole card it is quicker to lay.
    """
    from scrapstore.actions.scale import write_scale
    from scrapstore.json_output.scale import ScaleOut

    kept = write_scale(file, paper or call.settings.page)
    call.show(ScaleOut(file=kept), lambda: f"Print {kept} at 100 %, then measure its 6 in line.")
