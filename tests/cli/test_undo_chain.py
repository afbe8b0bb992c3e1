"""Fifty random changes, then undone one by one: every earlier state comes back in turn."""

import random
from pathlib import Path
from typing import Final

import numpy as np
import pytest
from PIL import Image

from scrapstore.cli import main
from scrapstore.store import open_store
from tests.support.coloured_store import add_cloths
from tests.support.pad import write_pad
from tests.support.stores import contents

CHANGES: Final = 50
PHOTOS: Final = 6

# Ways to call the program; many a call is refused, and then nothing must have changed.
CALLS: Final = (
    "scrap add --size {size} --count {few} --family blue",
    "scrap add --size {size} --parent {number}",
    "scrap add --triangle 4x5.3 --fabric {fabric} --new-fabrics",
    "scrap edit {number} --place {place} --grain first",
    "scrap edit {number} --size {size} --family green",
    "scrap edit {number} {few} --set-aside-for Quilt",
    "scrap retire {number}",
    "scrap reinstate {number}",
    "fabric add {fabric} --fibre linen --width 43",
    "fabric edit {fabric} --washed --family red",
    "fabric retire {fabric}",
    "yardage add --fabric {fabric} --length 1/3yd --new-fabrics",
    "yardage edit {few} --length {number}",
    "yardage retire {few}",
    "ready add --count {number} --size 2.5x2.5",
    "ready edit {few} --count {number} --place {place}",
    "binding add --size 2.5x40 --end /",
    "binding edit {few} --note short",
    "log {photo}.png --size {size} --place {place}",
    "families --learn --apply",
    "families --forget --apply",
    "plan keep pad.toml --name {plan}",
    "cut {plan} --yes",
    "cut {plan} --yes --not A1",
    "plan release {plan}",
    "plan done {plan}",
    "undo --yes",
)


def _words(draw: random.Random, call: str) -> list[str]:
    values = {
        "size": f"{draw.choice((3, 5.25, 7.1, 10))}x{draw.choice((2.3, 6, 9))}",
        "number": draw.randint(1, 9),
        "few": draw.randint(1, 3),
        "photo": draw.randint(1, PHOTOS),
        "place": draw.choice(("tin", "Blechdose_½", "shelf")),
        "fabric": draw.choice(("linen", "Navy", "drill")),
        "plan": draw.choice(("one", "two")),
    }
    return call.format(**values).split()


def _run(patch: pytest.MonkeyPatch, *words: str) -> int:
    patch.setattr("sys.argv", ["scrapstore", *words])
    with pytest.raises(SystemExit) as ended:
        main()
    return int(ended.value.code or 0)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a project, small photos, and a store of a few cloths; return its database."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SCRAPSTORE_STORE", str(tmp_path / "store"))
    monkeypatch.setenv("SCRAPSTORE_CONFIG", str(tmp_path / "settings.toml"))
    monkeypatch.setattr("scrapstore.workers._cores", lambda: 1)
    write_pad(tmp_path, 2, name="pad")
    for number in range(1, PHOTOS + 1):
        pixels = np.full((24, 32, 3), (40 * number, 90, 120), dtype=np.uint8)
        Image.fromarray(pixels).save(f"{number}.png")
    with open_store(tmp_path / "store") as store:
        add_cloths(store, "navy", "sky", "red", "moss")
    return tmp_path / "store" / "store.db"


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(2))
def test_fifty_changes_undone_one_by_one(
    here: Path, monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    """An undo among them takes the last state off; a refused call and a look change nothing."""
    draw = random.Random(seed)
    states = [contents(here)]
    done: set[str] = set()
    changed = 0
    while changed < CHANGES:
        call = draw.choice(CALLS)
        words = _words(draw, call)
        status = _run(monkeypatch, *words)
        assert status in (0, 1), words
        now = contents(here)
        if words[0] == "undo" and status == 0:
            states.pop()
            assert now == states[-1]
        elif now != states[-1]:
            assert status == 0
            states.append(now)
            changed += 1
            done.add(call)
    assert len(done) > 15  # else the test says nothing
    while len(states) > 1:
        states.pop()
        assert _run(monkeypatch, "undo", "--yes") == 0
        assert contents(here) == states[-1]
