"""The tour in the guide, from a photo to the second cushion: it runs, and what it says is so."""

from pathlib import Path
from typing import Any

import pytest

from scrapstore.guide import page
from tests.support.guide_tour import run_tour


@pytest.mark.slow
def test_the_second_cushion_is_cut_from_what_the_first_left(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing is bought, no photo is taken, and the share of offcuts is the one that is stated."""
    scrapstore = run_tour("second-cushion", tmp_path, capsys, monkeypatch)

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
    assert from_offcuts >= 10
    assert from_spoilt == 1
    stated = " ".join((page("second-cushion") or "").split())
    assert "at least 11 of its 12 pieces come from what the first project left: ten or" in stated
    # Every piece of the store's cloth is there once: what was used up is in pieces and offcuts.
    assert {scraps[used["id"]]["status"] for used in answer["scraps"]} == {"used up"}
    lots = shown("ready", "list", "--status", "all")["ready_cut"]
    assert sum(lot["count"] for lot in lots if lot["status"] == "available") == 2  # left over
    assert sum(lot["count"] for lot in lots if lot["status"] == "set aside") == 12
