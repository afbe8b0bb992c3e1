"""Contact sheets of families, of what was found, and of piles: gathers what the report draws."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Final

from scrapstore.actions.cloth_pictures import cloth_picture, plain_rgb
from scrapstore.actions.families import Grouped
from scrapstore.actions.find import Found, GoesWith, Wanted, in_words
from scrapstore.actions.piles import Piled
from scrapstore.colour import FAMILIES, Value, families
from scrapstore.report import ContactSection, ContactSheet, Tile, write_contact
from scrapstore.settings import Settings
from scrapstore.store import Scrap, StockFilter, Store
from scrapstore.store.scrap_colours import Coloured, called
from scrapstore.units import format_area, format_size

__all__ = ["families_sheet", "found_sheet", "goes_with_sheet", "piles_sheet", "value_counts"]

Progress = Callable[[int, int], None]

_READ_AT_ONCE: Final = 500
_TILE_SIDE: Final = 360  # pixels; twice what a tile shows, for fine screens and print
_VALUES: Final[tuple[Value, ...]] = ("light", "medium", "dark")
_LEGEND: Final = (
    "Boxes beside a scrap's number: one filled is light, two medium, three dark, by itself; "
    "“of these” is its value beside the other scraps of this sheet. “With” tells the other "
    "families on it, its accents; a question mark, that the photo leaves doubt. A scrap in plain "
    "colour has no picture."
)


def families_sheet(
    store: Store, grouped: Grouped, settings: Settings, file: Path, progress: Progress
) -> Path:
    """Write the families as a contact sheet along the hue circle, from light to dark."""
    make = _Tiles(store, settings, len(grouped.members), progress)
    sections = []
    for family in (one for one in grouped.families if one.members):
        held = ", ".join(str(one.scrap.id) for one in family.holding)
        also = f" Also on {_scraps(len(family.holding))}: {held}." if held else ""
        sections.append(
            ContactSection(
                title=f"{family.word or 'no colour yet'}: {_scraps(len(family.members))}, "
                f"{format_area(family.area, settings.units)}",
                text=_value_text(family.values, family.relative_values) + also,
                tiles=make(family.members),
            )
        )
    title = f"{_scraps(len(grouped.members))} by colour family"
    return write_contact(ContactSheet(title, _LEGEND, tuple(sections), settings.units), file)


def found_sheet(
    store: Store,
    answer: tuple[Wanted, Sequence[Found]],
    settings: Settings,
    file: Path,
    progress: Progress,
) -> Path:
    """Write what was looked for and found, the nearest first."""
    wanted, found = answer
    make = _Tiles(store, settings, len(found), progress)
    remarks = [f"{one.distance:.1f}, {in_words(one.distance)}" for one in found]
    tiles = make([one.one for one in found], remarks)
    text = f"{wanted.words}. The last line under a scrap is how far its colours are."
    section = ContactSection(f"Most like {wanted.said}", text, tiles)
    return write_contact(ContactSheet("Found by colour", _LEGEND, (section,), settings.units), file)


def goes_with_sheet(
    store: Store, answer: GoesWith, settings: Settings, file: Path, progress: Progress
) -> Path:
    """Write a scrap and what goes with it, one section for each reason."""
    count = 1 + sum(len(one.members) for one in answer.together)
    make = _Tiles(store, settings, count, progress)
    sections = [ContactSection("To begin with", "", make([answer.start]))]
    sections += [
        ContactSection(one.relation.capitalize(), f"{one.reason.capitalize()}.", make(one.members))
        for one in answer.together
    ]
    title = f"What goes with scrap {answer.start.scrap.id}"
    return write_contact(ContactSheet(title, _LEGEND, tuple(sections), settings.units), file)


def piles_sheet(
    store: Store, piled: Piled, settings: Settings, file: Path, progress: Progress
) -> Path:
    """Write the piles, the most typical scrap of each first."""
    count = sum(len(pile.members) for pile in piled.piles) + len(piled.unseen)
    make = _Tiles(store, settings, count, progress)
    sections = [
        ContactSection(
            f"Pile {pile.number}: {pile.words}, {_scraps(len(pile.members))}",
            format_area(pile.area, settings.units),
            make(pile.members),
        )
        for pile in piled.piles
    ]
    if piled.unseen:
        text = "These have no photo; sort them by eye."
        title = f"In no pile: {_scraps(len(piled.unseen))}"
        sections.append(ContactSection(title, text, make(piled.unseen)))
    title = f"{count} scraps in {len(piled.piles)} piles"
    text = f"The first of each pile shows best what belongs there; lay it on top. {_LEGEND}"
    return write_contact(ContactSheet(title, text, tuple(sections), settings.units), file)


def value_counts(values: Counter[Value | None]) -> str:
    """Return ``1 light, 4 medium, 1 dark``, without those there are none of."""
    return ", ".join(f"{values[value]} {value}" for value in _VALUES if values[value])


def _value_text(own: Counter[Value | None], relative: Counter[Value | None]) -> str:
    if not sum(own.values()):
        return ""
    by_itself, beside = value_counts(own), value_counts(relative)
    if not by_itself:
        return "Values not known."
    return f"{by_itself}." if by_itself == beside else f"{by_itself}; of these {beside}."


def _scraps(count: int) -> str:
    return f"{count} scrap{'' if count == 1 else 's'}"


class _Tiles:
    """Makes tiles, reading outlines and photos some hundreds of scraps at a time."""

    def __init__(self, store: Store, settings: Settings, total: int, progress: Progress) -> None:
        self._store = store
        self._settings = settings
        self._total = total
        self._progress = progress
        self._done = 0

    def __call__(
        self, scraps: Sequence[Coloured], remarks: Iterable[str] | None = None
    ) -> tuple[Tile, ...]:
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

    def _tile(self, one: Coloured, scrap: Scrap, remark: str) -> Tile:
        units = self._settings.units
        words = families([s.lab for s in scrap.swatches]).tolist() if scrap.swatches else []
        return Tile(
            number=scrap.id,
            name=called(one.scrap),
            family=one.family_words or None,
            value=one.value,
            relative=one.relative,
            size=format_size(*scrap.sides, units),
            outline=scrap.outline,
            swatches=tuple(
                (s.rgb, s.share, FAMILIES[at]) for s, at in zip(scrap.swatches, words, strict=True)
            ),
            accents=tuple(word for word in scrap.accents if word != one.family),
            picture=cloth_picture(self._store, scrap, _TILE_SIDE),
            plain=plain_rgb(scrap),
            remark=remark,
        )
