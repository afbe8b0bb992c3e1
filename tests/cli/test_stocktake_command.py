"""``stocktake``: what is there, what is not, what belongs elsewhere; one change, on a yes."""

from pathlib import Path
from typing import Any

import pytest

from tests.cli.test_labels_command import picture_of_labels
from tests.support.program import Program


@pytest.fixture
def tin(scrapstore: Program) -> Program:
    """Scraps 1 to 3 in the tin, 4 on the shelf, 5 nowhere, 6 used up."""
    scrapstore("scrap", "add", "--size", "9 x 6", "--place", "Blue tin", "--count", "3")
    scrapstore("scrap", "add", "--size", "5 x 5", "--place", "shelf")
    scrapstore("scrap", "add", "--size", "4 x 4")
    scrapstore("scrap", "add", "--size", "3 x 3", "--place", "Blue tin")
    scrapstore("scrap", "retire", "6")
    return scrapstore


def numbers(document: Any, part: str) -> list[int]:
    return [one["id"] for one in document[part]]


def test_each_number_is_here_missing_elsewhere_used_up_or_unknown(tin: Program) -> None:
    said = tin("stocktake", "blue tin", "--there", "1, 3-6, 99", "--json", status=1)
    assert said.json["place"] == "Blue tin"
    parts = ("here", "missing", "elsewhere", "used_up", "changed")
    assert [numbers(said.json, part) for part in parts] == [[1, 3], [2], [4, 5], [6], []]
    assert said.json["unknown"] == [99]
    assert "--yes" in said.err
    assert tin("scrap", "show", "4", "--json").json["place"] == "shelf"


def test_what_turned_up_is_put_right_in_one_change_that_undo_takes_back(tin: Program) -> None:
    before = tin("scrap", "list", "--status", "all", "--json").json
    said = tin("stocktake", "blue tin", "--there", "1-6", "--yes", "--json")
    assert numbers(said.json, "changed") == [4, 5, 6]
    listed = tin("scrap", "list", "--place", "blue tin", "--json").json
    assert numbers(listed, "scraps") == [1, 2, 3, 4, 5, 6]
    assert {one["place"] for one in listed["scraps"]} == {"Blue tin"}
    assert "tocktake" in tin("history").out
    tin("undo", "--yes")
    assert tin("scrap", "list", "--status", "all", "--json").json == before


def test_when_all_is_as_recorded_nothing_is_changed(tin: Program) -> None:
    count = len(tin("history", "--json").json["changes"])
    said = tin("stocktake", "Blue tin", "--there", "1-3", "--yes")
    assert "3 here, 0 not here" in said.out
    assert len(tin("history", "--json").json["changes"]) == count
    assert "0 here, 3 not here" in tin("stocktake", "Blue tin", "--there", "").out


def test_labels_in_a_photo_tick(tin: Program, tmp_path: Path) -> None:
    photo = picture_of_labels(tmp_path / "tin.png", (1, 4))
    said = tin("stocktake", "Blue tin", "--photo", str(photo), "--there", "2", "--yes", "--json")
    assert [numbers(said.json, part) for part in ("here", "missing", "changed")] == [
        [1, 2], [3], [4],
    ]  # fmt: skip


def test_at_a_terminal_it_asks_for_numbers_and_before_it_changes(
    tin: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("scrapstore.cli.stocktake.at_terminal", lambda: True)
    for last, status, place in (("no", 1, "shelf"), ("yes", 0, "Blue tin")):
        answers = iter(["1 2", "x", "4", "", last])
        monkeypatch.setattr("typer.prompt", lambda *_, a=answers, **__: next(a))
        said = tin("stocktake", "blue tin", status=status)
        assert "no. 3: 9 × 6 in" in said.err
        assert "cannot read 'x'" in said.err
        assert "Move to Blue tin, from shelf: no. 4" in said.err
        assert tin("scrap", "show", "4", "--json").json["place"] == place


def test_a_scrap_that_was_cut_up_cannot_come_back(tin: Program) -> None:
    tin("scrap", "add", "--size", "2 x 2", "--parent", "1", "--parent-used-up")
    said = tin("stocktake", "blue tin", "--there", "1-3", "--yes", "--json")
    assert [numbers(said.json, part) for part in ("here", "missing")] == [[2, 3], [7]]
    (only,) = said.json["cut_up"]
    assert only["id"] == 1
    assert "cut up" in only["reason"]


def test_slips_say_what_to_do(tin: Program) -> None:
    assert "--there" in tin("stocktake", "blue tin", status=2).err
    assert "cannot read" in tin("stocktake", "blue tin", "--there", "x", status=2).err
    assert "did you mean 'Blue tin'" in tin("stocktake", "blue tim", "--there", "", status=1).err
