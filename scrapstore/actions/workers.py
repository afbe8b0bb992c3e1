"""Processes that lay patterns beside each other, so that a match uses more than one core."""

import gc
import multiprocessing
import os
import signal
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from importlib import import_module
from multiprocessing.context import BaseContext
from threading import Thread
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scrapstore.matching import LayAll, Task
    from scrapstore.packing import Layout

__all__ = ["load_ahead", "workers"]

_MOST = 4


@contextmanager
def workers(count: int | None = None) -> Iterator["LayAll"]:
    """Give a way to lay many patterns at once in `count` processes (None: one a core, up to four).

    They are started at once and import what they need while the caller does other things, so ask
    for them early. On a computer with one core, with `count` below two, and when a worker was
    killed, everything is laid in this process instead. The layouts are the same either way.
    """
    many = min(_MOST, _cores()) if count is None else count
    if many < 2:
        yield _lay_here
        return
    pool = ProcessPoolExecutor(many, mp_context=_context(), initializer=_start)
    # Starting them waits until they have imported; the caller need not.
    Thread(target=_get_ready, args=(pool, many), daemon=True).start()

    def lay_all(tasks: "Sequence[Task]") -> "Iterator[Layout]":
        from scrapstore.matching import lay

        done = 0
        try:
            for layout in pool.map(lay, tasks):
                done += 1
                yield layout
        except BrokenProcessPool:  # a worker was killed, for want of memory perhaps
            yield from map(lay, tasks[done:])

    try:
        yield lay_all
    except Exception:  # such as a file that is not there: the program is about to end
        pool.shutdown(cancel_futures=True)
        raise
    except BaseException:
        # After Ctrl-C there may be tasks left that nobody waits for.
        pool.shutdown(wait=False, cancel_futures=True)
        raise
    # Left to end beside the program's own end, a pool may find its pipes closed under it. What it
    # has not begun, nobody waits for.
    pool.shutdown(cancel_futures=True)


@contextmanager
def load_ahead() -> Iterator[None]:
    """Load the solver while this process waits for its workers; it takes half a second.

    Then all that has been imported is set apart from what is looked through for rubbish, and that
    looking goes on if it was switched off.
    """
    loading = Thread(target=_load_solver)
    loading.start()
    try:
        yield
    finally:
        # A program that ends while it still loads would break the loading off, noisily.
        loading.join()


def _load_solver() -> None:
    try:
        import_module("ortools.sat.python.cp_model")
    finally:
        gc.freeze()
        gc.enable()


def _lay_here(tasks: "Sequence[Task]") -> "Iterator[Layout]":
    from scrapstore.matching import lay

    return map(lay, tasks)


def _cores() -> int:
    # Not all systems tell which cores this process may use.
    allowed = getattr(os, "sched_getaffinity", None)
    return len(allowed(0)) if allowed else os.cpu_count() or 1


def _context() -> BaseContext:
    if sys.platform == "win32":
        return multiprocessing.get_context("spawn")
    # Forked from a server that imports once; forking this process itself is not safe beside the
    # threads of its libraries.
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(
        ["scrapstore.actions.one_thread", "__main__", "scrapstore.matching.patterns"]
    )
    return context


def _start() -> None:
    """Leave Ctrl-C to the process that waits for the layouts, and end when it has ended."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    # For systems that do not fork; numpy is loaded with the first task.
    import_module("scrapstore.actions.one_thread")
    Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """Wait for the end of the process that gives the tasks: killed, it could not tell."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(0)


def _get_ready(pool: ProcessPoolExecutor, many: int) -> None:
    """Make the pool start so many processes, by tasks that do nothing."""
    with suppress(RuntimeError):  # the program has ended already
        for _ in range(many):
            pool.submit(_nothing)


def _nothing() -> None:
    pass
