"""Processes that pack patterns beside each other, so that a match uses more than one core."""

import gc
import multiprocessing
import os
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from importlib import import_module
from multiprocessing.connection import Connection
from multiprocessing.context import BaseContext
from threading import Thread
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from scrapstore.matching import Task
    from scrapstore.packing import Layout

__all__ = ["Workers", "load_ahead", "workers"]

_Task = TypeVar("_Task")
_Result = TypeVar("_Result")

_MOST = 4


class Workers:
    """Processes that share work; without a `pool` all of it is done in this process."""

    def __init__(self, pool: ProcessPoolExecutor | None) -> None:
        self._pool = pool

    def map(
        self, do: "Callable[[_Task], _Result]", tasks: "Sequence[_Task]"
    ) -> "Iterator[_Result]":
        """Do every task, and give the results in the order of the tasks."""
        done = 0
        if self._pool is not None:
            try:
                for result in self._pool.map(do, tasks):
                    done += 1
                    yield result
            except BrokenProcessPool:  # a worker was killed, for want of memory perhaps
                pass
        yield from map(do, tasks[done:])

    def pack_all(self, tasks: "Sequence[Task]") -> "Iterator[Layout]":
        """Pack the patterns of a match."""
        from scrapstore.matching import pack

        return self.map(pack, tasks)


@contextmanager
def workers(count: int | None = None) -> Iterator[Workers]:
    """Give `count` processes to share work with (None: one a core, up to four).

    They are started at once and import what they need while the caller does other things, so ask
    for them early. On a computer with one core, with `count` below two, and when a worker was
    killed, everything is done in this process instead. The results are the same either way.
    """
    many = min(_MOST, _cores()) if count is None else count
    if many < 2:
        yield Workers(None)
        return
    context = _context()
    theirs, ours = context.Pipe(duplex=False)
    pool = ProcessPoolExecutor(many, mp_context=context, initializer=_start, initargs=(theirs,))
    # Starting them waits until they have imported; the caller need not.
    Thread(target=_get_ready, args=(pool, many), daemon=True).start()

    try:
        yield Workers(pool)
    except KeyboardInterrupt:
        ours.close()  # ends them, whatever they are at
        raise
    finally:
        # Left to end beside the program's own end, a pool may find its pipes closed under it. What
        # it has not begun, nobody waits for.
        pool.shutdown(cancel_futures=True)
        ours.close()
        theirs.close()


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


def _cores() -> int:
    # Not all systems say which cores this process may use.
    allowed = getattr(os, "sched_getaffinity", None)
    return len(allowed(0)) if allowed else os.cpu_count() or 1


def _context() -> BaseContext:
    if sys.platform == "win32":
        return multiprocessing.get_context("spawn")
    # Forked from a server that imports once; forking this process itself is not safe beside the
    # threads of its libraries.
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(
        ["scrapstore.one_thread", "__main__", "scrapstore.matching.patterns"]
    )
    return context


def _start(parent: Connection) -> None:
    """Leave Ctrl-C to the process that waits for the layouts, and end when it has ended."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    # For systems that do not fork; numpy is loaded with the first task.
    import_module("scrapstore.one_thread")
    Thread(target=_end_with, args=(parent,), daemon=True).start()


def _end_with(parent: Connection) -> None:
    """Wait until the other end is closed: by the process that gives the tasks, or by its end."""
    with suppress(EOFError, OSError):
        parent.recv_bytes()
    os._exit(0)


def _get_ready(pool: ProcessPoolExecutor, many: int) -> None:
    """Make the pool start so many processes, by tasks that do nothing."""
    with suppress(RuntimeError):  # the program has ended already
        for _ in range(many):
            pool.submit(_nothing)


def _nothing() -> None:
    pass
