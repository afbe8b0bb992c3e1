"""Keeping answers and ranking projects, from the store to what is told."""

import json
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import pytest
from shapely import box

from scrapstore.actions.cut import book_cut, look_at_cut
from scrapstore.actions.match import match_project
from scrapstore.actions.plan import (
    answer_again,
    finish_kept,
    list_plans,
    release_kept,
    sheets_again,
    show_plan,
)
from scrapstore.actions.rank import rank_projects
from scrapstore.errors import NotFoundError, PlanError, ProjectError
from scrapstore.json_output.match import match_out
from scrapstore.json_output.plans import plan_out
from scrapstore.json_output.rank import ranking_out
from scrapstore.matching import pack_all
from scrapstore.planning.cut_request import CutRequest
from scrapstore.report.answer_text import statement
from scrapstore.report.cutting_report import make_sheets
from scrapstore.settings import Settings
from scrapstore.shapes import cut_shape, make_shape
from scrapstore.store import (
    NewFabric,
    NewPlan,
    NewReadyCut,
    NewScrap,
    NewYardage,
    StockFilter,
    Store,
    Writer,
    keep_plan,
    open_store,
)
from tests.support.kept_plans import keep
from tests.support.program import Program

PROJECT = """
format = 1
name = "{name}"

[roles.top]
families = ["{family}"]

[[pieces]]
name = "square"
shape = "square"
side = "2"
count = {count}
role = "top"
"""
TWO_MORE = """
[roles.edge]
families = ["red"]

[[pieces]]
name = "edge square"
shape = "square"
side = "2"
count = 3
role = "edge"
"""
OLD_PLAN = Path(__file__).parents[1] / "support" / "old_plan.json"
SETTINGS = Settings()


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    shape = make_shape("square", side=2)
    with open_store(tmp_path / "store") as store:
        with store.change("test") as writer:
            for _ in range(2):
                writer.add_scrap(NewScrap(outline=box(0, 0, 5, 5), family="blue"))
            writer.add_ready_cut(
                NewReadyCut(kind="square", label=shape.label, cut=cut_shape(shape, 0.25), count=4,
                            family="blue")
            )  # fmt: skip
        yield store


def project(folder: Path, count: int, name: str = "Bench pad", family: str = "blue") -> Path:
    file = folder / f"{name.replace(' ', '-')}.toml"
    file.write_text(PROJECT.format(count=count, name=name, family=family), encoding="utf-8")
    return file


def test_two_kept_projects_share_one_store(store: Store, tmp_path: Path) -> None:
    """Eleven squares take the four ready-cut ones and both scraps; the next project finds none."""
    file = project(tmp_path, 11)
    first = match_project(store, file, settings=SETTINGS)
    again = match_project(store, file, settings=SETTINGS)
    plan = keep(store, first, "pad 1")
    assert (len(plan.scrap_ids), len(plan.ready_ids)) == (2, 1)
    with pytest.raises(PlanError, match="scrap 1 is set aside for 'pad 1'"):
        keep(store, again, "pad 2")
    second = match_project(store, file, settings=SETTINGS)
    assert second.together.covered == 0
    assert [kept.name for kept in list_plans(store)] == ["pad 1"]
    release_kept(store, "pad 1")
    assert match_project(store, file, settings=SETTINGS).together.covered == 11


def test_a_plan_may_use_nothing_but_yardage(store: Store, tmp_path: Path) -> None:
    """A length of 21 in, all of it taken, is asked for twice: the second project is told to buy."""
    file = project(tmp_path, 48, "Red pad", "red")
    with store.change("test") as writer:
        cloth = writer.add_fabric(NewFabric(name="red drill", family="red", usable_width=16.0))
        writer.add_yardage(NewYardage(fabric=cloth, length=21.0))
    first = match_project(store, file, settings=SETTINGS)
    (shortage,) = first.shortages
    assert [hand.takes for hand in shortage.on_hand] == [21.0]
    again = match_project(store, file, settings=SETTINGS)
    assert keep(store, first, "pad 1").yardage == {1: 21.0}
    with pytest.raises(PlanError, match="length 1 has 0 in left"):
        keep(store, again, "pad 2")
    second = match_project(store, file, settings=SETTINGS)
    assert second.shortages[0].on_hand == ()
    assert second.shortages[0].plan.pieces == {"square": 48}
    assert match_out(second).yardage[0].instructions[0] == (
        "You have 21 in of red drill (length 1), but it is promised to 'pad 1'."
    )
    book_cut(store, look_at_cut(store, "pad 1", CutRequest(), SETTINGS), SETTINGS)
    with store.read() as reader:
        assert reader.yardage() == ()
        assert reader.yardage_length(1).status == "used up"


CHANGES: list[tuple[str, Callable[[Writer], object]]] = [
    ("scrap 1", lambda w: w.update_scrap(replace(w.scrap(1), outline=box(0, 0, 4, 4)))),
    ("scrap 1", lambda w: w.update_scrap(replace(w.scrap(1), family="red"))),
    ("scrap 1", lambda w: w.update_scrap(replace(w.scrap(1), grain_deg=45.0))),
    ("scrap 1", lambda w: w.update_scrap(replace(w.scrap(1), flaws=(box(1, 1, 2, 2),)))),
    (
        "ready-cut pieces no. 1",
        lambda w: w.update_ready_cut(replace(w.ready_cut_lot(1), value="dark")),
    ),
    ("length 1", lambda w: w.update_yardage(replace(w.yardage_length(1), usable_width=30.0))),
    ("length 1", lambda w: w.update_fabric(replace(w.fabric("drill"), one_way_print=True))),
]


@pytest.mark.parametrize(("thing", "change"), CHANGES)
def test_what_changed_since_the_match_keeps_no_plan(
    store: Store, tmp_path: Path, thing: str, change: Callable[[Writer], object]
) -> None:
    """Twenty squares take both scraps, the ready-cut ones, and yardage."""
    with store.change("test") as writer:
        cloth = writer.add_fabric(NewFabric(name="drill", family="blue", usable_width=40.0))
        writer.add_yardage(NewYardage(fabric=cloth, length=18.0))
    result = match_project(store, project(tmp_path, 20), settings=SETTINGS)
    assert result.cuts
    assert result.ready
    assert result.shortages[0].on_hand
    with store.change("test") as writer:
        writer.update_scrap(replace(writer.scrap(2), place="tin", note="ironed"))
        change(writer)
    with pytest.raises(PlanError, match=f"changed while the match ran: {thing}.*match again"):
        keep(store, result)
    assert list_plans(store) == ()


def test_what_changes_in_the_middle_of_a_match_is_seen(store: Store, tmp_path: Path) -> None:
    """Somebody trims a scrap while it is being laid: nothing wrong is shown."""

    def laid_slowly(*arguments: Any, **more: Any) -> Iterator[Any]:
        with store.change("test") as writer:
            writer.update_scrap(replace(writer.scrap(1), outline=box(0, 0, 3, 3)))
        return pack_all(*arguments, **more)

    with pytest.raises(PlanError, match="scrap 1 was changed while the match ran; match again"):
        match_project(store, project(tmp_path, 12), settings=SETTINGS, pack_all=laid_slowly)


def test_a_plan_that_was_cut_is_closed_and_its_cloth_used_up(store: Store, tmp_path: Path) -> None:
    """Six squares: the four ready-cut ones, and one scrap; the other stays as it is."""
    file = project(tmp_path, 6)
    keep(store, match_project(store, file, settings=SETTINGS), "pad 1")
    with store.read() as reader:
        (held,) = (scrap.id for scrap in reader.scraps(StockFilter(statuses=("set aside",))))
    with pytest.raises(PlanError, match=f"not cut yet of 'pad 1': scrap {held}"):
        finish_kept(store, "Pad 1")
    book_cut(store, look_at_cut(store, "pad 1", CutRequest(), SETTINGS), SETTINGS)
    done = finish_kept(store, "Pad 1")
    assert (done.scrap_ids, len(done.ready_ids)) == ((), 2)
    assert list_plans(store) == ()
    with store.read() as reader:
        statuses = {scrap.id: scrap.status for scrap in reader.scraps(StockFilter(statuses=()))}
        assert {n: statuses[n] for n in (1, 2)} == {held: "used up", 3 - held: "available"}
        assert {lot.status for lot in reader.ready_cut(StockFilter(statuses=()))} == {"used up"}
        assert reader.history()[0].what == "plan done"
    with pytest.raises(NotFoundError, match="none is kept"):
        finish_kept(store, "pad 1")


def test_only_what_was_still_set_aside_is_told_as_freed(store: Store, tmp_path: Path) -> None:
    plan = keep(store, match_project(store, project(tmp_path, 11), settings=SETTINGS))
    used, other = plan.scrap_ids
    # As older versions could leave a store.
    with closing(sqlite3.connect(store.database, isolation_level=None)) as connection:
        gone = "UPDATE scraps SET status='used up', set_aside_for=NULL WHERE id = ?"
        connection.execute(gone, (used,))
    assert release_kept(store, plan.name).scrap_ids == (other,)


def test_a_kept_plan_shows_the_very_answer(store: Store, tmp_path: Path) -> None:
    result = match_project(store, project(tmp_path, 6), settings=SETTINGS)
    keep(store, result)
    shown = plan_out(show_plan(store, "bench pad"))
    assert shown.answer is not None
    assert shown.answer.model_dump_json() == match_out(result).model_dump_json()


def test_sheets_of_a_kept_plan_are_those_of_the_match(store: Store, tmp_path: Path) -> None:
    """To the last byte, also when the lot was split and the settings have changed since."""
    with store.change("test") as writer:
        cloth = writer.add_fabric(NewFabric(name="drill", family="blue", usable_width=40.0))
        writer.add_yardage(NewYardage(fabric=cloth, length=18.0))
        writer.update_ready_cut(replace(writer.ready_cut_lot(1), count=40, family="red"))
    file = project(tmp_path, 14)
    two = file.read_text("utf-8") + TWO_MORE
    file.write_text(two, encoding="utf-8")
    fine = Settings(ruler_step=1 / 16)
    result = match_project(store, file, settings=fine)
    make_sheets(store, result, fine, tmp_path / "first")
    keep(store, result, "bench", fine)
    keep(store, match_project(store, file, settings=SETTINGS), "later")
    sheets_again(store, "bench", Settings(units="cm"), tmp_path / "again")
    names = sorted(path.name for path in (tmp_path / "first").iterdir())
    assert sorted(path.name for path in (tmp_path / "again").iterdir()) == names
    assert any(name.endswith(".svg") for name in names)
    for name in names:
        first, again = ((tmp_path / f / name).read_bytes() for f in ("first", "again"))
        assert again == first, name


def test_a_kept_answer_is_whole_again(store: Store, tmp_path: Path) -> None:
    """Field by field the result of the match, its things as the store has them now."""
    with store.change("test") as writer:
        writer.add_scrap(NewScrap(outline=box(0, 0, 2.4, 2.4), family="blue"))
    result = match_project(store, project(tmp_path, 40), settings=SETTINGS)
    assert result.misses
    assert result.changes
    keep(store, result, "bench", SETTINGS)
    _, again, then = answer_again(store, "bench", SETTINGS)
    assert again is not None
    assert then == SETTINGS
    for field in fields(result):
        if field.name not in ("cuts", "ready"):
            assert getattr(again, field.name) == getattr(result, field.name), field.name
    for before, after in zip(result.cuts, again.cuts, strict=True):
        assert replace(after, scrap=before.scrap) == before
        assert after.scrap == replace(before.scrap, status="set aside", set_aside_for="bench")


def test_a_plan_that_an_older_version_kept_still_opens(
    store: Store,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Its answer is shown as that version wrote it; that there are no sheets is said."""
    document = json.loads(OLD_PLAN.read_text("utf-8"))
    with store.change("test") as writer:
        keep_plan(writer, NewPlan(name="old", project="Pad", document=document, scrap_ids=(1,)))
    assert list_plans(store)[0].scrap_ids == (1,)
    answer = plan_out(show_plan(store, "old")).answer
    assert answer is not None
    assert answer.scraps[0].counts == {"square": 4}
    plan, result, _ = answer_again(store, "old", SETTINGS)
    assert (plan.name, result) == ("old", None)
    with pytest.raises(PlanError, match=r"kept by another version.*release it and match again"):
        sheets_again(store, "old", SETTINGS, tmp_path / "sheets")
    monkeypatch.setenv("SCRAPSTORE_STORE", str(store.folder))
    shown = Program(capsys, monkeypatch)("plan", "show", "old").out
    assert "6 of 12 pieces are covered" in shown
    assert "ready-cut pieces no. 1: 2 square" in shown
    assert "You have 4 in of drill (length 1)" in shown


@pytest.mark.parametrize("kept", [{}, [], 3, {"result": 3}, {"result": {"cuts": [{}]}}])
def test_an_answer_that_cannot_be_read_again_is_shown_as_written(
    store: Store, tmp_path: Path, kept: object
) -> None:
    plan = keep(store, match_project(store, project(tmp_path, 6), settings=SETTINGS))
    document = json.dumps({**plan.document, "kept": kept})
    with closing(sqlite3.connect(store.database, isolation_level=None)) as connection:
        connection.execute("UPDATE plans SET document = ?", (document,))
    again, result, then = answer_again(store, plan.name, SETTINGS)
    assert (again.name, result, then) == (plan.name, None, SETTINGS)


def test_what_is_said_claims_no_more_than_is_proven(store: Store, tmp_path: Path) -> None:
    """Two scraps of 5 × 5 in give four squares of 2 1/2 in each, to the last square inch."""
    all_of_it = match_project(store, project(tmp_path, 12), settings=SETTINGS)
    assert statement(all_of_it) == "All 12 pieces are covered."
    short = match_project(store, project(tmp_path, 20), settings=SETTINGS)
    assert statement(short) == (
        "12 of 20 pieces are covered. However they are cut, your scraps and ready-cut pieces "
        "cannot cover more (proven)."
    )
    with store.change("test") as writer:
        writer.add_scrap(NewScrap(outline=box(0, 0, 3, 6.25 / 3 * 2 - 0.1), family="blue"))
        writer.add_scrap(NewScrap(outline=box(0, 0, 4.9, 4.9), family="blue"))
    open_question = match_project(store, project(tmp_path, 30), settings=SETTINGS)
    assert open_question.together.covered < open_question.together.at_most
    assert "was not found" in statement(open_question)


def test_projects_are_ranked_by_what_the_store_covers(store: Store, tmp_path: Path) -> None:
    folder = tmp_path / "projects"
    folder.mkdir()
    project(folder, 24, "half blue")
    project(folder, 12, "all blue")
    project(folder, 4, "red", family="red")
    (folder / "broken.toml").write_text("format = 1\nname = 3\n", encoding="utf-8")
    ranked, faulty = rank_projects(store, folder, settings=SETTINGS)
    out = ranking_out(ranked, faulty)
    assert [(one.project, one.share) for one in out.projects] == [
        ("all blue", 1.0), ("half blue", 0.5), ("red", 0.0),
    ]  # fmt: skip
    assert [bool(one.yardage) for one in out.projects] == [False, True, True]
    assert len(faulty) == 1
    assert "broken.toml" in faulty[0]
    with pytest.raises(ProjectError, match="holds no project file"):
        rank_projects(store, tmp_path / "nowhere", settings=SETTINGS)
