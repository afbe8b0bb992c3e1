"""Strips of yardage in words: what to cut, in which order, from what is at hand or to be bought."""

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from scrapstore.planning.allocate import OnHand, Shortage
from scrapstore.planning.purchases import Bolt, Purchase
from scrapstore.planning.strip_cuts import RoleCuttings, StripCuttings
from scrapstore.report.cut_words import cut_words
from scrapstore.report.ruler_words import labels_text
from scrapstore.sentences import several
from scrapstore.store import Yardage
from scrapstore.units import INCHES_PER_YARD, Units, format_cut, format_length, format_yards
from scrapstore.yardage import RolePlan, Run, Strip

__all__ = [
    "amount_text",
    "buy_text",
    "cheaper_text",
    "cloth_words",
    "hand_text",
    "role_words",
    "short_text",
    "strip_text",
]


def role_words(
    shortage: Shortage,
    letter: Mapping[str, str],
    units: Units,
    cuttings: RoleCuttings,
    *,
    most_steps: int | None = None,
) -> tuple[str, ...]:
    """Return all there is to say for one role, a sentence or a strip an entry.

    A strip that takes more than `most_steps` to cut is left to the sheets.
    """

    def strips(plan: RolePlan, plans: Sequence[StripCuttings]) -> list[str]:
        return [
            " ".join(
                [*strip_text(strip, plan, letter, units, how), *_steps(how, units, most_steps)]
            )
            for strip, how in zip(plan.strips, plans, strict=True)
        ]

    said = []
    for length, plans in zip(shortage.on_hand, cuttings.on_hand, strict=True):
        said.append(hand_text(length, letter, units))
        said += strips(length.plan, plans)
    if not shortage.buy:
        return tuple(said)
    said += [_promised_text(length, units) for length in shortage.promised]
    for one, plans in zip(shortage.purchases, cuttings.bought, strict=True):
        said.append(short_text(shortage, one, letter, units))
        said += strips(one.plan, plans)
        said += one.plan.too_long
    if shortage.nested is not None:
        said.append(_nested_text(shortage, shortage.nested, units))
    return (*said, *filter(None, [cloth_words(shortage)]))


def _nested_text(shortage: Shortage, nested: float, units: Units) -> str:
    """Say what the pieces would take off the bolt nested freely, beside the strips."""
    one = shortage.purchases[0]
    strips = one.plan.length if one.instead is None else one.instead.used
    if nested > strips - 1 / 8:
        return f"Nested freely, by template, they would take no less than {_up(strips, units)}."
    return (
        f"Nested freely, by template, they would take {_up(nested, units)} off the bolt instead of "
        f"{_up(strips, units)} in strips; there are no sheets for that."
    )


def _promised_text(have: Yardage, units: Units) -> str:
    """Say that a length would have done, and which plans hold it."""
    plans = " and ".join(sorted({repr(promise.plan) for promise in have.promised}))
    whole = f"{format_length(have.length, units)} of {have.fabric.name} (length {have.id})"
    if have.left < 1 / 16:
        return f"You have {whole}, but it is promised to {plans}."
    left = math.floor(have.left * 16) / 16
    return f"You have {whole}, promised to {plans} but for {format_length(left, units)}."


def _steps(cuttings: StripCuttings, units: Units, most: int | None) -> list[str]:
    """Return how to cut a strip up, cut by cut."""
    words = cut_words(cuttings[0], units)
    if most is not None and len(words.steps) > most:
        return [f"{len(cuttings[0].cuts)} cuts: the sheets tell and draw each."]
    said = [f"Cut {step.number}: {step.text}" for step in words.steps]
    return [*said, *filter(None, [words.by_template])]


def hand_text(length: OnHand, letter: Mapping[str, str], units: Units) -> str:
    """Say what a length at hand covers, and how much of it that takes."""
    have = length.yardage
    where = f", kept in {have.place}" if have.place else ""
    held = ", ".join(
        f"{_up(promise.inches, units)} of it promised to {promise.plan!r}"
        for promise in have.promised
    )
    where += f"; {held}" if held else ""
    before = f" (after {_up(length.before, units)} for the roles before)" if length.before else ""
    kept = (
        f", {_up(length.straightening, units)} of it for straightening the end"
        if length.straightening
        else ""
    )
    return (
        f"You have {format_length(have.length, units)} of {have.fabric.name} (length {have.id}"
        f"{where}): it covers {_counts(length.plan.pieces, letter)} and takes "
        f"{_up(length.takes, units)}{before}{kept}."
    )


def short_text(shortage: Shortage, one: Purchase, letter: Mapping[str, str], units: Units) -> str:
    """Say what is to be bought, and for what: `one` of the purchases."""
    plan = one.plan
    if not plan.strips:
        return f"Buy {buy_text(shortage, units)}."
    rest = "the rest, " if shortage.on_hand else ""
    what = amount_text(one, units)
    if one.further:
        what += " of the same fabric each" if one.fabrics > 1 else " of the same fabric"
    elif shortage.fabrics_to_buy > 1:
        what += f" each of {one.fabrics} fabrics" if one.fabrics > 1 else " of another fabric"
    each = " from each" if one.times > 1 else ""
    wide = format_length(plan.usable_width, units)
    said = f"Buy {what} for {rest}{_counts(plan.pieces, letter)}{each}: "
    if plan.bought_as != "length":
        why = "" if one.instead is None or one.further else f" {cheaper_text(one.instead, units)}"
        long, kept = _up(plan.length, units), _up(plan.straightening, units)
        return (
            f"{said}strips take {long} of it, and {kept} is kept for squaring it up"
            f"{_washed(plan)}; usable width {wide}.{why}"
        )
    return (
        f"{said}it takes {_up(plan.length, units)}, and {_up(plan.straightening, units)} is "
        f"kept for straightening the end{_washed(plan)}"
        + (f", {_up(plan.needed, units)} in all" if plan.shrinkage else "")
        + f"; usable width {wide}."
    )


def _washed(plan: RolePlan) -> str:
    return f", {plan.shrinkage * 100:g} % for shrinkage" if plan.shrinkage else ""


def cheaper_text(bolt: Bolt, units: Units) -> str:
    """Say what precuts are bought for."""
    length = f"{bolt.cm} cm" if units == "cm" else format_yards(bolt.yards * INCHES_PER_YARD)
    if bolt.cost is None or bolt.precuts_cost is None:
        return f"That is less cloth than {length} off the bolt."
    return (
        f"That is cheaper than {length} off the bolt: {bolt.precuts_cost:.2f}, not {bolt.cost:.2f}."
    )


def buy_text(shortage: Shortage, units: Units) -> str:
    """Return in a few words what to buy for one role."""
    if not shortage.buy:
        return "nothing: what you have is enough"
    each: list[tuple[list[str], int]] = []
    for one in shortage.purchases:
        what = amount_text(one, units) if one.plan.strips else "a wider fabric"
        if one.further:
            each[-1][0].append(what)
        else:
            each.append(([what], one.fabrics))
    amounts = Counter[str]()
    for some, fabrics in each:
        amounts[several(some)] += fabrics
    if shortage.fabrics_to_buy == 1:
        return next(iter(amounts))
    parts = [
        f"{what} {f'each of {number}' if number > 1 else 'of another' if at else 'of one'}"
        for at, (what, number) in enumerate(amounts.items())
    ]
    return several(parts) + (" different" if len(parts) == 1 else ", all different") + " fabrics"


def amount_text(one: Purchase, units: Units) -> str:
    """Return what to buy of one fabric: ``3/8 yd``, ``40 cm`` or ``2 fat quarters``."""
    plan = one.plan
    if plan.bought_as != "length":
        return f"{one.count} {plan.bought_as}{'s' if one.count > 1 else ''}"
    # format_yards rounds up, and buy_yards is already on an eighth.
    return f"{plan.buy_cm} cm" if units == "cm" else format_yards(plan.buy_yards * INCHES_PER_YARD)


def strip_text(
    strip: Strip,
    plan: RolePlan,
    letter: Mapping[str, str],
    units: Units,
    cuttings: StripCuttings,
) -> tuple[str, str]:
    """Return which strip to cut, and what comes from it.

    `cuttings` are the plans of all strips that are cut alike: the first one's labels stand for it.
    """
    several = strip.times > 1
    step = strip.cutting.step
    width = _mark(strip.width, units, step)
    if plan.along_grain:
        size = f"{width} × {_mark(plan.strip_length, units, step)}, along the lengthwise grain"
    elif plan.bought_as != "length":
        size = f"{width} × {_mark(plan.strip_length, units, step)}, across the {plan.bought_as}"
    else:
        size = f"{width} × WOF"
    title = (
        f"Cut {strip.times} strip{'s' if several else ''} {size}, and straighten "
        f"{'their left ends' if several else 'the left end'}:"
    )
    text = f"{'each' if several else 'it'} gives {_runs(strip.runs, letter)}"
    others = [piece.label for one in cuttings[1:] for piece in one.pieces]
    alike = (
        f" The labels are those of the first strip; {labels_text(others)} are cut alike."
        if others
        else ""
    )
    if strip.rest is None:
        return title, f"{text}.{alike}"
    narrow = Counter(
        f"{_mark(one.width, units, step)} wide for {_runs(one.runs, letter)}"
        for one in strip.rest.strips
    )
    cut = "; ".join(f"{n} strip{'s' if n > 1 else ''} {what}" for what, n in narrow.items())
    return title, f"{text}; from what is left at the right, cut along it, come {cut}.{alike}"


def _runs(runs: Sequence[Run], letter: Mapping[str, str]) -> str:
    return ", then ".join(f"{len(run.outlines)} {letter[run.piece]} {run.piece}" for run in runs)


def _mark(inches: float, units: Units, step: float) -> str:
    """Return a figure on a mark of the user's ruler as it is.

    A length of cloth that is all used may lie beside a mark; it is rounded up to 1/64 in.
    """
    on_mark = abs(inches / step - round(inches / step)) < 1e-6
    return format_cut(inches, units, step if on_mark else 1 / 64)


def _up(inches: float, units: Units) -> str:
    """Return a length of fabric, rounded up to a mark: it never comes out too short."""
    return format_cut(inches, units, 1 / 16)


def _counts(pieces: Mapping[str, int], letter: Mapping[str, str]) -> str:
    return ", ".join(f"{count} {letter[name]}" for name, count in pieces.items())


def cloth_words(shortage: Shortage) -> str:
    """Say which conditions the cloth to be bought must keep; nothing where there are none."""
    rule = shortage.rule
    must = [
        f"{verb} {_or(words)}"
        for verb, words in (
            ("be called", rule.fabrics),
            ("be", rule.families),
            ("be", rule.values),
            ("be of", rule.fibres),
            ("be like scrap", rule.scraps),
        )
        if words
    ]
    if shortage.other_than:
        must.append(f"not be {_or(shortage.other_than)}, of which the plan has its share")
    if rule.same_fabric_sets:
        must.append(f"give each piece in sets of {rule.same_fabric_sets} from one fabric")
    said = [f"The cloth must {several(must)}."] if must else []
    if shortage.one_way:
        said.append("It may be a one-way print: lay all strips the same way round.")
    return " ".join(said)


def _or(words: Iterable[str] | Iterable[int]) -> str:
    return several([str(word) for word in sorted(words)], "or")
