"""``demo``: the main job on the samples that come with the program."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli.base import Call, command
from scrapstore.cli.progress import match_progress, progress_bar
from scrapstore.cli.tables import Shown, stack
from scrapstore.errors import UsageError

if TYPE_CHECKING:
    from scrapstore.actions.demo import DemoResult

__all__ = ["app"]


app = typer.Typer()


@command(app, "demo")
def demo(
    call: Call,
    folder: Annotated[
        Path, typer.Option("--folder", metavar="FOLDER", help="Where the demo lives.")
    ] = Path("scrapstore-demo"),
) -> None:
    """Measure and log the sample scraps, match the sample cushion, draw it and write its sheets.

    All of it goes into one folder with a store of its own; your own store is not touched. Running
    it again makes it anew.
    """
    if call.store is not None:
        raise UsageError("demo makes a store of its own; choose its place with --folder")
    from scrapstore.workers import workers

    with workers() as pool:
        from scrapstore.actions.demo import run_demo
        from scrapstore.json_output.match import match_out

        with progress_bar("photos") as logging, match_progress() as matching:
            done = run_demo(
                folder, call.settings, logging=logging, matching=matching,
                pack_all=pool.pack_all, map_all=pool.map,
            )  # fmt: skip
    call.show(match_out(done.match), lambda: _text(done, call))
    call.say(
        f"Cutting sheets: open {done.sheets[0]} in a browser, "
        "or print cutting-sheets.pdf beside it."
    )
    call.say(f"The cushion in its own cloth: {done.picture}.")
    call.say(f"What was measured from the photos is drawn in {done.folder / 'previews'}.")
    call.say(f"Look around: scrapstore --store {done.store} scrap list")


def _text(done: "DemoResult", call: Call) -> Shown:

    from scrapstore.cli.match import match_text

    scraps = sum(len(photo.scraps) for photo in done.logged.logged)
    photos = len(done.logged.logged)
    return stack(f"Logged {scraps} scraps from {photos} photos.\n", match_text(done.match, call))
