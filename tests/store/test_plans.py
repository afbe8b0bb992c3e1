"""Kept plans: all or nothing, nothing promised twice, everything back when released."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from scrapstore.errors import NotFoundError, PlanError, StoreError, UsageError
from scrapstore.store import (
    NewFabric,
    NewPlan,
    NewReadyCut,
    NewScrap,
    NewYardage,
    Promise,
    StockFilter,
    Store,
    finish_plan,
    keep_plan,
    open_store,
    plan_named,
    plans,
    release_plan,
)
from tests.support.kept_plans import cut_and_finish
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


def test_releasing_a_plan_puts_everything_back(store: Store) -> None:
    keep(store, plan("bench 1", 1, 3, ready={1: 4}))
    with store.change("plan release") as writer:
        release_plan(writer, "bench 1")
    with store.read() as reader:
        assert [scrap.id for scrap in reader.scraps()] == [1, 2, 3]
        assert [(lot.id, lot.count) for lot in reader.ready_cut()] == [(1, 6)]
        assert plans(reader) == ()
        with pytest.raises(NotFoundError, match="none is kept"):
            plan_named(reader, "bench 1")


def test_pieces_go_back_to_their_lot_only_while_it_is_the_same(store: Store) -> None:
    """The rest of the lot was called another colour since: the released pieces are not."""
    keep(store, plan("bench 1", ready={1: 4}))
    with store.change("test") as writer:
        writer.update_ready_cut(replace(writer.ready_cut_lot(1), family="red"))
        release_plan(writer, "bench 1")
    with store.read() as reader:
        lots = [(lot.id, lot.count, lot.family) for lot in reader.ready_cut()]
    assert lots == [(1, 2, "red"), (2, 4, None)]


def test_releasing_leaves_alone_what_was_used_up_since(store: Store) -> None:
    """Older versions let a held scrap be used up."""
    keep(store, plan("bench 1", 1, 2))
    with closing(sqlite3.connect(store.database, isolation_level=None)) as connection:
        connection.execute("UPDATE scraps SET status='used up', set_aside_for=NULL WHERE id = 1")
    with store.change("plan release") as writer:
        release_plan(writer, "bench 1")
    with store.read() as reader:
        assert reader.scrap(1).status == "used up"
        assert reader.scrap(2).status == "available"


def test_a_plan_that_lacks_one_scrap_changes_nothing(store: Store) -> None:
    keep(store, plan("bench 1", 2))
    with pytest.raises(PlanError, match=r"scrap 2 is set aside for 'bench 1'.*match again"):
        keep(store, plan("bench 2", 1, 2, 3))
    with pytest.raises(PlanError, match=r"no\. 1 there are 6, not 7"):
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


@pytest.fixture
def shelf(tmp_path: Path) -> Iterator[Store]:
    """A store with 18 in and 9 in of one fabric."""
    with open_store(tmp_path / "shelf") as store:
        with store.change("test") as writer:
            fabric = writer.add_fabric(NewFabric(name="drill", usable_width=40.0))
            for inches in (18.0, 9.0):
                writer.add_yardage(NewYardage(fabric=fabric, length=inches))
        yield store


def of_length(name: str, **lengths: float) -> NewPlan:
    return NewPlan(
        name=name,
        project="Bench",
        document={},
        yardage={int(number[1:]): inches for number, inches in lengths.items()},
    )


def test_a_plan_holds_inches_of_a_length(shelf: Store) -> None:
    """The rest is there for the next one; nothing is promised twice; releasing frees them."""
    keep(shelf, of_length("one", n1=10.5))
    with shelf.read() as reader:
        length = reader.yardage_length(1)
        assert (length.status, length.length, length.left) == ("available", 18.0, 7.5)
        assert length.promised == (Promise("one", 10.5),)
        assert plan_named(reader, "one").yardage == {1: 10.5}
    with pytest.raises(PlanError, match=r"length 1 has 7.5 in left \(.*'one'\), not 16.5 in"):
        keep(shelf, of_length("two", n1=16.5, n2=1.0))
    keep(shelf, of_length("two", n1=7.5))
    with shelf.change("plan release") as writer:
        assert release_plan(writer, "one").yardage == {1: 10.5}
    with shelf.read() as reader:
        assert [length.left for length in reader.yardage()] == [10.5, 9.0]


def test_a_plan_that_is_done_shortens_its_lengths(shelf: Store) -> None:
    """A length that is gone is used up; what another plan holds stays."""
    keep(shelf, of_length("one", n1=10.5, n2=9.0))
    keep(shelf, of_length("two", n1=7.5))
    with shelf.change("plan done") as writer:
        with pytest.raises(PlanError, match="not cut yet of 'one': length 1, length 2"):
            finish_plan(writer, "one", {})
        cut_and_finish(writer, "one")
    with shelf.read() as reader:
        assert [(one.id, one.length, one.left) for one in reader.yardage()] == [(1, 7.5, 0.0)]
        assert reader.yardage_length(2).status == "used up"
    with shelf.change("plan done") as writer:
        cut_and_finish(writer, "two")
    with shelf.read() as reader:
        assert reader.yardage() == ()


def test_two_processes_never_promise_the_same_inches_twice(shelf: Store) -> None:
    folder = str(shelf.folder)
    answers = run_at_once(keep_length_in_process, [(folder, "one"), (folder, "two")])
    (told,) = [answer for answer in answers if answer is not None]
    assert isinstance(told, PlanError)
    assert "length 1 has 6 in left" in str(told)
    with shelf.read() as reader:
        assert len(plans(reader)) == 1


def keep_length_in_process(folder: str, name: str) -> None:
    with open_store(folder) as store:
        keep(store, of_length(name, n1=12.0))


@settings(max_examples=15, deadline=None)
@given(
    steps=st.lists(
        st.tuples(
            st.sampled_from(["keep", "keep", "release", "done", "edit"]),
            st.integers(0, 4),
            st.integers(1, 2),
            st.sampled_from([0.25, 3.0, 7.125, 1 / 3, 9.0, 17.9, 18.0]),
        ),
        max_size=12,
    )
)
def test_no_sequence_promises_more_than_there_is(
    steps: list[tuple[str, int, int, float]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Counted beside the store: cloth is there, promised, or cut, and never twice."""
    there, held = {1: 18.0, 2: 9.0}, dict[str, tuple[int, float]]()
    with open_store(tmp_path_factory.mktemp("shelf")) as store:
        with store.change("test") as writer:
            fabric = writer.add_fabric(NewFabric(name="drill"))
            for inches in there.values():
                writer.add_yardage(NewYardage(fabric=fabric, length=inches))
        for what, at, number, inches in steps:
            name = f"plan {at}"
            promised = sum(n for length, n in held.values() if length == number)
            try:
                with store.change(what) as writer:
                    if what == "keep":
                        keep_plan(writer, of_length(name, **{f"n{number}": inches}))
                    elif what == "edit":
                        length = writer.yardage_length(number)
                        writer.update_yardage(replace(length, length=inches))
                    else:
                        {"release": release_plan, "done": cut_and_finish}[what](writer, name)
            except (PlanError, NotFoundError, StoreError):
                fits = there[number] - promised >= inches - 1e-9
                assert not (what == "keep" and name not in held and fits)
                assert not (what in ("release", "done") and name in held)
                assert not (what == "edit" and inches > promised)
            else:
                if what == "keep":
                    assert name not in held
                    held[name] = (number, inches)
                elif what == "edit":
                    there[number] = inches if there[number] else 0.0
                else:
                    length_id, own = held.pop(name)
                    if what == "done":
                        rest = there[length_id] - own
                        there[length_id] = rest if rest > 1 / 16 else 0.0
            with store.read() as reader:
                lengths = {one.id: one for one in reader.yardage()}
                assert {n: one.length for n, one in lengths.items()} == pytest.approx(
                    {n: inches for n, inches in there.items() if inches}
                )
                for number, one in lengths.items():
                    own = sum(inches for n, inches in held.values() if n == number)
                    assert sum(p.inches for p in one.promised) == pytest.approx(own)
                    assert own <= one.length + 1e-6


@pytest.mark.parametrize("name", ["2", "#12"])
def test_a_plan_is_not_called_like_the_number_of_another(shelf: Store, name: str) -> None:
    with pytest.raises(UsageError, match="could be taken for the number of one"):
        keep(shelf, of_length(name, n1=1.0))
