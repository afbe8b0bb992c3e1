"""``shopping``: one list for the shop."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli.base import Call, command
from scrapstore.cli.progress import progress_bar
from scrapstore.cli.tables import Shown, stack

if TYPE_CHECKING:
    from scrapstore.report.shopping_words import ShoppingSheet

__all__ = ["app"]

app = typer.Typer()


@command(app, "shopping")
def shopping(
    call: Call,
    names: Annotated[
        list[str],
        typer.Argument(metavar="PROJECT", help="Project files (.toml) and names of kept plans."),
    ],
    file: Annotated[
        Path | None,
        typer.Option(
            "--sheet",
            metavar="FILE",
            help="Write the list to print or to carry along: .pdf or .html.",
        ),
    ] = None,
) -> None:
    """Write one list for the shop: what to buy for projects and kept plans together.

    A project is matched against the store first, one after the other in the order given; nothing is
    set aside for it. A kept plan counts as it was kept. Lengths are rounded up to what the shop
    cuts, with straightening and shrinkage as the settings say.
    """
    from scrapstore.actions.shopping import shop_for
    from scrapstore.json_output.shopping import shopping_out
    from scrapstore.workers import workers

    with (
        workers() as pool,
        call.open_store() as store,
        progress_bar("projects matched") as advance,
    ):
        result = shop_for(
            store, names, call.settings, file, pack_all=pool.pack_all, map_all=pool.map,
            advance=advance,
        )  # fmt: skip
    call.show(lambda: shopping_out(result), lambda: _text(result.sheet))
    if result.file is not None:
        call.say(f"List to print: {result.file}")


def _text(sheet: "ShoppingSheet") -> Shown:
    from rich.padding import Padding

    parts: list[Shown] = [sheet.title]
    for section in sheet.sections:
        parts.append(f"\n{section.title}:")
        for entry in section.entries:
            parts.append(Padding(entry.text, (0, 0, 0, 2)))
            parts += [Padding(text, (0, 0, 0, 4)) for text in entry.details]
    return stack(*parts)
