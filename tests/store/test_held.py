"""Nothing that a kept plan counts on changes unseen."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from shapely import box

from scrapstore.errors import StoreError
from scrapstore.store import (
    NewFabric,
    NewPlan,
    NewReadyCut,
    NewScrap,
    NewYardage,
    Store,
    Writer,
    keep_plan,
    open_store,
    release_plan,
)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """Scrap 1, lot 1 and 10 in of length 1 are held; all of them are of the one fabric."""
    with open_store(tmp_path / "store") as store:
        with store.change("test") as writer:
            fabric = writer.add_fabric(
                NewFabric(name="drill", fibre="linen", usable_width=40.0, family="blue")
            )
            writer.add_scrap(NewScrap(outline=box(0, 0, 5, 5), fabric=fabric, family="red"))
            lot = NewReadyCut(kind="square", label="square", cut=box(0, 0, 2.5, 2.5), count=6)
            writer.add_ready_cut(replace(lot, fabric=fabric))
            writer.add_yardage(NewYardage(fabric=fabric, length=18.0))
            writer.add_fabric(NewFabric(name="twill"))
            plan = NewPlan(
                name="bench", project="Bench", document={}, scrap_ids=(1,), ready={1: 6},
                yardage={1: 10.0},
            )  # fmt: skip
            keep_plan(writer, plan)
        yield store


def edit(writer: Writer, thing: str, **changes: Any) -> None:
    if changes.get("fabric") == "twill":
        changes["fabric"] = writer.fabric("twill")
    match thing:
        case "scrap":
            writer.update_scrap(replace(writer.scrap(1), **changes))
        case "ready":
            writer.update_ready_cut(replace(writer.ready_cut_lot(1), **changes))
        case "yardage":
            writer.update_yardage(replace(writer.yardage_length(1), **changes))
        case "fabric":
            writer.update_fabric(replace(writer.fabric("drill"), **changes))


@pytest.mark.parametrize(
    ("thing", "changes", "word"),
    [
        ("scrap", {"outline": box(0, 0, 4, 4)}, "outline"),
        ("scrap", {"flaws": (box(1, 1, 2, 2),)}, "flaws"),
        ("scrap", {"grain_deg": 90.0}, "grain"),
        ("scrap", {"margin": 0.5}, "margin"),
        ("scrap", {"uncertainty": 0.2}, "uncertainty"),
        ("scrap", {"family": "green"}, "family"),
        ("scrap", {"family": None}, "family"),
        ("scrap", {"fabric": None}, "fabric"),
        ("scrap", {"fabric": "twill"}, "fabric"),
        ("scrap", {"status": "used up", "set_aside_for": None}, ""),
        ("scrap", {"status": "available", "set_aside_for": None}, ""),
        ("scrap", {"set_aside_for": "another"}, ""),
        ("ready", {"count": 5}, "count"),
        ("ready", {"cut": box(0, 0, 2, 2)}, "outline"),
        ("ready", {"family": "green"}, "family"),
        ("ready", {"status": "used up", "set_aside_for": None}, ""),
        ("yardage", {"length": 9.9}, "length"),
        ("yardage", {"usable_width": 30.0}, "width"),
        ("yardage", {"fabric": "twill"}, "fabric"),
        ("yardage", {"status": "used up"}, ""),
        ("yardage", {"set_aside_for": "x", "status": "set aside"}, ""),
        ("fabric", {"family": "green"}, "family"),
        ("fabric", {"fibre": "cotton"}, "fibre"),
        ("fabric", {"fibre": None}, "fibre"),
        ("fabric", {"usable_width": 39.0}, "width"),
        ("fabric", {"one_way_print": True}, "one-way print"),
    ],
)
def test_what_could_break_a_plan_is_refused_until_it_is_released(
    store: Store, thing: str, changes: dict[str, Any], word: str
) -> None:
    counts = f", which counts on its {word}" if word else ""
    why = f"(is held by|is used by) the plan 'bench'{counts}; release that first: plan release"
    with pytest.raises(StoreError, match=why), store.change("test") as writer:
        edit(writer, thing, **changes)
    with store.change("test") as writer:
        release_plan(writer, "bench")
        edit(writer, thing, **changes)


@pytest.mark.parametrize(
    ("thing", "changes"),
    [
        ("scrap", {"note": "ironed", "place": "bin 2", "name": "sleeve", "accents": ("white",)}),
        ("scrap", {"family": "red", "value": "dark"}),  # as it was; and what was not known
        ("ready", {"note": "ironed", "place": "bin 2", "value": "dark"}),
        ("yardage", {"length": 10.0}),
        ("yardage", {"length": 27.0, "place": "shelf"}),
        ("fabric", {"name": "blue drill", "note": "soft", "washed": True, "retired": True}),
        ("fabric", {"value": "dark", "alike": True}),
    ],
)
def test_what_cannot_break_a_plan_is_written(
    store: Store, thing: str, changes: dict[str, Any]
) -> None:
    with store.change("edited") as writer:
        edit(writer, thing, **changes)
    with store.read() as reader:
        change, *_ = reader.history()
    assert change.what == "edited"
    (row,) = change.rows
    assert row.after is not None
    for name, value in changes.items():
        assert row.after[name] == (list(value) if isinstance(value, tuple) else value), name


def test_a_fabric_of_which_only_scraps_with_a_colour_of_their_own_are_held(store: Store) -> None:
    """The scrap is red itself: what colour its fabric is does not bear on the plan; its width
    does not either."""
    with store.change("test") as writer:
        release_plan(writer, "bench")
        keep_plan(writer, NewPlan(name="two", project="Two", document={}, scrap_ids=(1,)))
        edit(writer, "fabric", family="green", usable_width=30.0)
    with pytest.raises(StoreError, match="counts on its fibre"), store.change("test") as writer:
        edit(writer, "fabric", fibre="wool")
