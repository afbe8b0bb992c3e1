"""Small swatches of the cloth that fabric to be bought must match."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Final

from scrapstore.colour import typical_rgb
from scrapstore.matching import RoleRule
from scrapstore.planning.result import MatchResult
from scrapstore.report.cloth_pictures import plain_rgb
from scrapstore.report.forms import Rgb
from scrapstore.store import Fabric, Scrap

__all__ = ["SwatchCard", "asked_swatches", "beside_swatches"]

_MOST: Final = 6


@dataclass(frozen=True)
class SwatchCard:
    """One colour with a word for it; `scrap` is the number of a scrap that shows it in cloth."""

    rgb: Rgb
    word: str
    scrap: int | None = None
    place: str | None = None

    @property
    def words(self) -> str:
        """The word, and where the cloth is."""
        if self.scrap is None:
            return self.word
        where = f", kept in {self.place}" if self.place else ""
        return f"{self.word}: scrap {self.scrap}{where}"


def asked_swatches(
    rule: RoleRule, scraps: Mapping[str, Sequence[Scrap]], fabrics: Mapping[str, Fabric]
) -> tuple[SwatchCard, ...]:
    """Return the colours that a role asks for: those of its fabrics, else of its families.

    `scraps` are those of a fabric by its name. Nothing for a role that asks for neither, or for
    fabrics of which no colour is known.
    """
    found = []
    for name in sorted(rule.fabrics):
        fabric = fabrics.get(name)
        own = [scrap for scrap in scraps.get(name, ()) if scrap.swatches or scrap.shown_family]
        if own:
            found.append(_of_scrap(max(own, key=lambda one: (one.outline.area, -one.id)), name))
        elif fabric is not None and fabric.family is not None:
            found.append(SwatchCard(typical_rgb(fabric.family, fabric.value), name))
    if not rule.fabrics:
        values: list[str | None] = [*sorted(rule.values)] or [None]
        for family, value in product(sorted(rule.families), values):
            word = " ".join(filter(None, (value, family)))
            found.append(SwatchCard(typical_rgb(family, value), word))
    return tuple(found[:_MOST])


def beside_swatches(result: MatchResult) -> tuple[SwatchCard, ...]:
    """Return the cloth that a project has already, one of each fabric, the largest scraps first."""
    found: dict[object, SwatchCard] = {}
    for scrap in sorted((cut.scrap for cut in result.cuts), key=lambda one: -one.outline.area):
        key = scrap.fabric.name if scrap.fabric else scrap.id
        reads = " ".join(filter(None, (scrap.shown_value, scrap.shown_family)))
        word = scrap.title if scrap.name or scrap.fabric else reads or "no colour yet"
        found.setdefault(key, _of_scrap(scrap, word))
    return tuple(found.values())[:_MOST]


def _of_scrap(scrap: Scrap, word: str) -> SwatchCard:
    return SwatchCard(plain_rgb(scrap), word, scrap.id, scrap.place)
