"""Kept plans: all or nothing, nothing promised twice, everything back when dropped."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from shapely import box

from scrapstore.errors import NotFoundError, PlanError
from scrapstore.store import (
    NewPlan,
    NewReadyCut,
    NewScrap,
    StockFilter,
    Store,
    drop_plan,
    keep_plan,
    open_store,
    plan_named,
    plans,
)
from tests.support.processes import run_at_once


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "store") as store:
        with store.change("test") as writer:
            for _ in range(3):
                writer.add_scrap(NewScrap(outline=box(0, 0, 5, 5)))
            writer.add_ready_cut(
                NewReadyCut(kind="square", label="square, 2 in", cut=box(0, 0, 2.5, 2.5), count=6)
            )
        yield store


def plan(name: str, *scraps: int, ready: dict[int, int] | None = None) -> NewPlan:
    return NewPlan(
        name=name, project="Bench", document={"x": 1}, scrap_ids=scraps, ready=ready or {}
    )


def keep(store: Store, new: NewPlan) -> None:
    with store.change("plan keep") as writer:
        keep_plan(writer, new)


def test_what_a_plan_takes_is_set_aside_and_counted_off(store: Store) -> None:
    keep(store, plan("bench 1", 1, 3, ready={1: 4}))
    with store.read() as reader:
        assert [scrap.id for scrap in reader.scraps()] == [2]
        assert [(lot.id, lot.count) for lot in reader.ready_cut()] == [(1, 2)]
        held = plan_named(reader, "BENCH 1")
        assert held.scrap_ids == (1, 3)
        assert reader.ready_cut_lot(held.ready_ids[0]).count == 4
        assert reader.scrap(1).set_aside_for == "bench 1"
        assert held.document == {"x": 1}


def test_dropping_a_plan_puts_everything_back(store: Store) -> None:
    keep(store, plan("bench 1", 1, 3, ready={1: 4}))
    with store.change("plan drop") as writer:
        drop_plan(writer, "bench 1")
    with store.read() as reader:
        assert [scrap.id for scrap in reader.scraps()] == [1, 2, 3]
        assert [(lot.id, lot.count) for lot in reader.ready_cut()] == [(1, 6)]
        assert plans(reader) == ()
        with pytest.raises(NotFoundError, match="none is kept"):
            plan_named(reader, "bench 1")


def test_dropping_leaves_alone_what_was_used_up_since(store: Store) -> None:
    from dataclasses import replace

    keep(store, plan("bench 1", 1, 2))
    with store.change("cut") as writer:
        writer.update_scrap(replace(writer.scrap(1), status="used up", set_aside_for=None))
    with store.change("plan drop") as writer:
        drop_plan(writer, "bench 1")
    with store.read() as reader:
        assert reader.scrap(1).status == "used up"
        assert reader.scrap(2).status == "available"


def test_a_plan_that_lacks_one_scrap_changes_nothing(store: Store) -> None:
    keep(store, plan("bench 1", 2))
    with pytest.raises(PlanError, match=r"scrap 2 is set aside for 'bench 1'.*match again"):
        keep(store, plan("bench 2", 1, 2, 3))
    with pytest.raises(PlanError, match="lot 1 holds 6, not 7"):
        keep(store, plan("bench 2", 1, ready={1: 7}))
    with store.read() as reader:
        assert [scrap.id for scrap in reader.scraps()] == [1, 3]
        assert [kept.name for kept in plans(reader)] == ["bench 1"]


def test_a_name_serves_one_plan(store: Store) -> None:
    keep(store, plan("bench 1", 1))
    with pytest.raises(PlanError, match="called 'Bench 1' already"):
        keep(store, plan("Bench 1", 2))


def test_two_processes_never_promise_the_same_cloth_twice(store: Store) -> None:
    """Each wants scraps 1 and 2 or 2 and 3: one gets all of its scraps, the other is told."""
    folder = str(store.folder)
    answers = run_at_once(keep_in_process, [(folder, "one", 1, 2), (folder, "two", 2, 3)])
    failed = [answer for answer in answers if isinstance(answer, PlanError)]
    assert len(failed) == 1
    assert "scrap 2 is set aside for" in str(failed[0])
    with store.read() as reader:
        (kept,) = plans(reader)
        aside = reader.scraps(StockFilter(statuses=("set aside",)))
    assert [scrap.id for scrap in aside] == list(kept.scrap_ids)


def keep_in_process(folder: str, name: str, *scraps: int) -> None:
    with open_store(folder) as store:
        keep(store, plan(name, *scraps))
