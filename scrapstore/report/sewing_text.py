"""A sewing order in words, for somebody at the machine."""

from collections.abc import Iterator, Sequence
from typing import Final

from scrapstore.designs import METHODS
from scrapstore.designs.sewing import Batch, Bend, Join, Side, seam_test
from scrapstore.planning.sewing import SewingPlan
from scrapstore.sentences import several
from scrapstore.units import Units, format_about, format_length

__all__ = [
    "SEWING_CAUTIONS",
    "batch_words",
    "bend_words",
    "count_line",
    "how_to_sew",
    "join_words",
    "kinds_words",
    "letter_line",
    "made_words",
    "measure_words",
    "nest_line",
    "pin_words",
    "press_words",
    "pressed_both_ways",
    "seam_test_line",
    "set_in_lines",
    "turn_words",
]

SEWING_CAUTIONS: Final = (
    "Iron: it burns; press, do not leave it on, and unplug it when you go. Needle: keep fingers "
    "clear of it, and switch the machine off to thread it. Pins: take each out before the needle "
    "comes to it, and count them back in. Rotary cutter: close it whenever you lay it down. Keep "
    "all of them from children and animals.",
    "The instructions of the makers of your machine, iron and cloth come first.",
)

_MOST_BENDS: Final = 12
"""So many seams that are set in are listed one by one."""
_ROW: Final = 5
"""So many points or more at equal distances are not listed one by one."""


def _count(count: int, thing: str) -> str:
    return f"1 {thing}" if count == 1 else f"{count} {thing}s"


def count_line(sewing: SewingPlan) -> str:
    """Return how many pieces, seams, and how many of them are set in, and whether that is least."""
    order = sewing.order
    pieces, seams = _count(len(sewing.design.pieces), "piece"), _count(order.seams, "seam")
    said = f"{sewing.project.name}: {pieces}, {seams}"
    if not order.set_in:
        return f"{said}, none set in."
    said = f"{said}, {order.set_in} set in"
    which = "no order that keeps its units" if order.units else "no order"
    if order.set_in == order.set_in_at_least:
        return f"{said}: {which} has fewer."
    return f"{said}; {which} has fewer than {order.set_in_at_least}."


def seam_test_line(seam: float, units: Units) -> str:
    """Return what to sew before the work, and what it must measure."""
    test = seam_test(seam, units)
    return (
        f"Seam test: sew three strips of {format_about(test.strip, units)} side by side and press "
        f"them: together they must measure {format_about(test.across, units)}. If they are "
        "narrower, sew a narrower seam; if wider, a wider one."
    )


def kinds_words(sewing: SewingPlan, batch: Batch) -> str:
    """Return what is sewn to what: ``6 × A + B, 12 × B + C``."""
    kinds = sewing.kinds(batch)
    many = len(kinds) > 1
    return ", ".join(
        f"{count} × {first} + {second}" if many and count > 1 else f"{first} + {second}"
        for (first, second), count in kinds.items()
    )


def pin_words(join: Join, units: Units, mark: float) -> str:
    """Return where to pin, along the seam from its start; empty where nothing meets."""
    marks = [meet.at for meet in join.meets]
    if not marks:
        return ""
    about = "" if all(_exact(at, units, mark) for at in marks) else "about "
    even = all(abs(at - marks[0] * k) < 1e-6 for k, at in enumerate(marks, 1))
    # Counted on from one that is rounded, the last would be far off.
    if even and not about and len(marks) >= _ROW:
        return f"every {format_about(marks[0], units, mark)}, {len(marks)} times"
    places = [_bare(at, units, mark).removesuffix(f" {units}") for at in marks]
    return f"{about}{several(places)} {units}"


def turn_words(join: Join, units: Units, mark: float) -> str:
    """Return where a seam that is set in turns; empty for a straight one."""
    turns = several([format_about(bend.at, units, mark) for bend in join.bends])
    return turns and f"turn at {turns}"


def pressed_both_ways(sewing: SewingPlan, batch: Batch) -> bool:
    """Return whether some joins of a batch are pressed to their first part, others not."""
    return len({sewing.order.join(number).press_to_first for number in batch.joins}) > 1


def press_words(sewing: SewingPlan, batch: Batch) -> str:
    """Return to which part the allowances of a batch are pressed."""
    to_first = sum(sewing.order.join(number).press_to_first for number in batch.joins)
    count = len(batch.joins)
    kinds = sewing.kinds(batch)
    if pressed_both_ways(sewing, batch):
        return f"{to_first} to first, {count - to_first} to second"
    ((first, second), *others) = kinds
    if others or first == second:
        return "to first" if to_first else "to second"
    return f"to {first if to_first else second}"


def measure_words(sides: Sequence[Side], seam: float, units: Units, mark: float) -> str:
    """Return what it must measure then, from raw edge to raw edge."""
    raw = [side.raw(seam) for side in sides]
    if len(raw) == 2:
        about = "" if all(_exact(each, units, mark) for each in raw) else "about "
        sizes = [_bare(each, units, mark) for each in raw]
        return f"{about}{sizes[0].rpartition(' ')[0]} × {sizes[1]}"
    if sides[0].how == "across":
        return f"{format_about(raw[0], units, mark)} across"
    return f"{format_about(raw[0], units, mark)} along"


def _bare(inches: float, units: Units, mark: float) -> str:
    return format_length(inches, units, mark).removeprefix("~")


def _exact(inches: float, units: Units, mark: float) -> bool:
    return not format_length(inches, units, mark).startswith("~")


def made_words(batch: Batch) -> str:
    """Return what comes of a batch: ``4 × block``."""
    return batch.makes if len(batch.joins) == 1 else f"{len(batch.joins)} × {batch.makes}"


def batch_words(sewing: SewingPlan, batch: Batch, units: Units, mark: float) -> str:
    """Return the whole of a batch in a few sentences."""
    join = sewing.order.join(batch.joins[0])
    count = len(batch.joins)
    chain = ", one after the other without cutting the thread between" if count > 1 else ""
    pins = pin_words(join, units, mark)
    meeting = len(join.meets)
    if (how := _from_squares(sewing, batch, units, mark)) is not None:
        what = f"Batch {batch.number}: make {made_words(batch)}, {kinds_words(sewing, batch)}."
        return f"{what} {how} Press {press_words(sewing, batch)}."
    said = [
        f"Batch {batch.number}: sew {made_words(batch)}{chain}: {kinds_words(sewing, batch)}, "
        f"a seam of {format_about(join.length, units, mark)} finished."
    ]
    if meeting:
        points = "1 point meets" if meeting == 1 else f"{meeting} points meet"
        said.append(f"{points}; pin at {pins} from the start.")
    if turns := turn_words(join, units, mark):
        said.append(f"It is set in: {turns}.")
    said.append(f"Press {press_words(sewing, batch)}.")
    return " ".join(said)


def _from_squares(sewing: SewingPlan, batch: Batch, units: Units, mark: float) -> str | None:
    """Return how the units of a batch are made where the piece list has squares for them."""
    order = sewing.order
    pieces = order.join(batch.joins[0]).pieces
    unit = next((unit for unit in order.units if pieces <= unit), None)
    if unit is None:
        return None
    needs = {need.name: need for need in sewing.project.pieces}
    makes = [needs[sewing.design.pieces[piece].piece].makes for piece in unit]
    each = {one.each for one in makes if one is not None}
    way = next((way for way in METHODS.values() if {*way.each.values()} == each), None)
    if way is None:
        return None
    if pieces != unit:
        whole = next(join.batch for join in order.joins if join.pieces == unit)
        return f"They come with batch {whole}, where whole units are made from squares."
    raw = [format_about(s.raw(sewing.project.seam_allowance), units, mark) for s in batch.sides]
    return way.how.format(trim=raw[0], trim_wide=raw[-1])


def join_words(sewing: SewingPlan, join: Join) -> tuple[str, str, str, str]:
    """Return of one join its number, both parts, and the part it is pressed to."""
    first, second = sewing.part_name(join.first), sewing.part_name(join.second)
    return f"{join.number}", first, second, f"to {first if join.press_to_first else second}"


def letter_line(sewing: SewingPlan) -> str:
    """Return what the letters stand for."""
    used = {piece.piece for piece in sewing.design.pieces}
    letters = sewing.project.letters.items()
    return "; ".join(f"{letter}: {name}" for name, letter in letters if name in used) + "."


def how_to_sew() -> str:
    """Say how the words of a batch are meant."""
    return (
        "Lay the first part to the left of the second, right sides up, with the seam between them "
        "upright: it starts at the bottom, and pins are counted from there along the seam line. "
        "Sizes to measure are raw: across, square from one side to the side parallel to it; along, "
        "the longest straight side between the points where its seam lines end."
    )


def nest_line(sewing: SewingPlan) -> str:
    """Return whether the allowances nest wherever seams meet."""
    meets = sewing.order.meets
    if not meets:
        return "No seams meet, so none need nest: press to the darker cloth where you can."
    failing = sorted({join.number for join, meet in meets if meet.opposed is False})
    many = sorted({join.number for join, meet in meets if meet.opposed is None})
    said = f"Seams meet at {_count(len(meets), 'point')}."
    if not failing and not many:
        return f"{said} At each their allowances lie to opposite sides, so that they nest."
    if failing:
        said += f" They cannot nest at seams {several([str(one) for one in failing])}: pin there."
    if many:
        said += (
            f" At seams {several([str(one) for one in many])} more come together than can oppose "
            "one another: press those open."
        )
    return f"{said} Everywhere else allowances lie to opposite sides, so that they nest."


def set_in_lines(sewing: SewingPlan, units: Units, mark: float) -> Iterator[str]:
    """Yield a sentence for each seam that is set in or sewn in part first, and how that is done."""
    bends = [(join, bend) for join in sewing.order.joins for bend in join.bends]
    yield from (bend_words(sewing, join, bend, units, mark) for join, bend in bends[:_MOST_BENDS])
    if len(bends) > _MOST_BENDS:
        yield (
            f"And {len(bends) - _MOST_BENDS} more: --sheet says with each batch where "
            "its seams turn, with a ring at the point; --json has them all."
        )
    if any(bend.partly is None for _, bend in bends):
        yield (
            "To set a seam in: mark the point where its seam lines cross on each piece. Sew from "
            "the edge to that point and stop with the needle down; turn the cloth there, or end "
            "off and begin anew, and sew on from it."
        )


def bend_words(sewing: SewingPlan, join: Join, bend: Bend, units: Units, mark: float) -> str:
    """Return where one bend is, with the pieces that meet at its point."""
    names = several([sewing.names[piece] for piece in bend.pieces])
    if bend.partly is not None:
        return (
            f"Partial seam: end seam {bend.partly} an inch before the point where {names} meet, "
            f"and leave the rest open. Sew the other part of seam {join.number} straight, then "
            f"close the open end of seam {bend.partly} on to the end."
        )
    return (
        f"Seam {join.number} is set in {format_about(bend.at, units, mark)} from its start, where "
        f"{names} meet."
    )
