"""Binding strips set aside with a plan, used up with their rests, freed; and taken back."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from scrapstore.errors import PlanError, StoreError
from scrapstore.store import (
    NewPlan,
    Store,
    StripRest,
    finish_plan,
    hold_strips,
    keep_plan,
    numbers_to_undo,
    open_store,
    plan_named,
    release_plan,
    use_strips,
)
from tests.support.stores import a_fabric, a_strip, tables

REST = StripRest(2.5, 1 / 3 + 5, 45.0, -45.0)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """Three strips; of the plan called bench the first two are held, the second with a rest."""
    with open_store(tmp_path / "store") as store:
        with store.change("test") as writer:
            strip = replace(a_strip(writer.add_fabric(a_fabric())), place="tin")
            for _ in range(3):
                writer.add_binding_strip(strip)
            plan = keep_plan(writer, NewPlan(name="bench", project="Bench", document={}))
            hold_strips(writer, plan.id, "bench", {1: (), 2: (REST,)})
        yield store


def _statuses(store: Store) -> list[str]:
    with store.read() as reader:
        return [reader.binding_strip(number).status for number in (1, 2, 3)]


def test_they_are_set_aside_and_do_not_change(store: Store) -> None:
    assert _statuses(store) == ["set aside", "set aside", "available"]
    with store.read() as reader:
        assert plan_named(reader, "bench").binding_ids == (1, 2)
        strip = reader.binding_strip(2)
    refused = pytest.raises(StoreError, match="binding strip 2 is held by the plan 'bench'")
    with refused, store.change("edit") as writer:
        writer.update_binding_strip(replace(strip, length=9.0))
    with store.change("edit") as writer:
        writer.update_binding_strip(replace(strip, place="drawer"))


def test_those_of_another_plan_are_not_free(store: Store) -> None:
    refused = pytest.raises(PlanError, match="binding strip 2 is set aside for 'bench'")
    with refused, store.change("finish") as writer:
        other = keep_plan(writer, NewPlan(name="couch", project="Couch", document={}))
        hold_strips(writer, other.id, "couch", {3: (), 2: ()})
    assert _statuses(store) == ["set aside", "set aside", "available"]


def test_others_may_take_their_place(store: Store) -> None:
    with store.change("finish") as writer:
        hold_strips(writer, plan_named(writer, "bench").id, "bench", {3: ()})
        assert plan_named(writer, "bench").binding_ids == (3,)
    assert _statuses(store) == ["available", "available", "set aside"]


def test_sewn_they_are_used_up_and_their_rests_are_strips(store: Store) -> None:
    before = tables(store.database)
    with store.change("finish") as writer:
        used, rests = use_strips(writer, plan_named(writer, "bench").id)
        assert (used, rests) == ((1, 2), (4,))
        rest = writer.binding_strip(4)
        assert (rest.width, rest.length, rest.start_slope_deg, rest.end_slope_deg) == REST
        assert rest.place == "tin"
        assert rest.fabric is not None
        assert plan_named(writer, "bench").binding_ids == ()
    assert _statuses(store) == ["used up", "used up", "available"]
    with store.read() as reader:
        numbers = numbers_to_undo(reader)
    store.undo(numbers)
    assert tables(store.database) == before


@pytest.mark.parametrize("sewn", [True, False])
def test_with_the_plan_they_are_freed_or_used_up(store: Store, sewn: bool) -> None:
    with store.change("end") as writer:
        if sewn:
            finish_plan(writer, "bench", {})
        else:
            release_plan(writer, "bench")
        found = [strip.length for strip in writer.binding_strips()]
    assert _statuses(store) == [*["used up" if sewn else "available"] * 2, "available"]
    assert found == ([40.0, REST.length] if sewn else [40.0] * 3)
