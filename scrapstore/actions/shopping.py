"""``shopping``: one list for the shop, for projects and kept plans together."""

from collections.abc import Callable, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from pathlib import Path

from scrapstore.actions.match import match_loaded
from scrapstore.actions.plan import Named, project_or_plan
from scrapstore.matching import PackAll, pack_all
from scrapstore.planning.finish_needs import finish_needs
from scrapstore.planning.purchases import shop_of
from scrapstore.planning.scrap_cuts import MapAll
from scrapstore.planning.shopping import ShoppingFor, ShoppingList, shopping_list
from scrapstore.report.printed_file import checked_sheet
from scrapstore.report.shopping_file import write_shopping
from scrapstore.report.shopping_words import HeldByPlan, ShoppingSheet, shopping_sheet
from scrapstore.report.swatches import SwatchCard, asked_swatches, beside_swatches
from scrapstore.settings import Settings
from scrapstore.store import Plan, Reader, Scrap, StockFilter, Store, plans

__all__ = ["ShoppingResult", "shop_for"]


@dataclass(frozen=True)
class ShoppingResult:
    """The list, the colours of each of its lines, what other plans hold, and all of it in words.

    `file` is where it was written.
    """

    shopping: ShoppingList
    asked: tuple[tuple[SwatchCard, ...], ...]
    held: tuple[HeldByPlan, ...]
    sheet: ShoppingSheet
    file: Path | None = None


def shop_for(
    store: Store,
    names: Sequence[str],
    settings: Settings,
    file: Path | None = None,
    *,
    pack_all: PackAll = pack_all,
    map_all: MapAll = map,
    advance: Callable[[int, int], None] = lambda _done, _of: None,
) -> ShoppingResult:
    """Return what to buy for the projects and plans called `names`; write it to `file`.

    A kept plan counts as it was kept. Projects are matched one after the other, and what one takes
    is not offered to the next; the store is not changed. Raises as `project_or_plan`,
    `match_loaded` and `write_shopping` do.
    """
    if file is not None:
        checked_sheet(file)
    found = [project_or_plan(lambda: nullcontext(store), name, settings) for name in names]
    wanted: list[ShoppingFor] = []
    for number, named in enumerate(found):
        advance(number, len(found))
        result = named.result
        if result is None:
            unkept = [one.result for one in wanted if one.plan is None]
            (result,) = match_loaded(
                store, named.project, 1, settings=settings, why=False, pack_all=pack_all,
                map_all=map_all, spoken_for=unkept,
            )  # fmt: skip
        needs = finish_needs(named.project, settings)
        plan, bound = None, False
        if named.plan is not None:
            plan, bound = named.plan.name, bool(named.plan.binding_ids)
        wanted.append(ShoppingFor(_name(named, wanted), result, needs, plan, bound))
    advance(len(found), len(found))
    with store.read() as reader:
        shopping = shopping_list(
            wanted,
            shop_of(settings),
            reader.yardage(),
            reader.binding_strips(),
            [one for kind in ("batting", "form", "zip") for one in reader.notions(kind)],
        )
        held = tuple(
            _held(reader, plan)
            for plan in plans(reader)
            if plan.name not in {one.plan for one in wanted}
        )
        asked = _asked(reader, shopping)
    beside = [beside_swatches(one.result) for one in wanted]
    sheet = shopping_sheet(shopping, asked, beside, held, settings.page)
    written = None if file is None else write_shopping(sheet, file)
    return ShoppingResult(shopping, asked, held, sheet, written)


def _name(named: Named, before: Sequence[ShoppingFor]) -> str:
    """Return what a project is called on the list: no two are called alike."""
    name = named.plan.name if named.plan else named.project.name
    again = sum(one.name.partition(", no. ")[0] == name for one in before)
    return f"{name}, no. {again + 1}" if again else name


def _held(reader: Reader, plan: Plan) -> HeldByPlan:
    lengths = tuple(
        (reader.yardage_length(number).fabric.name, inches)
        for number, inches in plan.yardage.items()
    )
    return HeldByPlan(plan.name, len(plan.scrap_ids), len(plan.ready_ids), lengths)


def _asked(reader: Reader, shopping: ShoppingList) -> tuple[tuple[SwatchCard, ...], ...]:
    """Return the colours that each line of fabric is to match."""
    fabrics = {one.name: one for one in reader.fabrics()}
    rules = [line.parts[0].shortage.rule for line in shopping.fabrics]
    named = {name for rule in rules for name in rule.fabrics if name in fabrics}
    scraps: dict[str, tuple[Scrap, ...]] = {
        name: reader.scraps(StockFilter(fabrics=(name,), statuses=("available", "set aside")))
        for name in named
    }
    return tuple(asked_swatches(rule, scraps, fabrics) for rule in rules)
