"""Processes of their own, started quickly, to be run at once or killed.

Where the system can, they are forked from a server that has imported what is heavy already; so a
child is at work within milliseconds and a kill lands in its work and not in its imports.
"""

import multiprocessing
import os
import signal
import sys
from collections.abc import Callable, Sequence
from multiprocessing.context import BaseContext
from multiprocessing.process import BaseProcess
from multiprocessing.queues import Queue
from typing import Any

from sqlalchemy import Engine, event

__all__ = ["LONGEST_WAIT", "PROGRAM", "die_at_statement", "run_at_once", "start"]

LONGEST_WAIT = 300.0
"""Seconds after which another process counts as stuck, however busy the machine is."""
# A shell may have started the tests with interrupts ignored, and children inherit that.
_HEARING = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)"
PROGRAM = (sys.executable, "-c", f"{_HEARING}; from scrapstore.cli import main; main()")
"""Command line of scrapstore in a process of its own."""


def _context() -> BaseContext:
    if sys.platform == "win32":
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(
        [
            "pytest",
            "scrapstore.actions.cut",
            "scrapstore.actions.log",
            "scrapstore.store",
            "alembic.operations",
            "sklearn.cluster",
        ]
    )
    return context


CONTEXT = _context()


def start(work: Callable[..., object], *arguments: object) -> BaseProcess:
    """Start `work` in a process; the caller waits for it or kills it."""
    process: BaseProcess = CONTEXT.Process(target=work, args=arguments)  # type: ignore[attr-defined]
    process.start()
    return process


def die_at_statement(number: int) -> None:
    """Kill this process when the SQL statement of this number from now on is carried out."""
    seen = 0

    @event.listens_for(Engine, "after_cursor_execute")
    def count(*_: object) -> None:
        nonlocal seen
        seen += 1
        if seen == number:
            os.kill(os.getpid(), getattr(signal, "SIGKILL", signal.SIGTERM))


def run_at_once(work: Callable[..., Any], calls: Sequence[tuple[object, ...]]) -> list[Any]:
    """Run `work` with each of `calls` at once, each in a process; return what they returned.

    A call that raised stands as its exception.
    """
    answers: Queue[Any] = CONTEXT.Queue()
    gate = CONTEXT.Barrier(len(calls))
    started = [start(_answer, answers, gate, work, call) for call in calls]
    found = [answers.get(timeout=LONGEST_WAIT) for _ in started]
    for process in started:
        process.join(timeout=LONGEST_WAIT)
    return found


def _answer(
    answers: "Queue[Any]", gate: Any, work: Callable[..., Any], call: Sequence[Any]
) -> None:
    gate.wait(timeout=LONGEST_WAIT)
    try:
        answers.put(work(*call))
    except Exception as error:  # noqa: BLE001 - told to the test
        answers.put(error)
