"""Several answers to one project, side by side for a terminal."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from scrapstore.cli.base import Call
from scrapstore.cli.tables import Shown, stack, table

if TYPE_CHECKING:
    from scrapstore.planning.result import MatchResult

__all__ = ["answers_text"]


def answers_text(results: Sequence["MatchResult"], asked: int, call: Call) -> Shown:
    """Return a table with a column for each answer, and what it rests on.

    `asked` is how many answers were asked for; it is said when fewer are different enough.
    """
    from scrapstore.matching import DIFFER
    from scrapstore.planning.compare import figures
    from scrapstore.report.answer_text import can_make
    from scrapstore.report.yardage_text import buy_text

    shown = figures(results)
    heads = [f"answer {number}" for number in range(1, len(results) + 1)]
    wanted = results[0].together.wanted
    rows = [
        ("pieces covered", *(f"{one.covered} of {wanted}" for one in shown)),
        ("scraps to fetch", *(str(one.scraps) for one in shown)),
        ("fabrics", *(str(one.fabrics) for one in shown)),
        ("area of these scraps", *(_area(one.cloth, call) for one in shown)),
        ("area cut from them", *(_area(one.cut, call) for one in shown)),
        ("cuts with the ruler", *(str(one.cuts) for one in shown)),
    ]
    rows += [
        (f"scraps for {role}", *(", ".join(map(str, one.sources[role])) or "none" for one in shown))
        for role in shown[0].sources
    ]
    rows.append(
        (
            "to buy",
            *(
                "; ".join(
                    f"{short.plan.role}: {buy_text(short, call.units)}"
                    for short in result.shortages
                )
                or "nothing"
                for result in results
            ),
        )
    )
    for number in range(len(results) - 1):
        shares = [f"{one.unlike[number]:.0%}" if len(one.unlike) > number else "" for one in shown]
        rows.append((f"differs from {number + 1} by", *shares))
    parts: list[Shown] = [results[0].project.name]
    parts += [
        f"{head.capitalize()}: {can_make(one, call.units)}"
        for head, one in zip(heads, results, strict=True)
    ]
    parts.append("")
    parts.append(table(("", *heads), rows))
    parts.append(
        f"The answers differ from one another in at least {DIFFER:.0%} of the area cut from "
        "scraps: other pieces, or from other scraps."
    )
    if len(results) < asked:
        parts.append(
            f"Asked for {asked}: no further plan was found that differs so much and covers "
            "nearly as much."
        )
    return stack(*parts)


def _area(square_inches: float, call: Call) -> str:
    if call.units == "cm":
        return f"{square_inches * 2.54**2:.0f} sq cm"
    return f"{square_inches:.0f} sq in"
