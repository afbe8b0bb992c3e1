"""What a list may be narrowed by. Conditions combine: all must hold; within one, any may."""

from dataclasses import dataclass

from scrapstore.store.forms import Status, Value

__all__ = ["StockFilter"]


@dataclass(frozen=True, kw_only=True)
class StockFilter:
    """Narrows a list of scraps, yardage, ready-cut pieces or binding strips.

    An empty tuple or None leaves that condition out. `families` holds for the family a thing reads
    as and for its accents, or else for its fabric's family. `at_least` is a rectangle's two sides
    in inches, either way round: the smallest rectangle round the thing must be as large both ways.
    Places, fabrics and projects are compared without regard to capitals; a kept plan's name stands
    for its project's as well.
    """

    ids: tuple[int, ...] = ()
    families: tuple[str, ...] = ()
    values: tuple[Value, ...] = ()
    fabrics: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    from_projects: tuple[str, ...] = ()
    statuses: tuple[Status, ...] = ("available",)
    at_least: tuple[float, float] | None = None
