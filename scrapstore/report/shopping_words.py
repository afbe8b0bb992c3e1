"""The shopping list in words: sections of lines, for the terminal, a page and paper."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from scrapstore.planning.allocate import OnHand
from scrapstore.planning.purchases import Length, Purchase, Shop
from scrapstore.planning.shopping import FabricLine, FinishLine, ShoppingFor, ShoppingList
from scrapstore.report.swatches import SwatchCard
from scrapstore.report.yardage_text import amount_text, buy_text, cheaper_text, cloth_words
from scrapstore.sentences import several
from scrapstore.store import Notion, Yardage
from scrapstore.units import (
    INCHES_PER_YARD,
    Paper,
    Units,
    format_cut,
    format_length,
    format_size,
    format_yards,
)

__all__ = ["HeldByPlan", "ShoppingEntry", "ShoppingSection", "ShoppingSheet", "shopping_sheet"]

_MOST_INSTEAD: Final = 3


@dataclass(frozen=True)
class HeldByPlan:
    """What a kept plan that is not on the list holds; `lengths` are inches by fabric."""

    plan: str
    scraps: int
    lots: int
    lengths: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class ShoppingEntry:
    """One line: with a box to tick off where `tick`, sentences below it, colours beside it."""

    text: str
    details: tuple[str, ...] = ()
    swatches: tuple[SwatchCard, ...] = ()
    tick: bool = False


@dataclass(frozen=True)
class ShoppingSection:
    """Lines under one heading."""

    title: str
    entries: tuple[ShoppingEntry, ...]


@dataclass(frozen=True)
class ShoppingSheet:
    """The whole list, to be shown or printed."""

    title: str
    sections: tuple[ShoppingSection, ...]
    paper: Paper


def shopping_sheet(
    shopping: ShoppingList,
    asked: Sequence[Sequence[SwatchCard]],
    beside: Sequence[Sequence[SwatchCard]],
    held: Sequence[HeldByPlan],
    paper: Paper,
) -> ShoppingSheet:
    """Return the list in words.

    `asked` are the colours of each line of fabric, `beside` the cloth that each project has.
    """
    units = shopping.shop.units
    buy = [_fabric(line, shopping.shop) for line in shopping.fabrics]
    buy += [_finish(line, shopping.shop) for line in shopping.finishing if line.buy]
    if not buy:
        buy = [ShoppingEntry("Nothing: what you have is enough.")]
    if shopping.price is not None and shopping.price > 0:
        buy.append(ShoppingEntry(f"All fabric together: {shopping.price:.2f}."))
    sections = [
        ShoppingSection("Buy", tuple(buy)),
        ShoppingSection("On hand", tuple(_on_hand(shopping, units))),
        ShoppingSection("Promised elsewhere", tuple(_promised(shopping, held, units))),
        ShoppingSection("Margins", tuple(map(ShoppingEntry, _margins(shopping.shop)))),
        ShoppingSection("Take a swatch", tuple(_swatches(shopping, asked, beside))),
    ]
    names = several([one.name for one in shopping.wanted])
    return ShoppingSheet(
        f"Shopping list: {names}", tuple(one for one in sections if one.entries), paper
    )


def length_text(length: Length, units: Units) -> str:
    """Return a length off the bolt: ``3/8 yd`` or ``40 cm``."""
    return f"{length.cm} cm" if units == "cm" else format_yards(length.yards * INCHES_PER_YARD)


def _fabric(line: FabricLine, shop: Shop) -> ShoppingEntry:
    units = shop.units
    first = line.parts[0].shortage
    roles = several([f"{part.shortage.role} ({part.project})" for part in line.parts])
    details = [cloth_words(first)]
    if line.together is not None:
        what = length_text(line.together, units)
        apart = several([buy_text(part.shortage, units) for part in line.parts])
        anew = several(
            [repr(part.project) for part in line.parts if part.shortage.plan.bought_as != "length"]
        )
        if anew:
            details.append(
                f"Strips across the whole width: match {anew} with --set fat_quarters=never for "
                "the sheets."
            )
        details += [
            f"Bought together: by themselves they are {apart}. Cut the strips of one "
            "after those of the other.",
            _takes(line.together, shop),
        ]
    else:
        what = buy_text(first, units)
        for one in first.purchases:
            details += list(_purchase(one, len(first.purchases) > 1, shop))
    return ShoppingEntry(f"{what}: {roles}", tuple(filter(None, details)), tick=True)


def _purchase(one: Purchase, several_purchases: bool, shop: Shop) -> Iterator[str]:
    plan, units = one.plan, shop.units
    if plan.too_long:
        yield from plan.too_long
    if not plan.strips:
        return
    about = f"{amount_text(one, units)}: " if several_purchases else ""
    if plan.bought_as == "length":
        length = Length(plan.length, plan.needed, plan.buy_yards, plan.buy_cm)
        yield about + _takes(length, shop)
        return
    yield (
        f"{about}Strips take {_up(plan.length, units)} of {'each' if one.count > 1 else 'it'}; "
        f"usable width {_up(plan.usable_width, units)}."
    )
    if one.instead is not None and not one.further:
        yield cheaper_text(one.instead, units)


def _takes(length: Length, shop: Shop) -> str:
    """Say what a length is cut into, with all that is lost, and what is to spare."""
    units = shop.units
    lost = [f"{_up(shop.straightening, units)} for straightening"] if shop.straightening else []
    lost += [f"{shop.shrinkage * 100:g} % for shrinkage"] if shop.shrinkage else []
    margin = f", {_up(length.needed, units)} with {several(lost)}" if lost else ""
    spare = shop.inches(length) - length.needed
    rest = f"; {_down(spare, units)} to spare" if spare >= 1 / 8 else ""
    return f"{_up(length.used, units)} needed{margin}{rest}."


def _finish(line: FinishLine, shop: Shop) -> ShoppingEntry:
    units = shop.units
    if line.kind == "batting":
        text, details = f"batting {format_size(line.size[0], line.size[1], units)}", [""]
    elif line.kind == "form":
        size = (
            format_size(line.size[0], line.size[1], units)
            if len(line.size) == 2
            else f"{format_length(line.size[0], units)} deep"
        )
        text, details = f"pillow form {size}", [""]
    elif line.kind == "zip":
        text = f"zip up to {_down(line.size[0], units)}, or a longer one to cut off"
        details = [""]
    else:
        assert line.length is not None  # else there is nothing to buy
        what = length_text(line.length, units)
        if line.kind == "backing":
            text = f"{what}: backing {format_size(line.size[0], line.size[1], units)}"
            pieced = f"In {line.panels} panels side by side. " if line.panels > 1 else ""
            details = [pieced + _takes(line.length, shop)]
        else:
            text, details = f"{what}: binding", _binding(line, shop)
        details += _instead(line, units)
    return ShoppingEntry(f"{text} ({line.project})", tuple(filter(None, details)), tick=True)


def _instead(line: FinishLine, units: Units) -> list[str]:
    """Say which lengths of the store it could be cut from: whether their cloth will do is seen."""
    named = [
        f"length {one.yardage.id}, {one.yardage.fabric.name} ({_up(one.takes, units)} of it)"
        for one in line.lengths[:_MOST_INSTEAD]
    ]
    return [f"Or cut it from what you have: {several(named, 'or')}."] if named else []


def _binding(line: FinishLine, shop: Shop) -> list[str]:
    units = shop.units
    around, wide = line.size
    assert line.length is not None
    have = f", {_down(line.on_hand, units)} on hand" if line.on_hand else ""
    if line.bias:
        how = f"bias strips {_up(wide, units)} wide, from a square {_up(line.length.used, units)}"
    else:
        s = "s" if line.strips > 1 else ""
        how = f"{line.strips} strip{s} {_up(wide, units)} × WOF"
    return [f"{_up(around, units)} round the edge{have}: {how}.", _takes(line.length, shop)]


def _on_hand(shopping: ShoppingList, units: Units) -> Iterator[ShoppingEntry]:
    for one in shopping.wanted:
        hands = [hand for shortage in one.result.shortages for hand in shortage.on_hand]
        binding = [
            f"{_down(line.on_hand, units)} of binding, joins taken off"
            for line in shopping.finishing
            if line.project == one.name and line.on_hand
        ]
        notions = [
            _notion(have, units)
            for line in shopping.finishing
            if line.project == one.name
            for have in line.have
        ]
        details = [*(_hand(hand, units) for hand in hands), *binding, *notions]
        have = _have(one)
        if have or details:
            text = f"{one.name}: {have or 'from yardage alone'}"
            yield ShoppingEntry(text, tuple(details))
    for here in shopping.here:
        length = here.yardage
        yield ShoppingEntry(
            f"{here.project}, {here.role}: {_down(length.left, units)} of {length.fabric.name} "
            f"(length {length.id}) would do, and no plan holds it; was it bought for this?"
        )


def _notion(have: Notion, units: Units) -> str:
    size = (
        format_length(have.length, units)
        if have.width is None
        else format_size(have.length, have.width, units)
    )
    where = f", kept in {have.place}" if have.place else ""
    return f"{have.kind} {size} (no. {have.id}{where})"


def _have(one: ShoppingFor) -> str:
    cuts, ready = len(one.result.cuts), sum(use.taken for use in one.result.ready)
    some = [f"{cuts} scrap{'s' if cuts > 1 else ''}"] if cuts else []
    some += [f"{ready} ready-cut piece{'s' if ready > 1 else ''}"] if ready else []
    return several(some)


def _hand(hand: OnHand, units: Units) -> str:
    have = hand.yardage
    where = f", kept in {have.place}" if have.place else ""
    return (
        f"{hand.plan.role}: {_up(hand.takes, units)} of the {format_length(have.length, units)} of "
        f"{have.fabric.name} (length {have.id}{where})"
    )


def _promised(
    shopping: ShoppingList, held: Sequence[HeldByPlan], units: Units
) -> Iterator[ShoppingEntry]:
    roles: dict[int, list[str]] = {}
    lengths: dict[int, Yardage] = {}
    for part in (part for line in shopping.fabrics for part in line.parts):
        for have in part.shortage.promised:
            lengths[have.id] = have
            roles.setdefault(have.id, []).append(f"{part.shortage.role} ({part.project})")
    for number, have in lengths.items():
        to = several(sorted({repr(promise.plan) for promise in have.promised}))
        yield ShoppingEntry(
            f"{format_length(have.length, units)} of {have.fabric.name} (length {number}) would "
            f"have done for {several(roles[number])}, but it is promised to {to}"
        )
    for one in held:
        some = [f"{one.scraps} scrap{'s' if one.scraps > 1 else ''}"] if one.scraps else []
        if one.lots:
            some.append(f"{one.lots} lot{'s' if one.lots > 1 else ''} of ready-cut pieces")
        some += [f"{_up(inches, units)} of {fabric}" for fabric, inches in one.lengths]
        if some:
            yield ShoppingEntry(f"{one.plan!r} holds {several(some)}")


def _margins(shop: Shop) -> Iterator[str]:
    units = shop.units
    step = "the shop's step" if shop.step is None else format_length(shop.step, units)
    if shop.step is None:
        step = "10 cm" if units == "cm" else "1/8 yd"
    yield (
        f"Each length: {_up(shop.straightening, units)} for straightening its end, "
        f"{shop.shrinkage * 100:g} % for shrinkage; rounded up to {step}."
    )
    if shop.shrinkage:
        yield "Lengths on hand count as much shorter, unless their fabric is noted as washed."
    if shop.precuts:
        why = "cost less" if shop.price_inch is not None else "are less cloth"
        yield (
            f"Fat quarters ({format_size(18, 22, units)}) and fat eighths "
            f"({format_size(9, 22, units)}) where they {why}: "
            f"{_up(shop.precut_straightening, units)} of each for squaring it up."
        )
        quarter, eighth = ("25 cm", "12.5 cm") if units == "cm" else ("1/4 yd", "1/8 yd")
        if shop.price_inch is not None and None in shop.prices.values():
            yield (
                f"A precut without a price counts as off the bolt: a fat quarter as {quarter}, a "
                f"fat eighth as {eighth}."
            )
    if shop.price_inch is None:
        yield "No prices are set: what is less cloth counts as cheaper."


def _swatches(
    shopping: ShoppingList,
    asked: Sequence[Sequence[SwatchCard]],
    beside: Sequence[Sequence[SwatchCard]],
) -> Iterator[ShoppingEntry]:
    roles: dict[tuple[SwatchCard, ...], list[str]] = {}
    for line, cards in zip(shopping.fabrics, asked, strict=True):
        if cards:
            names = [f"{part.shortage.role} ({part.project})" for part in line.parts]
            roles.setdefault(tuple(cards), []).extend(names)
    for cards, names in roles.items():
        yield _cards(f"{several(names)}: match", cards)
    shown = {part.project for line in shopping.fabrics for part in line.parts}
    for one, own in zip(shopping.wanted, beside, strict=True):
        if own and one.name in shown:
            yield _cards(f"{one.name}: goes beside", tuple(own))
    if any(card.scrap for cards in (*asked, *beside) for card in cards) and shown:
        yield ShoppingEntry("Take the scraps along: a printed colour is only near.")


def _cards(text: str, cards: tuple[SwatchCard, ...]) -> ShoppingEntry:
    return ShoppingEntry(text, tuple(card.words for card in cards), cards)


def _up(inches: float, units: Units) -> str:
    return format_cut(inches, units, 1 / 16)


def _down(inches: float, units: Units) -> str:
    """Return a length that is there, never longer than it is: in eighths, or millimetres."""
    mark = 1 / 25.4 if units == "cm" else 1 / 8
    return format_length(int(inches / mark + 1e-6) * mark, units)
