"""Progress on standard error, one counted line; silent where standard error is no terminal."""

import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Final

__all__ = ["match_progress", "progress_bar", "progress_line"]

_STITCHES: Final = 16


@contextmanager
def progress_bar(what: str) -> Iterator[Callable[[int, int], None]]:
    """Give a function to call with (done, of how many); the line goes when the block ends."""
    with _line() as write:
        yield lambda done, total: write(progress_line(done, total, what))


@contextmanager
def match_progress() -> Iterator[Callable[[int, int, int | None], None]]:
    """Give a function to call with (done, of how many, pieces covered so far or None)."""
    with _line() as write:

        def show(done: int, total: int, covered: int | None) -> None:
            so_far = f"better plans tried, {covered} pieces so far (Ctrl-C takes them)"
            write(progress_line(done, total, "scraps looked at" if covered is None else so_far))

        yield show


def progress_line(done: int, total: int, what: str) -> str:
    """Return the line: a seam that is sewn as far as the work is done, then the count.

    >>> progress_line(2, 8, "photos")
    '|- - - -                         | 2 of 8 photos'
    """
    sewn = _STITCHES * done // total if total else 0
    return f"|{'- ' * sewn}{'  ' * (_STITCHES - sewn)}| {done} of {total} {what}"


@contextmanager
def _line() -> Iterator[Callable[[str], None]]:
    """Give a function that writes a text over the one before it."""
    if not sys.stderr.isatty():
        yield lambda text: None  # noqa: ARG005
        return
    shown = ""

    def write(text: str) -> None:
        nonlocal shown
        text = text[: shutil.get_terminal_size().columns - 1]
        if text != shown:
            sys.stderr.write(f"\r{text.ljust(len(shown))}")
            sys.stderr.flush()
            shown = text

    try:
        yield write
    finally:
        sys.stderr.write(f"\r{' ' * len(shown)}\r")
        sys.stderr.flush()
