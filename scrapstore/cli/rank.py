"""``rank``: what could be made from the store."""

from pathlib import Path
from typing import Annotated

import typer

from scrapstore.cli.base import Call, command
from scrapstore.cli.progress import progress_bar
from scrapstore.cli.tables import stack, table

__all__ = ["app"]


app = typer.Typer()


@command(app, "rank")
def rank(
    call: Call,
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="The folder with the project files.")
    ],
) -> None:
    """Tell what you could make: how far the store covers each project file of a folder.

    Each project is asked of the whole store by itself, so two of them may count on the same scrap.
    """
    from scrapstore.actions.rank import rank_projects
    from scrapstore.json_output.rank import ranking_out
    from scrapstore.report.yardage_text import buy_text
    from scrapstore.sentences import several
    from scrapstore.workers import workers

    with (
        workers() as pool,
        call.open_store() as store,
        progress_bar("projects matched") as advance,
    ):
        ranked, faulty = rank_projects(
            store, folder, settings=call.settings, pack_all=pool.pack_all, map_all=pool.map,
            advance=advance,
        )  # fmt: skip
    rows = [
        (
            f"{one.share:.0%}",
            f"{one.result.together.covered} of {one.result.together.wanted}",
            one.result.project.name,
            "; ".join(
                f"{shortage.plan.role}: {buy_text(shortage, call.units)}"
                for shortage in one.result.shortages
            )
            or "nothing",
        )
        for one in ranked
    ]
    cannot = [f"{one.file.name} cannot be cut. {said}." for one in ranked for said in one.cannot]
    now = [
        one.result.project.name
        for one in ranked
        if not one.cannot and not any(shortage.buy for shortage in one.result.shortages)
    ]
    first = f"You can make now: {several(now)}." if now else "None can be made without buying."
    meaning = "Covered: how much of the area of all pieces, cut size, scraps and ready-cut give."
    call.show(
        ranking_out(ranked, faulty),
        lambda: stack(
            *((f"{first}\n",) if ranked else ()),
            table(("covered", "pieces", "project", "to buy"), rows, right=("covered", "pieces")),
            meaning,
            *(sentence for sentence in (*cannot, *faulty)),
        ),
    )
