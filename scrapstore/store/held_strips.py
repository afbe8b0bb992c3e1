"""What plans hold, as rows; and binding strips among it, which are set aside and used up.

Called inside `Store.change`, as `scrapstore.store.plans`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from sqlalchemy import select

from scrapstore.errors import PlanError
from scrapstore.store.convert import form_of_row
from scrapstore.store.forms import NewBindingStrip, Status, StripRest
from scrapstore.store.models import PLAN_STOCK
from scrapstore.store.reader import Reader
from scrapstore.store.writer import Writer

__all__ = ["Held", "NewHeld", "end_strip", "free_strips", "held_by", "hold_strips", "use_strips"]


@dataclass(frozen=True, kw_only=True)
class NewHeld:
    """A scrap, a lot, a strip, or so many inches of a length that a plan holds, by its number.

    `rests` is what is left of the strip once it is sewn.
    """

    plan_id: int
    scrap_id: int | None = None
    ready_cut_id: int | None = None
    taken_from_id: int | None = None
    yardage_id: int | None = None
    inches: float | None = None
    binding_id: int | None = None
    rests: tuple[StripRest, ...] | None = None


@dataclass(frozen=True, kw_only=True)
class Held(NewHeld):
    """What a plan in the store holds."""

    id: int


def held_by(reader: Reader, plan_id: int) -> list[Held]:
    """Return what a plan holds."""
    query = select(PLAN_STOCK).where(PLAN_STOCK.c.plan_id == plan_id).order_by(PLAN_STOCK.c.id)
    return [form_of_row(Held, row) for row in reader.rows(PLAN_STOCK, query)]


def hold_strips(
    writer: Writer, plan_id: int, name: str, rests: Mapping[int, tuple[StripRest, ...]]
) -> None:
    """Set binding strips aside for the plan `name`, in place of those it held before.

    `rests` has, by the number of each strip, what is left of it once it is sewn. Raises PlanError
    where one is not free.
    """
    free_strips(writer, plan_id)
    for number, left in rests.items():
        strip = writer.binding_strip(number)
        if strip.status != "available":
            whom = f" for {strip.set_aside_for!r}" if strip.set_aside_for else ""
            msg = f"binding strip {number} is {strip.status}{whom}; nothing was kept, plan again"
            raise PlanError(msg)
        writer.update_binding_strip(replace(strip, status="set aside", set_aside_for=name))
        writer.add_row(PLAN_STOCK, NewHeld(plan_id=plan_id, binding_id=number, rests=left))


def free_strips(writer: Writer, plan_id: int) -> None:
    """Free the binding strips that a plan holds."""
    for held in held_by(writer, plan_id):
        if held.binding_id is not None:
            writer.remove_row(PLAN_STOCK, held.id)
            end_strip(writer, held, sewn=False)


def use_strips(writer: Writer, plan_id: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Use up the binding strips that a plan holds; return their numbers, and those of the rests."""
    used, rests = [], []
    for held in held_by(writer, plan_id):
        if held.binding_id is not None:
            writer.remove_row(PLAN_STOCK, held.id)
            used.append(held.binding_id)
            rests += end_strip(writer, held, sewn=True)
    return tuple(used), tuple(rests)


def end_strip(writer: Writer, held: Held, *, sewn: bool) -> list[int]:
    """Use a strip up whose row was taken out, or free it; return the numbers of its rests."""
    assert held.binding_id is not None
    strip = writer.binding_strip(held.binding_id)
    status: Status = "used up" if sewn else "available"
    writer.update_binding_strip(replace(strip, status=status, set_aside_for=None))
    if not sewn:
        return []
    made = []
    for rest in held.rests or ():
        left = NewBindingStrip(
            **rest._asdict(), fabric=strip.fabric, family=strip.family, value=strip.value,
            place=strip.place, note=strip.note,
        )  # fmt: skip
        made.append(writer.add_binding_strip(left).id)
    return made
