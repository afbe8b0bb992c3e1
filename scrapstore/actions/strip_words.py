"""Strips of yardage in words: what to cut, in which order, from what is at hand or to be bought."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

from shapely.affinity import translate

from scrapstore.actions.cloth_words import cloth_words
from scrapstore.actions.from_hand import OnHand, Purchase, Shortage
from scrapstore.shapes import piece_letters, sub_cuts
from scrapstore.units import Units, format_cut, format_exact, format_length, format_yards
from scrapstore.yardage import NarrowStrip, RolePlan, Run, Strip

if TYPE_CHECKING:
    from scrapstore.actions.match import MatchResult

__all__ = ["buy_text", "hand_text", "letters", "role_words", "short_text", "strip_text"]

_MARK: Final = 1 / 64
"""Strip widths lie on the marks of the user's ruler already; they are printed as they are."""


def letters(result: "MatchResult") -> dict[str, str]:
    """Return the letters that stand for each line of the piece list."""
    return piece_letters([piece.name for piece in result.project.pieces])


def role_words(shortage: Shortage, letter: Mapping[str, str], units: Units) -> tuple[str, ...]:
    """Return all there is to say for one role, a sentence or a strip an entry."""
    said = []
    for length in shortage.on_hand:
        said.append(hand_text(length, letter, units))
        said += [" ".join(strip_text(s, length.plan, letter, units)) for s in length.plan.strips]
    if not shortage.buy:
        return tuple(said)
    for one in shortage.purchases:
        said.append(short_text(shortage, one, letter, units))
        said += [" ".join(strip_text(strip, one.plan, letter, units)) for strip in one.plan.strips]
        said += one.plan.too_long
    return (*said, *filter(None, [cloth_words(shortage)]))


def hand_text(length: OnHand, letter: Mapping[str, str], units: Units) -> str:
    """Say what a length at hand covers, and how much of it that takes."""
    have = length.yardage
    where = f", kept in {have.place}" if have.place else ""
    held = ", ".join(
        f"{_up(promise.inches, units)} of it promised to {promise.plan!r}"
        for promise in have.promised
    )
    where += f"; {held}" if held else ""
    before = (
        f" (after {format_length(length.before, units)} for the roles before)"
        if length.before
        else ""
    )
    kept = (
        f", {format_length(length.straightening, units)} of it for straightening the end"
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
    what = _amount(plan, units)
    if shortage.fabrics_to_buy > 1:
        what += f" each of {one.fabrics} fabrics" if one.fabrics > 1 else " of another fabric"
    each = " from each" if one.fabrics > 1 else ""
    return (
        f"Buy {what} for {rest}{_counts(plan.pieces, letter)}{each}: it takes "
        f"{_up(plan.length, units)}, and {format_length(plan.straightening, units)} is "
        f"kept for straightening the end; usable width {format_length(plan.usable_width, units)}."
    )


def buy_text(shortage: Shortage, units: Units) -> str:
    """Return in a few words what to buy for one role."""
    if not shortage.buy:
        return "nothing: what you have is enough"
    amounts = Counter[str]()
    for one in shortage.purchases:
        amounts[_amount(one.plan, units) if one.plan.strips else "a wider fabric"] += one.fabrics
    if shortage.fabrics_to_buy == 1:
        return next(iter(amounts))
    told = [
        f"{what} {f'each of {number}' if number > 1 else 'of another'}"
        for what, number in amounts.items()
    ]
    *first, last = told
    parts = f"{', '.join(first)} and {last}" if first else last
    return f"{parts} different fabrics" if len(told) == 1 else f"{parts}, all different fabrics"


def _amount(plan: RolePlan, units: Units) -> str:
    # format_yards rounds up, and buy_yards is already on an eighth.
    return f"{plan.buy_cm} cm" if units == "cm" else format_yards(plan.buy_yards * 36)


def strip_text(
    strip: Strip, plan: RolePlan, letter: Mapping[str, str], units: Units
) -> tuple[str, str]:
    """Return how to cut a strip, and what to sub-cut from it."""
    width = format_cut(strip.width, units, _MARK)
    if plan.along_grain:
        size = f"{width} × {_up(plan.length, units)}, its length on the lengthwise grain"
    else:
        size = f"{width} × WOF"
    several = strip.times > 1
    title = f"Cut {strip.times} strip{'s' if several else ''} {size}:"
    text = f"{'from each ' if several else ''}sub-cut {_runs(strip.runs, letter, units)}."
    if strip.rest is None:
        return title, text
    rest = f"{width} × {format_length(_down(strip.rest.end - strip.rest.start, units), units)}"
    cuts = "; ".join(_narrow(strip.rest.strips, letter, units))
    return title, f"{text} From the rest{' of each' if several else ''} ({rest}) cut {cuts}."


def _narrow(strips: Sequence[NarrowStrip], letter: Mapping[str, str], units: Units) -> list[str]:
    """Return what to cut from a rest, strips that are alike told once."""
    told: dict[tuple[str, str], int] = {}
    for strip in strips:
        own = [run for run in strip.runs if run.width == strip.width]
        said = _runs(own, letter, units)
        for run in strip.runs[len(own) :]:
            trimmed = format_cut(run.width, units, _MARK)
            said += f", then trim it to {trimmed} for {_run(run, letter, units)}"
        key = format_cut(strip.width, units, _MARK), said
        told[key] = told.get(key, 0) + 1
    return [
        f"{times} strip{'s' if times > 1 else ''} {width} wide: "
        f"{'from each ' if times > 1 else ''}{said}"
        for (width, said), times in told.items()
    ]


def _runs(runs: Sequence[Run], letter: Mapping[str, str], units: Units) -> str:
    return ", then ".join(_run(run, letter, units) for run in runs)


def _run(run: Run, letter: Mapping[str, str], units: Units) -> str:
    """Say how many pieces, and where the sub-cuts lie as far as they are even."""
    count = len(run.outlines)
    said = f"{count} {letter[run.piece]} {run.piece}"
    one = run.outlines[0]
    left, low, right, high = one.bounds
    spacing = right - left
    if abs(one.area - spacing * (high - low)) < 1e-6:
        return f"{said}, {'each ' if count > 1 else ''}{format_length(spacing, units)} long"
    if count == 1:
        return said
    spacing = run.outlines[1].bounds[0] - left
    if any(
        not translate(one, spacing * i).equals_exact(other, 1e-6)
        for i, other in enumerate(run.outlines)
    ):
        return f"{said}, every other one turned"
    cuts = sub_cuts(one, (spacing, 0.0))
    if cuts.apart is None:
        return f"{said}, cut at {cuts.slant_deg:.0f}°, one every {format_length(spacing, units)}"
    apart = format_length(cuts.apart, units)
    exact = f" (at least {format_exact(cuts.apart, units)})" if apart.startswith("~") else ""
    return f"{said}, cut at {cuts.slant_deg:.0f}°, {apart}{exact} from cut to cut"


def _down(inches: float, units: Units) -> float:
    """Return a length that may be reckoned with: rounded down to a mark."""
    per_inch = 25.4 if units == "cm" else 16.0
    return math.floor(inches * per_inch + 1e-6) / per_inch


def _up(inches: float, units: Units) -> str:
    """Return a length of fabric, rounded up to a mark: it is never told too short."""
    return format_cut(inches, units, 1 / 16)


def _counts(pieces: Mapping[str, int], letter: Mapping[str, str]) -> str:
    return ", ".join(f"{count} {letter[name]}" for name, count in pieces.items())
