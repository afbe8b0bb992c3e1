"""A plan of the binding in words."""

from collections.abc import Iterator, Sequence
from typing import Final

from scrapstore.finishing import BindingPlan, TopOutline, strip_width, strips_across
from scrapstore.planning.strip_supply import StripLength
from scrapstore.sentences import several
from scrapstore.store import Scrap
from scrapstore.units import INCHES_PER_CM, Units, format_about, format_cut

__all__ = [
    "BINDING_CAUTION",
    "binding_notes",
    "lacking_lines",
    "place_on_edge",
    "reach_line",
    "start_lines",
    "strip_rows",
]

BINDING_CAUTION: Final = (
    "An iron burns, a rotary cutter and needles cut and prick: keep them and loose pins from "
    "children, and follow the makers' instructions."
)
_MOST_LISTED: Final = 8
_NEARER: Final = 1 / 16
"""Inches that are worth another start."""
_SLOPES: Final = {45.0: "/", -45.0: "\\"}


def reach_line(plan: BindingPlan, strips: int, units: Units) -> str:
    """Return whether the strips there are reach: two decimals, which marks would round away."""
    in_units = 1.0 if units == "in" else 1 / INCHES_PER_CM

    def shown(inches: float) -> str:
        return f"{inches * in_units:.2f}"

    if not strips:
        return f"The binding needs {shown(plan.needed)} {units}, and there are no strips for it."
    said = f"The binding reaches {shown(plan.available)} and needs {shown(plan.needed)} {units}:"
    if plan.short:
        return f"{said} short {shown(max(plan.short, 0.005))}, do not sew."
    return f"{said} {shown(plan.spare)} to spare."


def lacking_lines(
    plan: BindingPlan,
    scraps: Sequence[Scrap],
    lengths: Sequence[StripLength],
    units: Units,
    mark: float,
    *,
    usual_width: float,
    bias: bool,
    some: bool,
) -> Iterator[str]:
    """Yield what is the shortest strip to cut and which cloth it can come from.

    `some`: there are strips already, and it is cut in addition.
    Where that is longer than fabric of the `usual_width` is wide, how many strips across it.
    """
    lacks = plan.extra or 0.0
    width, length = format_about(plan.width, units), format_cut(lacks, units, mark)
    on_bias, more = ", on the bias" if bias else "", " more" if some else ""
    if lacks <= usual_width or bias:
        yield f"Cut one{more} strip, {width} wide, {length} or longer, square ends{on_bias}."
    else:
        count = strips_across(lacks - plan.width, usual_width, plan.width)
        yield (
            f"Cut {count}{more} strips, {width} wide, across fabric that is "
            f"{format_about(usual_width, units)} wide, square ends; or one of {length} or longer."
        )
    listed = [
        f"scrap {scrap.id}, {scrap.title}" + (f" ({scrap.place})" if scrap.place else "")
        for scrap in scraps
    ]
    if listed:
        more = f"; and {len(listed) - _MOST_LISTED} more" if len(listed) > _MOST_LISTED else ""
        yield f"Long enough: {'; '.join(listed[:_MOST_LISTED])}{more}."
    else:
        yield "No scrap that these filters let through is long enough for it."
    for one in lengths[:_MOST_LISTED]:
        strips = "it" if one.count == 1 else f"{one.count} strips"
        yield (
            f"Length {one.yardage.id}, {one.yardage.fabric.name}, gives {strips} {one.way}: takes "
            f"{format_cut(one.takes, units, mark)} of it."
        )


def start_lines(
    plan: BindingPlan, best: BindingPlan | None, outline: TopOutline, units: Units
) -> Iterator[str]:
    """Yield where the binding starts and how near joins come to corners and hems.

    `best` is the plan with the best start, where `plan` has one that was asked for.
    """
    near = f"No join is nearer to a corner than {format_about(plan.clearance or 0.0, units)}"
    if plan.kept_off is not None:
        near += f", or to a lapped hem than {format_about(plan.kept_off, units)}"
    yield f"Start {place_on_edge(plan.joins[0], outline, units)}: there the ends meet. {near}."
    if best is None:
        return
    least, could = _margin(plan), _margin(best)
    if could > least + _NEARER:
        where = place_on_edge(best.joins[0], outline, units)
        yield f"Better: start {where}; then every join keeps {format_about(could, units)} off."
    else:
        yield "No better start was found."


def _margin(plan: BindingPlan) -> float:
    return min(each for each in (plan.clearance, plan.kept_off) if each is not None)


def place_on_edge(at: float, outline: TopOutline, units: Units) -> str:
    """Return a place on the edge as it is measured: from the corner before it, on its side."""
    before, side = 0.0, 0
    for side, length in enumerate(outline.sides):
        if at <= before + length or side == len(outline.sides) - 1:
            break
        before += length
    return f"{format_about(at - before, units)} after corner {side + 1}"


def strip_rows(
    plan: BindingPlan, outline: TopOutline, numbers: Sequence[int], units: Units
) -> Iterator[tuple[str, ...]]:
    """Yield for each strip in order: its number, how it lies, recuts, what to cut off, its start.

    `numbers` are those of the strips given to the plan.
    """
    for at, (strip, off) in enumerate(zip(plan.strips, plan.taken_off, strict=True)):
        recut = [
            f"{end} to {_SLOPES[slope]}"
            for end, slope in (("start", strip[2]), ("end", strip[3]))
            if slope is not None
        ]
        yield (
            str(numbers[strip.index]),
            "turned" if strip.turned else "as stored",
            ", ".join(recut),
            format_about(off, units) if off and plan.joins else "",
            _SLOPES[plan.slopes_deg[at]],
            place_on_edge(plan.joins[at], outline, units) if plan.joins else "",
        )


def binding_notes(
    plan: BindingPlan,
    outline: TopOutline,
    strips: Sequence[tuple[int, float]],
    *,
    seam: float,
    finished_width: float,
    units: Units,
    started: bool = False,
) -> Iterator[str]:
    """Yield, in a sentence each, what to mind; `strips` are number and width of those given.

    `started`: the start was asked for, so that a better one may be there.
    """
    used = [strips[placed.index] for placed in plan.strips]
    wider = [str(number) for number, width in used if width > plan.width + 1e-6]
    if wider:
        which = f"strip {wider[0]}" if len(wider) == 1 else f"strips {several(wider)}"
        yield (
            f"First cut {which} down to {format_about(plan.width, units)} wide, off the shorter "
            "edge: all strips must be as wide as the narrowest."
        )
    least = strip_width(finished_width, seam)
    if plan.width < least - 1e-6:
        yield (
            f"Strips {format_about(plan.width, units)} wide are too narrow: a double-fold binding "
            f"that finishes {format_about(finished_width, units)} takes "
            f"{format_about(least, units)}, and more for the batting."
        )
    if plan.joins and not plan.clear:
        near = _margin(plan)
        what = "a corner" if plan.kept_off is None else "a corner or a lapped hem"
        why = "" if started else ", and nothing better was found with these strips"
        yield (
            f"A join comes as near as {format_about(near, units)} to {what}{why}: you asked for "
            f"{format_about(plan.corner_clearance, units)}."
        )
    if plan.joins:
        yield from _sewing(plan, outline, seam, units)


def _sewing(plan: BindingPlan, outline: TopOutline, seam: float, units: Units) -> Iterator[str]:
    corners: dict[str, list[int]] = {}
    count = len(outline.sides)
    for side, stop in enumerate(plan.stops):
        corners.setdefault(format_about(stop, units), []).append((side + 1) % count + 1)
    stops = "; ".join(
        f"{length} before "
        + (
            "each corner"
            if len(corners) == 1
            else f"corner {several([str(corner) for corner in sorted(where)])}"
        )
        for length, where in corners.items()
    )
    yield (
        "Do not start at a corner, nor over a lapped hem: the ends would be joined where the cloth "
        "is thickest."
    )
    yield f"Stop sewing {stops}, where the seam lines cross, and fold the mitre."
    yield (
        f"To close: mark where the ends meet, add {format_about(2 * seam, units)} measured square "
        "to the slanted cut, and cut at the same slope."
    )
