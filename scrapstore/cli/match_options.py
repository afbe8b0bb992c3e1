"""What ``match`` and ``plan keep`` share: their options, and the match itself."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, bundle
from scrapstore.cli.progress import match_progress

if TYPE_CHECKING:
    from scrapstore.planning.result import MatchResult
    from scrapstore.store import Store

__all__ = ["PROJECT", "MatchOptions"]

PROJECT = Annotated[Path, typer.Argument(metavar="PROJECT.toml", help="The project file.")]


@bundle
class MatchOptions:
    """How a project is matched."""

    seed: Annotated[
        int,
        o.number_option(
            "--variant",
            "Another number may give another plan that is as good; the same number gives the same "
            "plan.",
            least=0,
        ),
    ] = 0
    aims: Annotated[
        str,
        o.text_option(
            "--aims",
            "What counts more, in order: cover (most yardage saved, always first), whole "
            "(large scraps stay whole), scraps (fewest to fetch), cuts (fewest with the ruler).",
            metavar="A,B,…",
        ),
    ] = "cover,whole,scraps,cuts"
    effort: Annotated[
        float,
        o.times_option(
            "--try-harder",
            "Search so many times as long for a better plan where something is short.",
        ),
    ] = 1.0
    prove: Annotated[
        float,
        o.times_option(
            "--check-limit",
            "Where something is short: work out more closely how much your scraps could give at "
            "the very most; so many seconds of work a scrap, 3 is a good start.",
        ),
    ] = 0.0

    nested: Annotated[
        bool,
        typer.Option(
            "--nested",
            help="Also nest what is to be bought freely, by template, to see what strips cost.",
        ),
    ] = False

    def _aims(self) -> list[str]:
        """Return the aims typed; an earlier name of "whole" is still understood."""
        words = [word.strip().lower() for word in self.aims.split(",")]
        return ["whole" if word == "keep" else word for word in words]

    @contextmanager
    def matched(
        self, call: Call, project: Path, answers: int, *, stoppable: bool
    ) -> Iterator[tuple["Store", tuple["MatchResult", ...]]]:
        """Match `project`, with progress shown; give the open store and the answers.

        What is `stoppable` gives the best answer so far after Ctrl-C; else nothing is made of it.
        """
        from scrapstore.workers import load_ahead, workers

        with workers() as pool:
            # Imported only now: the workers start meanwhile. What is imported stays, so to look
            # through it for rubbish again and again would only take time; `load_ahead` puts that
            # in order.
            gc.disable()
            from scrapstore.actions.match import project_answers
            from scrapstore.matching import EFFORT as USUAL_EFFORT
            from scrapstore.matching import checked_aims

            order = checked_aims(self._aims())

            def stopping() -> None:
                call.say(
                    "Stopped: the cuts of the best plan so far are made. Ctrl-C again leaves it."
                )

            with load_ahead(), call.open_store() as store:
                with match_progress() as advance:
                    found = project_answers(
                        store,
                        project,
                        answers,
                        settings=call.settings,
                        seed=self.seed,
                        aims=order,
                        effort=self.effort * USUAL_EFFORT,
                        prove=self.prove,
                        nested=self.nested,
                        pack_all=pool.pack_all,
                        map_all=pool.map,
                        progress=advance,
                        stopping=stopping if stoppable else None,
                    )
                yield store, found
