"""Several answers, keeping one of them, and an interrupt, as a person meets them."""

import json
import os
import re
import select
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from shapely import Polygon, box

from scrapstore.store import NewScrap, open_store
from tests.support.pad import write_pad
from tests.support.processes import LONGEST_WAIT, PROGRAM, run_at_once
from tests.support.program import Said

Scrapstore = Callable[..., Said]


def made(folder: Path, scraps: int, count: int) -> tuple[str, str]:
    """Make a store of slanted scraps and a project of squares; return both paths."""
    with open_store(folder / "store") as store, store.change("test") as writer:
        for number in range(scraps):
            size = 5.4 + 0.1 * number
            outline = Polygon([(0, 0), (size, 0.4), (size - 1, size), (0.3, size)])
            writer.add_scrap(NewScrap(outline=outline if number % 2 else box(0, 0, 5, 5)))
    return str(folder / "store"), str(write_pad(folder, count))


def test_a_picture_without_a_design_is_refused_before_the_match(
    scrapstore: Scrapstore, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def searched(*_: object, **__: object) -> None:
        raise AssertionError("the match was looked for")

    monkeypatch.setattr("scrapstore.actions.match.match_loaded", searched)
    store, project = made(tmp_path, 2, 2)
    said = scrapstore(
        "--store", store, "match", project, "--picture", str(tmp_path / "top.png"), status=1
    )
    assert "design start" in said.err


def test_answers_stand_side_by_side_and_the_second_can_be_kept(
    scrapstore: Scrapstore, tmp_path: Path
) -> None:
    store, project = made(tmp_path, 9, 8)
    ask = ("--store", store, "match", project, "--answers", "2")
    text = scrapstore(*ask, "--sheets", str(tmp_path / "sheets")).out
    assert "answer 1" in text
    assert re.search(r"pieces covered\s+8 of 8\s+8 of 8", text)
    assert re.search(r"differs from 1 by\s+\d+%", text)
    for number in (1, 2):
        assert (tmp_path / "sheets" / f"answer-{number}" / "index.html").is_file()
    shown = scrapstore(*ask, "--json").json
    (other,) = shown["others"]
    first = {scrap["id"] for scrap in shown["scraps"]}
    second = {scrap["id"] for scrap in other["scraps"]}
    assert first != second
    assert other["unlike"][0] >= 1 / 3 - 1e-3
    kept = scrapstore("--store", store, "plan", "keep", project, "--answer", "2", "--json").json
    assert set(kept["scraps"]) == second
    assert kept["answer"]["scraps"] == other["scraps"]


def test_an_answer_that_is_not_there_cannot_be_kept(scrapstore: Scrapstore, tmp_path: Path) -> None:
    store, project = made(tmp_path, 1, 4)
    said = scrapstore("--store", store, "plan", "keep", project, "--answer", "3", status=1)
    assert "answer 3: there are 1" in said.err
    assert scrapstore("--store", store, "plan", "list", "--json").json["plans"] == []


@pytest.mark.skipif(sys.platform == "win32", reason="needs a terminal that a test can hold")
def test_ctrl_c_while_improving_takes_the_best_plan_so_far(tmp_path: Path) -> None:
    """The real program with standard error on a terminal; the keys reach all its processes."""
    store, project = made(tmp_path, 7, 60)
    ours, theirs = os.openpty()
    # To a file: an answer with its cuts is more than a pipe holds while nobody reads.
    printed = tmp_path / "answer.json"
    with printed.open("wb") as out:
        running = subprocess.Popen(
            [*PROGRAM, "--store", store, "match", project, "--json", "--try-harder", "1000"],
            stdout=out, stderr=theirs, start_new_session=True,
            env={**os.environ, "TERM": "xterm", "COLUMNS": "120"},
        )  # fmt: skip
    os.close(theirs)
    told, sent, deadline = b"", False, time.monotonic() + LONGEST_WAIT
    while time.monotonic() < deadline:
        if select.select([ours], [], [], 0.2)[0]:
            try:
                told += os.read(ours, 1024)
            except OSError:  # nobody writes to it any more
                break
        if b"pieces so far" in told and not sent:
            os.killpg(running.pid, signal.SIGINT)
            sent = True
    os.close(ours)
    assert running.wait(timeout=LONGEST_WAIT) == 0
    answer = json.loads(printed.read_text())
    assert answer["stopped"] is True
    covered = int(re.findall(rb"(\d+) pieces so far", told)[-1])
    assert answer["together"]["covered"] >= covered > 0


def keep_by_program(store: str, project: str, name: str) -> tuple[int, str, str]:
    done = subprocess.run(
        [*PROGRAM, "--store", store, "plan", "keep", project, "--name", name, "--json"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    return done.returncode, done.stdout, done.stderr


def test_two_programs_that_keep_at_once_never_promise_the_same_cloth(tmp_path: Path) -> None:
    """Both match the same scraps; the one that comes second is told, and nothing is half done."""
    store, project = made(tmp_path, 4, 12)
    answers = run_at_once(
        keep_by_program, [(store, project, "bench 1"), (store, project, "bench 2")]
    )
    kept = [set(json.loads(out)["scraps"]) for status, out, _ in answers if status == 0]
    refused = [err for status, _, err in answers if status == 1]
    assert len(kept) + len(refused) == 2
    assert kept
    assert len(kept) == 1 or not kept[0] & kept[1]
    assert all("set aside for" in err for err in refused)
    with open_store(Path(store)) as opened, opened.read() as reader:
        left = {scrap.id for scrap in reader.cuttable_scraps()}
    assert left.isdisjoint(*kept)
    assert len(left) == 4 - sum(map(len, kept))
