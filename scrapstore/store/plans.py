"""Kept plans: what a plan takes is set aside with it, in one transaction, and freed with it.

Called inside `Store.change`, whose right to write is taken at once: of two processes that keep
plans over the same cloth, the second finds it taken and is told so. The table's own rules hold too.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from sqlalchemy import Select, Table, select

from scrapstore.errors import NotFoundError, PlanError, UsageError
from scrapstore.store.convert import form_of_row
from scrapstore.store.forms import NewReadyCut, ReadyCut, Scrap, Yardage
from scrapstore.store.held_strips import Held, NewHeld, end_strip, held_by
from scrapstore.store.models import (
    BINDING,
    PLAN_PIECES,
    PLAN_STOCK,
    PLANS,
    READY_CUT,
    SCRAPS,
    YARDAGE,
)
from scrapstore.store.plan_forms import NewPlan, Plan, PlanPiece
from scrapstore.store.reader import Reader, row_number
from scrapstore.store.writer import Writer

__all__ = ["finish_plan", "holding_plan", "keep_plan", "plan_named", "plans", "release_plan"]

_CLOSE: Final = 1e-6  # inches
_LEAST_LEFT: Final = 1 / 16
"""Inches; what is left of a length beyond a plan is no length when it is less."""


_KINDS: Final[dict[str, Table]] = {
    "scrap": SCRAPS, "ready-cut": READY_CUT, "yardage": YARDAGE, "binding": BINDING,
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class NewPieceRow(PlanPiece):
    """What became of a piece of the plan with this number."""

    plan_id: int


@dataclass(frozen=True, kw_only=True)
class PieceRow(NewPieceRow):
    """What became of a piece, as the store keeps it."""

    id: int


def plans(reader: Reader) -> tuple[Plan, ...]:
    """Return the kept plans in the order they were kept."""
    return _plans(reader, select(PLANS).order_by(PLANS.c.id))


def plan_named(reader: Reader, name: str) -> Plan:
    """Return the plan called `name` (or with that number); NotFoundError names those there are."""
    number = row_number(name)
    asked = [select(PLANS).where(PLANS.c.name == name.strip())]
    asked += [] if number is None else [select(PLANS).where(PLANS.c.id == number)]
    for query in asked:
        for plan in _plans(reader, query):
            return plan
    names = [row.name for row in reader.ask(select(PLANS.c.name).order_by(PLANS.c.id))]
    there = f"there are {', '.join(map(repr, names))}" if names else "none is kept"
    raise NotFoundError(f"no kept plan is called {name!r}; {there}")


def _plans(reader: Reader, query: Select[Any]) -> tuple[Plan, ...]:
    return tuple(
        form_of_row(
            Plan,
            row
            | _by_kind(held_by(reader, row["id"]))
            | {"pieces": {piece.label: piece for piece in piece_rows(reader, row["id"])}},
        )
        for row in reader.rows(PLANS, query)
    )


def piece_rows(reader: Reader, plan_id: int) -> list[PieceRow]:
    """Return what became of the pieces of a plan, of those that were to be cut already."""
    query = select(PLAN_PIECES).where(PLAN_PIECES.c.plan_id == plan_id)
    rows = reader.rows(PLAN_PIECES, query.order_by(PLAN_PIECES.c.id))
    return [form_of_row(PieceRow, row) for row in rows]


def _by_kind(held: list[Held]) -> dict[str, Any]:
    """Return the fields of `Plan` that say what it holds."""
    return {
        "scrap_ids": tuple(h.scrap_id for h in held if h.scrap_id is not None),
        "ready_ids": tuple(h.ready_cut_id for h in held if h.ready_cut_id is not None),
        "taken_from": {
            h.ready_cut_id: h.taken_from_id for h in held if h.ready_cut_id and h.taken_from_id
        },
        "yardage": {h.yardage_id: h.inches or 0.0 for h in held if h.yardage_id is not None},
        "binding_ids": tuple(h.binding_id for h in held if h.binding_id is not None),
    }


def holding_plan(reader: Reader, kind: str, number: int) -> str | None:
    """Return the name of the first kept plan that holds any of this thing; None without one.

    `kind` is ``scrap``, ``ready-cut``, ``yardage`` or ``binding``; no other kind is ever held.
    """
    held = reader.plans_holding(_KINDS[kind], number) if kind in _KINDS else ()
    return held[0] if held else None


def keep_plan(writer: Writer, plan: NewPlan) -> Plan:
    """Keep `plan` and set aside all that it takes; nothing of it is kept when anything is gone.

    Pieces of a ready-cut lot that are not all taken are counted off into a lot of their own.
    Raises PlanError, naming what is taken and by whom, and for a name that is taken.
    """
    if not plan.name.strip():
        raise UsageError("a kept plan needs a name; write for example --name 'bench 1'")
    if row_number(plan.name) is not None:
        msg = f"a plan called {plan.name!r} could be taken for the number of one; add a word"
        raise UsageError(msg)
    if writer.ask(select(PLANS.c.id).where(PLANS.c.name == plan.name)):
        msg = f"a plan is called {plan.name!r} already; release that one, or keep this under --name"
        raise PlanError(msg)
    scraps = [writer.scrap(number) for number in plan.scrap_ids]
    lots = [(writer.ready_cut_lot(number), count) for number, count in plan.ready.items()]
    lengths = [(writer.yardage_length(number), inches) for number, inches in plan.yardage.items()]
    _refuse_taken(writer, scraps, lots, lengths)
    number = writer.add_row(PLANS, plan)
    for scrap in scraps:
        writer.update_scrap(replace(scrap, status="set aside", set_aside_for=plan.name))
        writer.add_row(PLAN_STOCK, NewHeld(plan_id=number, scrap_id=scrap.id))
    for lot, count in lots:
        lot_id, home_id = _hold(writer, lot, count, plan.name)
        held = NewHeld(plan_id=number, ready_cut_id=lot_id, taken_from_id=home_id)
        writer.add_row(PLAN_STOCK, held)
    for length, inches in lengths:
        held = NewHeld(plan_id=number, yardage_id=length.id, inches=inches)
        writer.add_row(PLAN_STOCK, held)
    return plan_named(writer, plan.name)


def release_plan(writer: Writer, name: str) -> Plan:
    """Let go of a plan and free what is still set aside for it; return the plan with only that."""
    return _end_plan(writer, name, None)


def finish_plan(writer: Writer, name: str, left: Mapping[int, int]) -> Plan:
    """Let go of a plan whose pieces are sewn: they are used up.

    `left` maps lots to how many of their pieces were left over: those are free again. Return the
    plan with only what was still set aside. Raises PlanError while something of it is not cut.
    """
    plan = plan_named(writer, name)
    waiting = [f"scrap {number}" for number in plan.scrap_ids]
    waiting += [f"length {number}" for number in plan.yardage]
    if waiting:
        more = f" and {len(waiting) - 3} more" if len(waiting) > 3 else ""
        msg = (
            f"not cut yet of {plan.name!r}: {', '.join(waiting[:3])}{more}. Book what was cut "
            f"(cut {plan.name!r}); plan release {plan.name!r} frees all that was not"
        )
        raise PlanError(msg)
    return _end_plan(writer, name, left)


def _end_plan(writer: Writer, name: str, left: Mapping[int, int] | None) -> Plan:
    """Let go of a plan: its lots are free, or with `left` used up but for that many pieces."""
    plan = plan_named(writer, name)
    for piece in piece_rows(writer, plan.id):
        writer.remove_row(PLAN_PIECES, piece.id)
    scraps, lots = [], []
    for held in held_by(writer, plan.id):
        writer.remove_row(PLAN_STOCK, held.id)
        if held.scrap_id is not None:
            scrap = writer.scrap(held.scrap_id)
            if is_for(scrap, plan.name):
                writer.update_scrap(replace(scrap, status="available", set_aside_for=None))
                scraps.append(scrap.id)
        elif held.ready_cut_id is not None:
            lot = writer.ready_cut_lot(held.ready_cut_id)
            if not is_for(lot, plan.name):
                continue
            lots.append(lot.id)
            count = lot.count if left is None else left.get(lot.id, 0)
            _free(writer, lot, count, held.taken_from_id)
        elif held.binding_id is not None:
            end_strip(writer, held, sewn=left is not None)
    writer.remove_row(PLANS, plan.id)
    return replace(plan, scrap_ids=tuple(scraps), ready_ids=tuple(lots))


def _free(writer: Writer, lot: ReadyCut, count: int, home_id: int | None) -> None:
    """Make `count` pieces of a lot available again, in their old lot if that will do."""
    gone = replace(lot, status="used up", set_aside_for=None)
    if count == lot.count:
        _free_lot(writer, lot, home_id)
        return
    if count:
        free = replace(lot, count=count, status="available", set_aside_for=None)
        writer.add_ready_cut(free)
    writer.update_ready_cut(replace(gone, count=lot.count - count))


def take_off(writer: Writer, length: Yardage, inches: float) -> None:
    """Take `inches` off a length; one that is all gone is used up, its row as it was."""
    if length.promised or length.length - inches > _LEAST_LEFT:
        writer.update_yardage(replace(length, length=length.length - inches))
    else:
        writer.update_yardage(replace(length, status="used up", set_aside_for=None))


def _refuse_taken(
    reader: Reader,
    scraps: list[Scrap],
    lots: list[tuple[ReadyCut, int]],
    lengths: list[tuple[Yardage, float]],
) -> None:
    gone = [
        f"scrap {scrap.id} is {scrap.status}"
        + (f" for {scrap.set_aside_for!r}" if scrap.set_aside_for else "")
        for scrap in scraps
        if scrap.status != "available"
    ]
    gone += [
        f"scrap {scrap.id} is held by the plan {name!r}"
        for scrap in scraps
        if scrap.status == "available" and (name := holding_plan(reader, "scrap", scrap.id))
    ]
    for lot, count in lots:
        if lot.status != "available":
            whom = f" for {lot.set_aside_for!r}" if lot.set_aside_for else ""
            gone.append(f"ready-cut pieces no. {lot.id} are {lot.status}{whom}")
        elif lot.count < count:
            gone.append(f"of ready-cut pieces no. {lot.id} there are {lot.count}, not {count}")
    for length, inches in lengths:
        if length.status != "available":
            gone.append(f"length {length.id} is {length.status}")
        elif length.left < inches - _CLOSE:
            whom = ", ".join(repr(promise.plan) for promise in length.promised)
            promised = f" (the rest is promised to {whom})" if whom else ""
            has, wanted = (f"{round(value, 4):g} in" for value in (length.left, inches))
            gone.append(f"length {length.id} has {has} left{promised}, not {wanted}")
    if gone:
        more = f" and {len(gone) - 3} more" if len(gone) > 3 else ""
        msg = (
            f"the plan cannot be kept, its cloth was taken meanwhile: {'; '.join(gone[:3])}{more}. "
            "Nothing was changed; match again"
        )
        raise PlanError(msg)


def _hold(writer: Writer, lot: ReadyCut, count: int, name: str) -> tuple[int, int | None]:
    """Set `count` pieces aside; return the lot that holds them and the lot they came from."""
    if count == lot.count:
        writer.update_ready_cut(replace(lot, status="set aside", set_aside_for=name))
        return lot.id, None
    writer.update_ready_cut(replace(lot, count=lot.count - count))
    held = writer.add_ready_cut(replace(lot, count=count, status="set aside", set_aside_for=name))
    return held.id, lot.id


def _free_lot(writer: Writer, lot: ReadyCut, home_id: int | None) -> None:
    home = None if home_id is None else writer.ready_cut_lot(home_id)
    if home is None or home.status != "available" or not alike(home, lot):
        writer.update_ready_cut(replace(lot, status="available", set_aside_for=None))
        return
    writer.update_ready_cut(replace(home, count=home.count + lot.count))
    writer.update_ready_cut(replace(lot, count=0, status="used up", set_aside_for=None))


def alike(one: NewReadyCut, other: NewReadyCut) -> bool:
    """Whether two lots are the same pieces of the same cloth: one may have been put right since."""
    named = ("kind", "measures", "seam_allowance", "fabric", "family", "value", "place")
    same = all(getattr(one, field) == getattr(other, field) for field in named)
    return same and one.cut.equals_exact(other.cut, _CLOSE)


def is_for(thing: Scrap | ReadyCut, name: str) -> bool:
    """Return whether a thing is set aside for the plan called `name`."""
    return thing.status == "set aside" and thing.set_aside_for == name
