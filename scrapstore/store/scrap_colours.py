"""The colours of the store's scraps, as groups, searches and piles need them.

What is kept with a scrap holds: the user's word where they gave one, else what its photo was read
as when it was logged. Nothing here changes the store.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final, Literal

from scrapstore.colour import (
    MULTICOLOUR,
    Reading,
    Value,
    Warmth,
    read_many,
    reads_as,
    relative_values,
    swatch,
    tint_words,
    tints,
    typical_rgb,
)
from scrapstore.store.coloured import ColouredScrap, coloured_scraps
from scrapstore.store.filters import StockFilter
from scrapstore.store.store import Store

__all__ = ["Coloured", "Source", "called", "read_colours", "with_typed"]

Source = Literal["you", "photo", "learned", "fabric"]
"""Who says which family a scrap is; learned too is what an earlier version read."""

_DOUBTFUL: Final = 0.6  # of confidence; common sense, no source


@dataclass(frozen=True, slots=True)
class Coloured:
    """A scrap with its colour as it holds.

    `reading` is of its swatches, with the family, accents and value that hold; None without
    swatches. `family` and `value` are None where nobody knows them, and `source` with the family.
    `relative` is its value among the scraps it was read with, and `relative_confidence` (0 to 1)
    how sure that is; what the user said of its value holds for both, and has no confidence.
    `tints` are those of a neutral family, the likeliest first.
    `photographed` is False where `with_typed` gave it a colour.
    """

    scrap: ColouredScrap
    reading: Reading | None
    family: str | None
    source: Source | None
    value: Value | None
    relative: Value | None
    relative_confidence: float | None
    tints: tuple[str, ...] = ()
    photographed: bool = True

    @property
    def confidence(self) -> float | None:
        """How sure the family is, 0 to 1; None for what is no reading of a photo."""
        return self.reading.confidence if self.reading and self.source == "photo" else None

    @property
    def value_confidence(self) -> float | None:
        """How sure the value is, 0 to 1; None for what is no reading of a photo."""
        given = "value" in self.scrap.corrected or (
            self.scrap.value is None and self.scrap.fabric_value is not None
        )
        return None if given or self.reading is None else self.reading.value_confidence

    @property
    def family_words(self) -> str:
        """The family for a list: with a question mark where the photo leaves doubt."""
        doubtful = self.confidence is not None and self.confidence < _DOUBTFUL
        return f"{self.family or ''}{'?' if doubtful else ''}"

    @property
    def looks(self) -> str:
        """Family, value and tint for a list; nothing where no colour is known."""
        return ", ".join(filter(None, (self.family_words, self.value, tint_words(self.tints))))

    @property
    def warmth(self) -> Warmth | None:
        """Warm, cool or neutral; None without swatches."""
        return None if self.reading is None else self.reading.warmth


def called(scrap: ColouredScrap) -> str:
    """Return what a quilter calls this scrap in a list."""
    return scrap.name or scrap.fabric or "no name"


def read_colours(store: Store, only: StockFilter) -> tuple[Coloured, ...]:
    """Return the scraps that `only` lets through with their colours, by number.

    NotFoundError when it names a fabric there is not.
    """
    with store.read() as reader:
        for name in only.fabrics:
            reader.fabric(name)
        scraps = coloured_scraps(reader, only)
    seen = [scrap for scrap in scraps if scrap.swatches]
    readings = read_many([scrap.swatches for scrap in seen])
    words = [scrap.family or scrap.fabric_family for scrap in seen]
    tinted = tints(words, [reading.lead_lab for reading in readings])
    by_number = {
        scrap.id: found
        for scrap, *found in zip(seen, readings, relative_values(readings), tinted, strict=True)
    }
    return tuple(_coloured(scrap, *by_number.get(scrap.id, (None, None, ()))) for scrap in scraps)


def with_typed(scraps: Iterable[Coloured]) -> tuple[Coloured, ...]:
    """Return the scraps, those without a photo read as the typical colour of their family.

    One whose family nobody knows, or that is of many colours, stays without a reading.
    """
    return tuple(one if one.reading is not None else _as_typed(one) for one in scraps)


def _as_typed(one: Coloured) -> Coloured:
    if one.family is None or one.family == MULTICOLOUR:
        return one
    typical = swatch(typical_rgb(one.family, one.value))
    read = replace(reads_as((typical,)), family=one.family, accents=())
    return replace(
        one,
        scrap=replace(one.scrap, swatches=(typical,)),
        reading=read if one.value is None else replace(read, value=one.value),
        photographed=False,
    )


def _coloured(
    scrap: ColouredScrap,
    read: Reading | None,
    among: tuple[Value, float] | None,
    tinted: tuple[str, ...],
) -> Coloured:
    family = scrap.family or scrap.fabric_family or (None if read is None else read.family)
    value = scrap.value or scrap.fabric_value or (None if read is None else read.value)
    if among is None or "value" in scrap.corrected:
        relative, sure = value, None
    else:
        relative, sure = among
    return Coloured(
        scrap=scrap,
        reading=None if read is None else _as_kept(scrap, read, family, value),
        family=family,
        source=_source(scrap, read),
        value=value,
        relative=relative,
        relative_confidence=sure,
        tints=tinted,
    )


def _as_kept(
    scrap: ColouredScrap, read: Reading, family: str | None, value: Value | None
) -> Reading:
    if (family, value, scrap.accents) == (read.family, read.value, read.accents):
        return read
    return replace(
        read, family=family or read.family, value=value or read.value, accents=scrap.accents
    )


def _source(scrap: ColouredScrap, read: Reading | None) -> Source | None:
    if scrap.family is None:
        return "fabric" if scrap.fabric_family else None if read is None else "photo"
    if read is None or "family" in scrap.corrected:
        return "you"
    return "photo" if scrap.family == read.family else "learned"
