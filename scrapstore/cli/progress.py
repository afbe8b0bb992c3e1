"""Progress on standard error; silent where standard error is no terminal."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

__all__ = ["match_progress", "progress_bar"]


@contextmanager
def progress_bar(what: str) -> Iterator[Callable[[int, int], None]]:
    """Give a function to call with (done, of how many); the bar goes when the block ends."""
    with _bar(what) as advance:
        yield lambda done, total: advance(done, total, what)


@contextmanager
def match_progress(
    what: str = "looking through the scraps",
) -> Iterator[Callable[[int, int, int | None], None]]:
    """Give a function to call with (done, of how many, pieces covered so far or None)."""
    with _bar(what) as advance:

        def tell(done: int, total: int, covered: int | None) -> None:
            so_far = f"{covered} pieces so far; Ctrl-C takes them"
            advance(done, total, what if covered is None else so_far)

        yield tell


@contextmanager
def _bar(what: str) -> Iterator[Callable[[int, int, str], None]]:
    if not sys.stderr.isatty():
        yield lambda done, total, words: None  # noqa: ARG005
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    with Progress(
        TextColumn("{task.description}"),
        BarColumn(bar_width=24),
        MofNCompleteColumn(),
        console=Console(stderr=True),
        transient=True,
    ) as progress:
        task = progress.add_task(what, total=None)
        yield lambda done, total, words: progress.update(
            task, completed=done, total=total, description=words
        )
