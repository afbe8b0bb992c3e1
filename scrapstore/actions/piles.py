"""``piles``: the store's scraps in so many piles that look alike, for sorting a bin by hand."""

from dataclasses import dataclass

from scrapstore.actions.coloured import Coloured, read_colours
from scrapstore.colour import Reading, group_into_piles
from scrapstore.errors import StoreError
from scrapstore.store import StockFilter, Store

__all__ = ["Piled", "StorePile", "pile_scraps"]


@dataclass(frozen=True)
class StorePile:
    """One pile: its scraps, the most typical first, and what that one reads as."""

    number: int
    members: tuple[Coloured, ...]
    reading: Reading

    @property
    def area(self) -> float:
        """The members' area together, in square inches."""
        return sum(one.scrap.area for one in self.members)

    @property
    def words(self) -> str:
        """What to call it: ``dark blue``; white and black say their value themselves."""
        family = self.reading.family
        return family if family in ("white", "black") else f"{self.reading.value} {family}"


@dataclass(frozen=True)
class Piled:
    """The piles along the hue circle, and the scraps whose colours nobody knows."""

    piles: tuple[StorePile, ...]
    unseen: tuple[Coloured, ...]


def pile_scraps(store: Store, count: int, only: StockFilter, *, seed: int = 0) -> Piled:
    """Return the scraps that `only` lets through in at most `count` piles.

    There are fewer piles when there are fewer different scraps. Raises StoreError when `count` is
    less than 1.
    """
    if count < 1:
        raise StoreError(f"piles: {count} is no number of piles; ask for 1 or more")
    scraps = read_colours(store, only)
    seen = [one for one in scraps if one.reading is not None]
    piles = group_into_piles([one.scrap.swatches for one in seen], count, seed=seed)
    return Piled(
        tuple(
            StorePile(number, tuple(seen[at] for at in pile.members), pile.reading)
            for number, pile in enumerate(piles, 1)
        ),
        tuple(one for one in scraps if one.reading is None),
    )
