"""The tiles of contact sheets, made from scraps of the store with their colours."""

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Final

from scrapstore.colour import FAMILIES, families, tint_words
from scrapstore.report.cloth_pictures import cloth_picture, plain_rgb
from scrapstore.report.contact import ContactSection, ContactSheet, Tile
from scrapstore.report.contact_page import write_contact
from scrapstore.store import Scrap, StockFilter, Store
from scrapstore.store.scrap_colours import Coloured, called
from scrapstore.units import Units, format_size

__all__ = ["ContactSection", "ContactSheetMaker", "scraps_text"]

Progress = Callable[[int, int], None]

_READ_AT_ONCE: Final = 500
_TILE_SIDE: Final = 360  # pixels; twice what a tile shows, for fine screens and print
_LEGEND: Final = (
    "Boxes beside a scrap's number: one filled is light, two medium, three dark, by itself; "
    "“of these” is its value beside the other scraps of this sheet. “With” tells the other "
    "families on it, its accents; “a little”, the tint of a grey, white or black; a question mark, "
    "that the photo leaves doubt. A scrap in plain colour has no picture."
)


def scraps_text(count: int) -> str:
    """Return ``1 scrap`` or ``3 scraps``."""
    return f"{count} scrap{'' if count == 1 else 's'}"


class ContactSheetMaker:
    """Makes the tiles of a contact sheet, and writes it.

    Outlines and photos are read some hundreds of scraps at a time; `progress` gets how many of
    `total` tiles are made.
    """

    def __init__(self, store: Store, units: Units, total: int, progress: Progress) -> None:
        self._store = store
        self._units = units
        self._total = total
        self._progress = progress
        self._done = 0

    def tiles(
        self, scraps: Sequence[Coloured], remarks: Iterable[str] | None = None
    ) -> tuple[Tile, ...]:
        """Return a tile for each scrap, the last line under it from `remarks`."""
        said = list(remarks) if remarks is not None else [""] * len(scraps)
        tiles = []
        for start in range(0, len(scraps), _READ_AT_ONCE):
            some = scraps[start : start + _READ_AT_ONCE]
            numbers = tuple(one.scrap.id for one in some)
            with self._store.read() as reader:
                found = {s.id: s for s in reader.scraps(StockFilter(ids=numbers, statuses=()))}
            for one, remark in zip(some, said[start:], strict=False):
                tiles.append(self._tile(one, found[one.scrap.id], remark))
                self._done += 1
                self._progress(self._done, self._total)
        return tuple(tiles)

    def write(
        self, title: str, sections: Iterable[ContactSection], file: Path, *, first: str = ""
    ) -> Path:
        """Write the sheet to `file` and return it; the legend stands after the words `first`."""
        text = f"{first} {_LEGEND}".strip()
        return write_contact(ContactSheet(title, text, tuple(sections), self._units), file)

    def _tile(self, one: Coloured, scrap: Scrap, remark: str) -> Tile:
        words = families([s.lab for s in scrap.swatches]).tolist() if scrap.swatches else []
        return Tile(
            number=scrap.id,
            name=called(one.scrap),
            family=one.family_words or None,
            tint=tint_words(one.tints[:1]) + "?" * (len(one.tints) > 1),
            value=one.value,
            relative=one.relative,
            size=format_size(*scrap.sides, self._units),
            outline=scrap.outline,
            swatches=tuple(
                (s.rgb, s.share, FAMILIES[at]) for s, at in zip(scrap.swatches, words, strict=True)
            ),
            accents=tuple(word for word in scrap.accents if word != one.family),
            picture=cloth_picture(self._store, scrap, _TILE_SIDE),
            plain=plain_rgb(scrap),
            remark=remark,
        )
