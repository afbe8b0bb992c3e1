"""Layouts from processes beside each other: the same plan, and an interrupt that leaves one."""

import gc
import multiprocessing
import os
import threading
import time
from pathlib import Path

import psutil
import pytest
from shapely import Polygon, box

from scrapstore.actions.match import match_project
from scrapstore.errors import PlanError
from scrapstore.json_output.match import match_out
from scrapstore.matching import Task, pack
from scrapstore.packing import PieceKind
from scrapstore.settings import Settings
from scrapstore.store import NewScrap, open_store
from scrapstore.workers import load_ahead, workers
from tests.support.processes import LONGEST_WAIT

PROJECT = """
format = 1
name = "Bench pad"
[roles.top]
families = ["blue"]
[[pieces]]
name = "square"
shape = "square"
side = "2"
count = 40
role = "top"
[[pieces]]
name = "triangle"
shape = "half-square triangle"
short_side = "3"
count = 12
role = "top"
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "pad.toml").write_text(PROJECT, encoding="utf-8")
    with open_store(tmp_path / "store") as store, store.change("test") as writer:
        for size in (4.0, 5.5, 7.0, 6.2):
            outline = Polygon([(0, 0), (size, 0.4), (size - 1, size), (0.3, size)])
            writer.add_scrap(NewScrap(outline=outline, family="blue"))
            writer.add_scrap(NewScrap(outline=box(0, 0, size, 3), family="blue"))
    return tmp_path


def answer(folder: Path, processes: int, effort: float = 2.0) -> str:
    with workers(processes) as pool, open_store(folder / "store") as store:
        result = match_project(
            store,
            folder / "pad.toml",
            settings=Settings(),
            pack_all=pool.pack_all,
            map_all=pool.map,
            effort=effort,
        )
    return match_out(result).model_dump_json()


def test_one_process_and_two_give_the_same_plan_to_the_last_corner(folder: Path) -> None:
    assert answer(folder, 1) == answer(folder, 2)


def test_what_killed_workers_leave_is_laid_here() -> None:
    square = PieceKind("square", box(0, 0, 2, 2), 9, (0.0,), mirror=False)
    tasks = [Task(i, box(0, 0, 5 + i, 5), (square,), 0.01, 0, True) for i in range(4)]
    before = set(psutil.Process().children(recursive=True))
    with workers(2) as pool:
        whole = list(pool.pack_all(tasks))
        started = set(psutil.Process().children(recursive=True)) - before
        parents = {process.ppid() for process in started}
        workers_only = [
            # The server that forks them stays, for tests that follow; so does the tracker.
            process
            for process in started
            if process.pid not in parents and "resource_tracker" not in str(process.cmdline())
        ]
        assert workers_only
        workers_only[0].kill()
        after = list(pool.pack_all(tasks))
    assert whole == after == [pack(task) for task in tasks]


def test_what_loads_ahead_is_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """A program that ends while it loads would break it off with a report of its own."""
    loaded: list[str] = []

    def slowly(name: str) -> None:
        time.sleep(0.2)
        loaded.append(name)

    monkeypatch.setattr("scrapstore.workers.import_module", slowly)
    gc.disable()
    with pytest.raises(ZeroDivisionError), load_ahead():
        raise ZeroDivisionError
    assert loaded == ["ortools.sat.python.cp_model"]
    assert gc.isenabled()
    gc.unfreeze()


def test_workers_have_ended_when_an_error_is_told() -> None:
    """Else the program may end before they do, and what is noisy about that is shown."""
    with pytest.raises(PlanError, match="no such file"), workers(2):
        raise PlanError("no such file")
    assert not [one for one in threading.enumerate() if "Executor" in type(one).__name__]


def _long(note: Path) -> None:
    note.write_text(str(os.getpid()), encoding="utf-8")
    if multiprocessing.parent_process() is not None:
        time.sleep(2 * LONGEST_WAIT)


def _interrupted(notes: list[Path], at_work: list[psutil.Process]) -> None:
    with workers(2) as pool:
        threading.Thread(target=list, args=(pool.map(_long, notes),), daemon=True).start()
        while not all(note.is_file() and note.read_text() for note in notes):
            time.sleep(0.05)
        at_work += [psutil.Process(int(note.read_text())) for note in notes]
        raise KeyboardInterrupt


def test_ctrl_c_ends_the_workers_whatever_they_are_at(tmp_path: Path) -> None:
    at_work: list[psutil.Process] = []
    with pytest.raises(KeyboardInterrupt):
        _interrupted([tmp_path / "one", tmp_path / "two"], at_work)
    _, alive = psutil.wait_procs(at_work, timeout=LONGEST_WAIT)
    assert not alive
