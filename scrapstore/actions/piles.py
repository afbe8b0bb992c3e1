"""``piles``: the store's scraps in so many piles that look alike, for sorting a bin by hand."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from scrapstore.colour import SAYS_ITS_VALUE, group_into_piles
from scrapstore.errors import UsageError
from scrapstore.settings import Settings
from scrapstore.store import StockFilter, Store
from scrapstore.store.scrap_colours import Coloured, read_colours, with_typed
from scrapstore.units import format_area

__all__ = [
    "Piled",
    "StorePile",
    "pile_scraps",
    "piles_sheet",
]

_MOSTLY: Final = 0.5  # of the scraps; more of them of one family give a pile its name
_TWO: Final = 0.7  # of the scraps; so many of two families, and it is called by both


@dataclass(frozen=True)
class StorePile:
    """One pile: its scraps, the most typical first."""

    number: int
    members: tuple[Coloured, ...]

    @property
    def area(self) -> float:
        """The members' area together, in square inches."""
        return sum(one.scrap.area for one in self.members)

    @property
    def words(self) -> str:
        """What to call it, by what its scraps read as.

        ``dark blue`` for one family, ``mostly white`` where some are of others, ``blue and grey``
        for two, ``mixed`` for more. The value is that of more than half of the family.
        """
        # The most typical first: of as many it is the one that counts as the commoner.
        counted = Counter(one.family for one in self.members).most_common()
        first, many = counted[0]
        if many <= _MOSTLY * len(self.members):
            second, more = counted[1]
            both = many + more >= _TWO * len(self.members)
            return f"{first} and {second}" if both else "mixed"
        values = Counter(one.value for one in self.members if one.family == first)
        value, alike = values.most_common(1)[0]
        if first in SAYS_ITS_VALUE or alike <= _MOSTLY * many:
            value = None
        mostly = "mostly" if len(counted) > 1 else ""
        return " ".join(filter(None, (mostly, value, first)))


@dataclass(frozen=True)
class Piled:
    """The piles along the hue circle, and the scraps whose colours nobody knows.

    `asked` is how many piles were asked for; `by_family` are those in the piles that have no photo
    and count with the typical colour of their family.
    """

    asked: int
    piles: tuple[StorePile, ...]
    by_family: tuple[Coloured, ...]
    unseen: tuple[Coloured, ...]


def pile_scraps(store: Store, count: int, only: StockFilter, *, seed: int = 0) -> Piled:
    """Return the scraps that `only` lets through in at most `count` piles.

    There are fewer piles when there are fewer different scraps. Raises StoreError when `count` is
    less than 1.
    """
    if count < 1:
        raise UsageError(f"piles: {count} is no number of piles; ask for 1 or more")
    scraps = with_typed(read_colours(store, only))
    seen = [one for one in scraps if one.reading is not None]
    piles = group_into_piles([one.scrap.swatches for one in seen], count, seed=seed)
    return Piled(
        count,
        tuple(
            StorePile(number, tuple(seen[at] for at in pile))
            for number, pile in enumerate(piles, 1)
        ),
        tuple(one for one in scraps if not one.photographed),
        tuple(one for one in scraps if one.reading is None),
    )


def piles_sheet(
    store: Store, piled: Piled, settings: Settings, file: Path, progress: Callable[[int, int], None]
) -> Path:
    """Write the piles, the most typical scrap of each first."""
    from scrapstore.report.contact_tiles import ContactSection, ContactSheetMaker, scraps_text

    count = sum(len(pile.members) for pile in piled.piles) + len(piled.unseen)
    sheet = ContactSheetMaker(store, settings.units, count, progress)
    sections = [
        ContactSection(
            f"Pile {pile.number}: {pile.words}, {scraps_text(len(pile.members))}",
            format_area(pile.area, settings.units),
            sheet.tiles(pile.members),
        )
        for pile in piled.piles
    ]
    if piled.unseen:
        text = "These have no photo; sort them by eye."
        title = f"In no pile: {scraps_text(len(piled.unseen))}"
        sections.append(ContactSection(title, text, sheet.tiles(piled.unseen)))
    title = f"{count} scraps in {len(piled.piles)} piles"
    first = "The first of each pile shows best what belongs there; lay it on top."
    return sheet.write(title, sections, file, first=first)
