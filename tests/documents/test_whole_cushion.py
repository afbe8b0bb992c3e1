"""The tour in the guide, from a design to the last stitch: it runs, and what it says is so."""

from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from pypdf import PdfReader

from scrapstore.guide import page
from tests.support.guide_tour import run_tour


@pytest.mark.slow
def test_a_cushion_is_arranged_cut_sewn_and_finished_as_the_page_says(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pins hold in the plan, its labels in the sewing order, and nothing had to be bought."""
    scrapstore = run_tour("whole-cushion", tmp_path, capsys, monkeypatch)

    def shown(*words: str) -> Any:
        return scrapstore("--store", "tour", *words, "--json").json

    # Closed, the plan holds nothing any more: what it was is seen by taking that back.
    lots = shown("ready", "list", "--status", "all")["ready_cut"]
    assert {lot["status"] for lot in lots} == {"used up"}
    scrapstore("--store", "tour", "undo", "--yes")
    answer = shown("plan", "show", "ferry")["answer"]
    assert answer["together"]["covered"] == 42
    assert not any(role["must_buy"] for role in answer["yardage"])
    places = {one["position"]: one for one in answer["positions"]}
    assert len(places) == 42
    assert {places[tip]["fabric"] for tip in ("1.2.2", "4.2.2")} == {"yellow dotted cotton"}
    assert len({places[f"{wedge}.1.1"]["fabric"] for wedge in range(1, 7)}) == 1
    # F5 was spoilt; in its place is white cloth of another scrap, a ready-cut piece now.
    spoilt = next(one for one in places.values() if one["label"] == "F5")
    lot = next(one for one in lots if one["id"] == spoilt["ready"])
    assert lot["fabric"] in {"scalloped blind", "summer dress", "sail-bag canvas"}
    with Image.open(tmp_path / "ferry.png") as before, Image.open(tmp_path / "after.png") as after:
        assert before.tobytes() != after.tobytes()
    order = shown("sew", "ferry")
    assert (order["pieces"], order["seams"], order["set_in"]) == (42, 41, 0)
    stated = " ".join((page("whole-cushion") or "").split())
    assert "42 pieces take 41 seams, all straight." in stated
    sewing = " ".join(leaf.extract_text() for leaf in PdfReader(tmp_path / "sewing.pdf").pages)
    assert all(one["label"] in sewing for one in places.values())
    # Two strips of 40 in for 41 1/2 in: the rest of each is a strip of 17 in.
    strips = shown("binding", "list")["binding"]
    assert [strip["length"] for strip in strips] == [17, 17]
