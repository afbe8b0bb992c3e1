"""Positions in a kept plan: in its JSON, kept, worked out anew, and kept by pieces cut again."""

import copy
from dataclasses import replace
from pathlib import Path

import pytest

from scrapstore.actions.match import match_project
from scrapstore.actions.plan import answer_again
from scrapstore.designs import make_design
from scrapstore.json_output.match import match_document
from scrapstore.planning.after_cutting import Spoilt
from scrapstore.planning.cut_request import CutRequest
from scrapstore.planning.kept_answer import to_plain
from scrapstore.planning.result import Place
from scrapstore.projects import design_text
from scrapstore.store import Store
from tests.actions.test_cut import SETTINGS, booked, store
from tests.actions.test_cut_again import scrap
from tests.support.kept_plans import keep

__all__ = ["store"]  # the fixture


def two_squares(folder: Path, more: str = "") -> Path:
    """Two squares side by side that finish at 3 in."""
    design = make_design("squares", piece=3.0, rows=1, columns=2, seam=0.25, mark=0.125)
    file = folder / "two.toml"
    text = design_text(design, 0.25).replace("[roles.squares]", f"[roles.squares]\n{more}")
    file.write_text(text, encoding="utf-8")
    return file


def places(store: Store, name: str = "two") -> tuple[Place, ...]:
    _, result, _ = answer_again(store, name, SETTINGS)
    assert result is not None
    return result.places


def two_fabrics(store: Store) -> None:
    with store.change("test") as writer:
        for fabric in ("red drill", "rust linen"):
            scrap(writer, fabric, 3.5, 3.5)


def test_a_match_and_a_kept_plan_say_what_lies_where(store: Store, tmp_path: Path) -> None:
    """A 3 1/2 in scrap gives one square: cut 1/4 in outside the finished one, at (-3, -1.5)."""
    two_fabrics(store)
    result = match_project(store, two_squares(tmp_path), settings=SETTINGS)
    assert [(one["position"], one["piece"], one["label"], one["scrap"], one["fabric"])
            for one in match_document(result)["positions"]] == [
        ("1.1", "square", "A2", 2, "rust linen"),
        ("1.2", "square", "A1", 1, "red drill"),
    ]  # fmt: skip
    assert match_document(result)["positions"][0]["to_scrap"] == [1, 0, 0, 1, 3.25, 1.75]
    keep(store, result, "two")
    assert places(store) == result.places


def test_an_answer_kept_without_places_has_them_worked_out(store: Store, tmp_path: Path) -> None:
    two_fabrics(store)
    result = match_project(store, two_squares(tmp_path), settings=SETTINGS)
    older = copy.deepcopy(to_plain(result))
    del older["places"]
    plan = keep(store, replace(result, places=()), "two")
    assert plan.document["kept"]["result"].keys() - {"places"} == older.keys()
    assert places(store) == result.places


@pytest.mark.parametrize(("other", "now"), [("red drill", 1), ("poppy cotton", None)])
def test_a_piece_that_is_cut_again_keeps_its_position(
    store: Store, tmp_path: Path, other: str, now: int | None
) -> None:
    """Of the same fabric it looks as planned; of another it is of its lot, and has that name."""
    two_fabrics(store)
    keep(store, match_project(store, two_squares(tmp_path), settings=SETTINGS), "two")
    before = places(store)
    with store.change("test") as writer:
        scrap(writer, other, 3.5, 3.5)
    booked(store, "two", CutRequest(spoilt={"A1": Spoilt(0.25, "top")}))
    assert places(store) == before
    booked(store, "two", CutRequest(again=True))
    whole, spoilt = places(store)
    assert whole == before[0]
    assert (spoilt.position, spoilt.label, spoilt.fabric) == ("1.2", "A1", other)
    assert spoilt.scrap == now
    assert (spoilt.to_scrap is None) == (now is None)


def test_a_project_without_a_design_has_no_positions(store: Store, tmp_path: Path) -> None:
    two_fabrics(store)
    file = two_squares(tmp_path)
    file.write_text(file.read_text(encoding="utf-8").partition("\n[design]")[0], encoding="utf-8")
    assert match_document(match_project(store, file, settings=SETTINGS))["positions"] == []
