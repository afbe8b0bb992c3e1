"""A progress bar on standard error; silent where standard error is no terminal."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

__all__ = ["progress_bar"]


@contextmanager
def progress_bar(what: str) -> Iterator[Callable[[int, int], None]]:
    """Give a function to call with (done, of how many); the bar goes when the block ends."""
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    console = Console(stderr=True)
    with Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        console=console,
        transient=True,
        disable=not console.is_terminal,
    ) as progress:
        task = progress.add_task(what, total=None)

        def advance(done: int, total: int) -> None:
            progress.update(task, completed=done, total=total)

        yield advance
