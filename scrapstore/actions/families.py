"""``families``: the store's scraps by colour family, and learning from the user's corrections."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from scrapstore.colour import (
    FAMILY_ORDER,
    Correction,
    Reading,
    Value,
    Warmth,
    delta_e,
    lab_to_srgb,
    learn,
    read_many,
    sheet_order,
)
from scrapstore.errors import StoreError
from scrapstore.settings import Settings
from scrapstore.store import (
    ColouredScrap,
    Reader,
    StockFilter,
    Store,
    coloured_scraps,
    holding_plan,
)
from scrapstore.store.scrap_colours import Coloured, read_colours
from scrapstore.units import format_area

__all__ = [
    "Family",
    "Grouped",
    "Learned",
    "families_of",
    "families_sheet",
    "forget_families",
    "group_by_family",
    "keep_learned",
    "learn_families",
]

_VALUE_ORDER: Final[tuple[Value | None, ...]] = ("light", "medium", "dark", None)


@dataclass(frozen=True)
class Family:
    """The scraps of one family in the order of a contact sheet.

    `word` is None for scraps of which no colour is known. `holding` are scraps of other families
    with this one as an accent, the largest share first; `tinted` are greys, whites and blacks with
    a tint of it and no more, the surest first.
    """

    word: str | None
    members: tuple[Coloured, ...]
    holding: tuple[Coloured, ...] = ()
    tinted: tuple[Coloured, ...] = ()

    @property
    def area(self) -> float:
        """The members' area together, in square inches."""
        return sum(one.scrap.area for one in self.members)

    @property
    def values(self) -> Counter[Value | None]:
        """How many members are light, medium and dark by themselves."""
        return Counter(one.value for one in self.members)

    @property
    def relative_values(self) -> Counter[Value | None]:
        """How many are light, medium and dark among all the scraps that were grouped."""
        return Counter(one.relative for one in self.members)

    @property
    def warmths(self) -> Counter[Warmth | None]:
        """How many members are warm, cool and neutral."""
        return Counter(one.warmth for one in self.members)

    @property
    def typical_rgb(self) -> tuple[int, int, int] | None:
        """The leading colour of the member half way from light to dark, sRGB; None unseen."""
        seen = sorted(one.reading.lead_lab for one in self.members if one.reading is not None)
        if not seen:
            return None
        red, green, blue = (round(float(part)) for part in lab_to_srgb(seen[len(seen) // 2]))
        return red, green, blue


@dataclass(frozen=True)
class Grouped:
    """All scraps that were let through, by family; families without any are left out."""

    families: tuple[Family, ...]

    @property
    def members(self) -> tuple[Coloured, ...]:
        """Every scrap once, in the order of a contact sheet."""
        return tuple(one for family in self.families for one in family.members)

    @property
    def area(self) -> float:
        """The members' area together, in square inches."""
        return sum(one.scrap.area for one in self.members)


@dataclass(frozen=True)
class Learned:
    """A scrap whose family would change with what was learned, and why.

    `like` are numbers of the corrected scraps of that word nearest to it; empty when nothing near
    was corrected (any more) and it goes back to what its photo reads as.
    """

    scrap: ColouredScrap
    was: str | None
    now: str
    accents: tuple[str, ...]
    confidence: float
    like: tuple[int, ...]


def group_by_family(store: Store, only: StockFilter) -> Grouped:
    """Return the scraps that `only` lets through by colour family.

    Relative values are relative to these scraps.
    """
    return families_of(read_colours(store, only))


def families_of(scraps: Sequence[Coloured]) -> Grouped:
    """Return `scraps` by colour family, each family in the order of a contact sheet.

    Scraps without swatches come after those with, from light to dark.
    """
    seen = [(one, one.reading) for one in scraps if one.reading is not None]
    members: dict[str | None, list[Coloured]] = {word: [] for word in (*FAMILY_ORDER, None)}
    for at in sheet_order([reading for _, reading in seen]).tolist():
        members[seen[at][0].family].append(seen[at][0])
    unseen = [one for one in scraps if one.reading is None]
    for one in sorted(unseen, key=lambda one: (_VALUE_ORDER.index(one.value), one.scrap.id)):
        members[one.family].append(one)
    holding: dict[str | None, list[tuple[float, int, Coloured]]] = {word: [] for word in members}
    tinted: dict[str | None, list[tuple[float, int, Coloured]]] = {word: [] for word in members}
    for one in scraps:
        shares = {} if one.reading is None else dict(one.reading.shares)
        for word in one.scrap.accents:
            if word != one.family:
                holding[word].append((-shares.get(word, 0.0), one.scrap.id, one))
        for word in one.tints:
            softness = StockFilter(families=(word,)).softness(
                one.family, one.scrap.accents, one.tints
            )
            if softness:
                tinted[word].append((softness, one.scrap.id, one))
    return Grouped(
        tuple(
            Family(word, tuple(members[word]), _ranked(holding[word]), _ranked(tinted[word]))
            for word in members
            if members[word] or holding[word] or tinted[word]
        )
    )


def _ranked(ranked: list[tuple[float, int, Coloured]]) -> tuple[Coloured, ...]:
    return tuple(one for *_, one in sorted(ranked, key=lambda each: each[:2]))


def learn_families(store: Store, only: StockFilter) -> tuple[Learned, ...]:
    """Return the scraps among those `only` lets through whose family would change, by number.

    Every scrap of the store whose family the user corrected is learned from, those used up too; a
    corrected scrap is never changed. Raises StoreError when nothing was corrected yet.
    """
    with store.read() as reader:
        taught = [
            scrap
            for scrap in coloured_scraps(reader, StockFilter(statuses=()))
            if scrap.swatches and scrap.family and "family" in scrap.corrected
        ]
        pupils = _never_corrected(reader, only)
    if not taught:
        msg = (
            "there is nothing to learn from yet: no scrap with a photo has a family of your own; "
            "give one its own first, for example scrap edit 3 --family green (what was learned "
            "before is shown, and taken back, by --forget)"
        )
        raise StoreError(msg)
    was_read = read_many([scrap.swatches for scrap in taught])
    corrections = [
        Correction(reading, scrap.family or reading.family)
        for scrap, reading in zip(taught, was_read, strict=True)
    ]
    readings = learn(read_many([scrap.swatches for scrap in pupils]), corrections)
    return _changed(
        pupils,
        readings,
        lambda reading: _nearest(reading, taught, corrections) if reading.learned else (),
    )


def forget_families(store: Store, only: StockFilter) -> tuple[Learned, ...]:
    """Return the scraps whose words would go back to what their photos read as, by number.

    This takes back what was learned, and what an earlier version read otherwise, accents too; what
    the user gave stays.
    """
    with store.read() as reader:
        pupils = _never_corrected(reader, only)
    readings = read_many([scrap.swatches for scrap in pupils])
    return _changed(pupils, readings, lambda _: (), accents=True)


def _never_corrected(reader: Reader, only: StockFilter) -> list[ColouredScrap]:
    return [
        scrap
        for scrap in coloured_scraps(reader, only)
        if scrap.swatches and "family" not in scrap.corrected
    ]


def _changed(
    pupils: Sequence[ColouredScrap],
    readings: Sequence[Reading],
    like: Callable[[Reading], tuple[int, ...]],
    *,
    accents: bool = False,
) -> tuple[Learned, ...]:
    """Return those of which the family changes, or also those of which only the accents do."""
    changed = []
    for scrap, reading in zip(pupils, readings, strict=True):
        words = scrap.accents if "accents" in scrap.corrected else reading.accents
        if reading.family != scrap.family or (accents and words != scrap.accents):
            changed.append(
                Learned(
                    scrap, scrap.family, reading.family, words, reading.confidence, like(reading)
                )
            )
    return tuple(changed)


def keep_learned(
    store: Store, learned: Iterable[Learned], *, what: str = "families learn"
) -> tuple[int, ...]:
    """Store what was learned or forgotten, in one change; return the numbers of the scraps.

    It stays what the program says, not the user. A scrap that was corrected or whose family was
    changed meanwhile is left alone, and so is one that a kept plan holds. `what`
    names the change in the history.
    """
    kept = []
    with store.change(what) as writer:
        for one in learned:
            scrap = writer.scrap(one.scrap.id)
            if "family" in scrap.corrected or scrap.family != one.was:
                continue
            if one.now != one.was and holding_plan(writer, "scrap", scrap.id):
                continue
            writer.update_scrap(replace(scrap, family=one.now, accents=one.accents))
            kept.append(scrap.id)
    return tuple(kept)


def _nearest(
    reading: Reading, taught: Sequence[ColouredScrap], corrections: Sequence[Correction]
) -> tuple[int, ...]:
    """Return the numbers of the three corrected scraps of its word that look most like it."""
    apart = sorted(
        (float(delta_e(one.reading.lead_lab, reading.lead_lab)), scrap.id)
        for scrap, one in zip(taught, corrections, strict=True)
        if one.family == reading.family
    )
    return tuple(number for _, number in apart[:3])


def families_sheet(
    store: Store,
    grouped: Grouped,
    settings: Settings,
    file: Path,
    progress: Callable[[int, int], None],
) -> Path:
    """Write the families as a contact sheet along the hue circle, from light to dark."""
    from scrapstore.report.contact_tiles import ContactSection, ContactSheetMaker, scraps_text

    sheet = ContactSheetMaker(store, settings.units, len(grouped.members), progress)
    sections = []
    for family in (one for one in grouped.families if one.members):
        also = "".join(
            f" {how} {scraps_text(len(some))}: {', '.join(str(one.scrap.id) for one in some)}."
            for how, some in (("Also on", family.holding), ("Softer, as a tint, on", family.tinted))
            if some
        )
        sections.append(
            ContactSection(
                title=f"{family.word or 'no colour yet'}: {scraps_text(len(family.members))}, "
                f"{format_area(family.area, settings.units)}",
                text=_value_text(family.values, family.relative_values) + also,
                tiles=sheet.tiles(family.members),
            )
        )
    title = f"{scraps_text(len(grouped.members))} by colour family"
    return sheet.write(title, sections, file)


def _value_counts(values: Counter[Value | None]) -> str:
    """Return ``1 light, 4 medium, 1 dark``, without those there are none of."""
    return ", ".join(f"{values[value]} {value}" for value in _VALUE_ORDER[:3] if values[value])


def _value_text(own: Counter[Value | None], relative: Counter[Value | None]) -> str:
    if not sum(own.values()):
        return ""
    by_itself, beside = _value_counts(own), _value_counts(relative)
    if not by_itself:
        return "Values not known."
    return f"{by_itself}." if by_itself == beside else f"{by_itself}; of these {beside}."
