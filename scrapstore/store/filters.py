"""What a list may be narrowed by. Conditions combine: all must hold; within one, any may."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from scrapstore.store.forms import Status, Value

__all__ = ["StockFilter"]


@dataclass(frozen=True, kw_only=True)
class StockFilter:
    """Narrows a list of scraps, yardage, ready-cut pieces or binding strips.

    An empty tuple or None leaves that condition out. `families` holds for the family a thing reads
    as and for its accents, or else for its fabric's family; of scraps also for tints. `at_least` is
    a rectangle's two sides in inches, either way round: the smallest rectangle round the thing must
    be as large both ways. Places, fabrics and projects are compared without regard to capitals; a
    kept plan's name stands for its project's as well.
    """

    ids: tuple[int, ...] = ()
    families: tuple[str, ...] = ()
    values: tuple[Value, ...] = ()
    fabrics: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    from_projects: tuple[str, ...] = ()
    statuses: tuple[Status, ...] = ("available",)
    at_least: tuple[float, float] | None = None

    def softness(
        self, family: str | None, accents: Iterable[str], tints: Sequence[str]
    ) -> int | None:
        """Return how soft an answer a thing is to `families`; None where it is none.

        0 is one by family or accent; by its tint alone it is 1 where that is sure, and more the
        less likely it is.
        """
        if not self.families or not {family, *accents}.isdisjoint(self.families):
            return 0
        places = [at for at, word in enumerate(tints) if word in self.families]
        return places[0] + min(len(tints), 2) if places else None
