"""The tour in the guide, from a photo to the second cushion: it runs, and what it says is so."""

import re
import shlex
import shutil
from pathlib import Path
from typing import Any

import pytest

from scrapstore.guide import page
from scrapstore.resources import resource_folder
from tests.support.program import Program


def blocks() -> list[tuple[str, str, str]]:
    """The marked blocks of the page in order: what it is, its file's name, its text."""
    text = page("second-cushion")
    assert text is not None
    found = re.findall(r"<!-- (file|tour)(?:: (\S+))? -->\n```\w+\n(.*?)```", text, re.DOTALL)
    assert [kind for kind, _, _ in found].count("tour") == 4
    return found


@pytest.mark.slow
def test_the_second_cushion_is_cut_from_what_the_first_left(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing is bought, no photo is taken, and the share of offcuts is the one that is stated."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SCRAPSTORE_CONFIG", str(tmp_path / "settings.toml"))
    monkeypatch.setattr("scrapstore.workers._cores", lambda: 1)
    scrapstore = Program(capsys, monkeypatch)
    shutil.copytree(resource_folder("sample_photos"), tmp_path / "sample_photos")
    for kind, name, text in blocks():
        if kind == "file":
            (tmp_path / name).write_text(text, encoding="utf-8")
        for line in text.strip().splitlines() if kind == "tour" else ():
            words = shlex.split(line)
            assert words[0] == "scrapstore"
            scrapstore(*words[1:])

    def shown(*words: str) -> Any:
        return scrapstore("--store", "tour", *words, "--json").json

    answer = shown("plan", "show", "pins")["answer"]
    assert answer["together"]["covered"] == answer["together"]["wanted"] == 12
    assert not any(role["must_buy"] for role in answer["yardage"])
    scraps = {one["id"]: one for one in shown("scrap", "list", "--status", "all")["scraps"]}
    from_offcuts = from_spoilt = 0
    for used in answer["scraps"]:
        scrap = scraps[used["id"]]
        count = sum(used["counts"].values())
        if (scrap["note"] or "").startswith("spoilt:"):
            from_spoilt += count
        elif scrap["parent"] is not None:
            from_offcuts += count
    assert (from_offcuts, from_spoilt) == (10, 1)
    stated = " ".join((page("second-cushion") or "").split())
    assert "11 of its 12 pieces come from what the first project left: ten from offcuts" in stated
    # Every piece of the store's cloth is there once: what was used up is in pieces and offcuts.
    assert {scraps[used["id"]]["status"] for used in answer["scraps"]} == {"used up"}
    lots = shown("ready", "list", "--status", "all")["ready_cut"]
    assert sum(lot["count"] for lot in lots if lot["status"] == "available") == 2  # left over
    assert sum(lot["count"] for lot in lots if lot["status"] == "set aside") == 12
