"""Killed at any moment, the store opens again, whole, with every finished record.

The kills are real (SIGKILL; TerminateProcess on Windows) and fall at moments spread over the work.
"""

import hashlib
import random
import shutil
import time
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Final

import numpy as np
import pytest
from PIL import Image

from scrapstore.actions.log import log_photos
from scrapstore.settings import Settings
from scrapstore.shapes.typed_outlines import typed_rectangle
from scrapstore.stock_entry.size_list import TypedScrap
from scrapstore.store import NewScrap, open_store
from scrapstore.store.migrate import HEAD
from tests.support.processes import LONGEST_WAIT, die_at_statement, start
from tests.support.stores import integrity, old_store, query, tables

PHOTOS: Final = 120
MOST_KILLS: Final = 30


@pytest.fixture(scope="module")
def small_photos(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Small pictures, all different."""
    folder = tmp_path_factory.mktemp("photos")
    draw = np.random.default_rng(4)
    for number in range(PHOTOS):
        pixels = np.full((24, 32, 3), draw.integers(0, 256, 3), dtype=np.uint8)
        pixels[0, 0] = (number, 0, 0)
        Image.fromarray(pixels).save(folder / f"{number:03}.png")
    return folder


def log_folder(photos: str, folder: str, finished: str) -> None:
    """Log all, noting in the file `finished` how many the program called done."""
    typed = TypedScrap(scrap=NewScrap(outline=typed_rectangle("9 x 22").outline))
    with open_store(folder) as store, Path(finished).open("ab", buffering=0) as note:

        def advance(done: int, _of: int) -> None:
            note.write(b"%d\n" % done)

        log_photos(store, [Path(photos)], Settings(), typed=typed, advance=advance)


def test_killed_while_logging_many_photos(small_photos: Path, tmp_path: Path) -> None:
    """Killed, started again, killed again, until all are in."""
    folder, finished = tmp_path / "store", tmp_path / "finished"
    draw = random.Random(7)
    landed = done = 0
    for _ in range(MOST_KILLS):
        finished.write_bytes(b"")
        process = start(log_folder, str(small_photos), str(folder), str(finished))
        # After so many photos, not so many seconds: the test says the same on any machine.
        until = done + draw.randint(2, 12)
        while process.exitcode is None and _done(finished) < until:
            process.join(timeout=0.005)
        landed += _killed(process, draw.uniform(0, 0.02))
        done = max(done, _done(finished))
        _assert_whole(folder, at_least=done)
        if done == PHOTOS:
            break
    log_folder(str(small_photos), str(folder), str(finished))
    _assert_whole(folder, at_least=PHOTOS)
    assert query(folder / "store.db", "SELECT count(*) FROM scraps") == [(PHOTOS,)]
    assert query(folder / "store.db", "SELECT count(DISTINCT sha256) FROM photos") == [(PHOTOS,)]
    assert landed >= 10  # else the test says nothing


def _done(finished: Path) -> int:
    """Return how many photos the last whole line of `finished` calls done."""
    *whole, _ = finished.read_bytes().split(b"\n")
    return int(whole[-1]) if whole else 0


def _assert_whole(folder: Path, *, at_least: int) -> None:
    """Look at what a killed call left, first with plain sqlite3, then through the program."""
    database = folder / "store.db"
    if not database.exists():
        assert at_least == 0
        return
    assert integrity(database) == "ok"
    if database.stat().st_size == 0 or not query(database, "SELECT 1 FROM sqlite_master"):
        assert at_least == 0
        return
    names = [name for (name,) in query(database, "SELECT file_name FROM photos")]
    for name in names:
        content = (folder / "photos" / name).read_bytes()
        assert hashlib.sha256(content).hexdigest() == name.partition(".")[0]
    lonely = "SELECT count(*) FROM photos WHERE id NOT IN (SELECT photo_id FROM scraps)"
    assert query(database, lonely) == [(0,)]
    (counts,) = query(
        database,
        "SELECT (SELECT count(*) FROM scraps), (SELECT count(*) FROM changes),"
        " (SELECT count(*) FROM history)",
    )
    assert counts == (len(names), len(names), 2 * len(names))  # a photo and its scrap each time
    assert len(names) >= at_least
    with open_store(folder) as store, store.read() as reader:
        assert len(reader.scraps()) == len(names)
        assert store.check().faults == ()


def open_only(folder: str) -> None:
    """Make or migrate the store in `folder`."""
    with open_store(folder):
        pass


def open_and_die(folder: str, after: int) -> None:
    """Open the store and kill this process itself after so many SQL statements."""
    die_at_statement(after)
    with open_store(folder):
        pass


def test_killed_after_every_statement_of_a_migration(tmp_path: Path) -> None:
    """Every other statement boundary between opening and being done."""
    before = tables(old_store(tmp_path / "old", scraps=20))
    revisions = []
    for statement in range(1, 200, 2):
        folder = tmp_path / f"killed-{statement}"
        shutil.copytree(tmp_path / "old", folder)
        process = start(open_and_die, str(folder), statement)
        process.join(timeout=LONGEST_WAIT)
        revisions.append(_assert_before_or_after(folder, before))
        _opens_up_to_date(folder)
        if process.exitcode == 0:
            break
    else:
        pytest.fail("a migration takes more statements than this test allows for")
    assert revisions == sorted(revisions)
    assert revisions.count("0001") > 10


def test_killed_while_migrating(tmp_path: Path) -> None:
    """At moments spread over the whole of it; before or after, never between."""
    before = tables(old_store(tmp_path / "old", scraps=400))
    shutil.copytree(tmp_path / "old", tmp_path / "timed")
    whole = _seconds(start(open_only, str(tmp_path / "timed")))
    draw = random.Random(3)
    landed = 0
    for number in range(12):
        folder = tmp_path / f"killed-{number}"
        shutil.copytree(tmp_path / "old", folder)
        at_work = _killed(start(open_only, str(folder)), whole * draw.random())
        landed += at_work
        if not at_work:  # the machine had less to do than when the whole was timed
            whole /= 2
        _assert_before_or_after(folder, before)
        _opens_up_to_date(folder)
    assert landed >= 4  # else the test says nothing


def _seconds(process: BaseProcess) -> float:
    begun = time.monotonic()
    process.join()
    return time.monotonic() - begun


def _killed(process: BaseProcess, after: float) -> bool:
    """Kill `process` after so many seconds; tell whether it was still at work."""
    process.join(timeout=after)
    at_work = process.exitcode is None
    process.kill()
    process.join()
    return at_work


def _opens_up_to_date(folder: Path) -> None:
    with open_store(folder) as store, store.read() as reader:
        assert store.revision() == HEAD
        assert all(scrap.short_side > 0 for scrap in reader.scraps())


def _assert_before_or_after(folder: Path, before: dict[tuple[str, int], dict[str, object]]) -> str:
    """Check what a killed migration left, with plain sqlite3; return the revision found."""
    database = folder / "store.db"
    assert integrity(database) == "ok"
    ((revision,),) = query(database, "SELECT version_num FROM alembic_version")
    after = tables(database)
    if revision == "0001":
        assert after == before
    else:
        assert revision == HEAD
        assert after.keys() == before.keys()
        assert all(row.items() <= after[key].items() for key, row in before.items())
    for backup in (folder / "backups").glob("*.db"):
        if not backup.name.startswith("."):  # a copy that was not finished
            assert integrity(backup) == "ok"
            assert tables(backup) == before
    return str(revision)


def test_killed_while_a_new_store_is_made(tmp_path: Path) -> None:
    """Nothing, or a store; what is left over becomes a store the next time."""
    exits = []
    for statement in (*range(1, 16), *range(16, 400, 7)):
        folder = tmp_path / f"killed-{statement}"
        process = start(open_and_die, str(folder), statement)
        process.join(timeout=LONGEST_WAIT)
        exits.append(process.exitcode)
        with open_store(folder) as store, store.change("test") as writer:
            writer.add_scrap(NewScrap(outline=typed_rectangle("9 x 22").outline))
        assert integrity(folder / "store.db") == "ok"
        if process.exitcode == 0:
            break
    assert exits[-1] == 0
    assert all(code != 0 for code in exits[:-1])
    assert len(exits) > 15
