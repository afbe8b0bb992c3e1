"""``find``: scraps most like a colour, a photo or a scrap; scraps that go with one."""

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from scrapstore.colour import (
    Match,
    Relation,
    Swatch,
    colour_anywhere,
    dominant_colours,
    family,
    family_of_word,
    go_together,
    most_like,
    swatch,
    typical_rgb,
)
from scrapstore.errors import NotFoundError, ScrapstoreError, StoreError, UsageError
from scrapstore.settings import Settings
from scrapstore.store import StockFilter, Store
from scrapstore.store.scrap_colours import Coloured, read_colours, with_typed

__all__ = [
    "Companions",
    "Found",
    "GoesWith",
    "Wanted",
    "find_like",
    "found_sheet",
    "goes_with",
    "goes_with_sheet",
    "in_words",
]

# Common sense, no source but that about 1 is the least that can be seen side by side.
_HOW_NEAR: Final = (
    (2.0, "the same"),
    (5.0, "very near"),
    (10.0, "near"),
    (20.0, "some way off"),
    (float("inf"), "far off"),
)


@dataclass(frozen=True)
class Wanted:
    """What was looked for: its colours, and how it was said."""

    said: str
    swatches: tuple[Swatch, ...]

    @property
    def words(self) -> str:
        """Its colours in words with their shares."""
        shares = Counter[str]()
        for one in self.swatches:
            shares[family(one.rgb)] += one.share  # type: ignore[assignment]
        return ", ".join(f"{word} {share:.0%}" for word, share in shares.most_common())


@dataclass(frozen=True)
class Found:
    """A scrap and how far its colours are, in CIEDE2000."""

    one: Coloured
    distance: float


@dataclass(frozen=True)
class Companions:
    """Scraps that go with one for the same reason, the best first."""

    relation: Relation
    reason: str
    members: tuple[Coloured, ...]


@dataclass(frozen=True)
class GoesWith:
    """A scrap, and what goes with it."""

    start: Coloured
    together: tuple[Companions, ...]


def in_words(distance: float) -> str:
    """Return how near a CIEDE2000 distance is, for people."""
    return next(words for limit, words in _HOW_NEAR if distance <= limit)


def find_like(
    store: Store, said: str, only: StockFilter, *, most: int = 12, anywhere: bool = False
) -> tuple[Wanted, tuple[Found, ...]]:
    """Return what `said` names, and the scraps among those `only` lets through most like it.

    `said` is a colour (``#2a6f77``, ``navy``), the number of a scrap, or the path of a photo of one
    scrap. Whole cloths are compared by the earth mover's distance; with `anywhere`, the leading
    colour of `said` may be anywhere on a scrap, as an accent too. A scrap is not like itself.
    """
    if most < 1:
        raise UsageError(f"most: {most} is no number of scraps; ask for 1 or more")
    number = _number(said)
    wanted = Wanted(said, _swatches(store, said, number))
    offered = [one for one in read_colours(store, only) if one.reading and one.scrap.id != number]
    sets = [one.scrap.swatches for one in offered]
    matches: Sequence[Match]
    if anywhere:
        matches = colour_anywhere(wanted.swatches[0], sets, most=most)
    else:
        matches = most_like(wanted.swatches, sets, most=most)
    return wanted, tuple(Found(offered[match.place], match.distance) for match in matches)


def goes_with(store: Store, number: int, only: StockFilter, *, most: int = 6) -> GoesWith:
    """Return what goes with scrap `number` among those `only` lets through.

    At most `most` scraps for each reason. What has no photo counts with the typical colour of its
    family. NotFoundError for a number there is not; StoreError for a scrap without a photo whose
    family nobody knows.
    """
    if most < 1:
        raise UsageError(f"most: {most} is no number of scraps; ask for 1 or more")
    (start,) = with_typed(_one(store, number))
    if start.reading is None:
        raise _no_colours(start)
    others = {one.scrap.id: one for one in with_typed(read_colours(store, only)) if one.reading}
    # Among the others it has a value relative to them; let through or not, it comes first.
    offered = [others.pop(number, start), *others.values()]
    readings = [one.reading for one in offered if one.reading is not None]
    found = go_together(0, readings, most=most)
    return GoesWith(
        offered[0],
        tuple(
            Companions(one.relation, one.reason, tuple(offered[at] for at in one.members))
            for one in found
        ),
    )


def _number(said: str) -> int | None:
    """Return the number of a scrap that `said` is; ``#`` with three or six digits is a colour."""
    found = re.fullmatch(r"#?(\d{1,9})", said.strip())
    if found is None or (said.strip().startswith("#") and len(found[1]) in (3, 6)):
        return None
    return int(found[1])


def _swatches(store: Store, said: str, number: int | None) -> tuple[Swatch, ...]:
    text = said.strip()
    if not text:
        msg = "nothing was given to look for; give a photo, a scrap's number or a colour"
        raise UsageError(msg)
    if number is not None:
        (one,) = with_typed(_one(store, number))
        if not one.scrap.swatches:
            raise _no_colours(one)
        return one.scrap.swatches
    if text.startswith("#"):
        digits = text.removeprefix("#")
        if not re.fullmatch(r"[0-9a-fA-F]{3}|[0-9a-fA-F]{6}", digits):
            msg = f"colour: cannot read {said!r}; write # and six hex digits, such as #2a6f77"
            raise UsageError(msg)
        if len(digits) == 3:
            digits = "".join(2 * digit for digit in digits)
        return (swatch([int(digits[at : at + 2], 16) for at in (0, 2, 4)]),)
    if not Path(said).exists():
        try:
            return (swatch(typical_rgb(family_of_word(text))),)
        except ScrapstoreError as error:
            hint = str(error).partition("; ")[2]
        meant = f"; {hint} Else" if hint.startswith("did you mean") else ";"
        msg = (
            f"{said!r} is no photo that is there{meant} give a photo's file, the number of a "
            "scrap, or a colour such as blue or '#2a6f77' (with quotes, so that the shell leaves "
            "the # alone)"
        )
        raise NotFoundError(msg)
    from scrapstore.photo import open_photo
    from scrapstore.photo.segmentation import cloth_pixels

    return dominant_colours(cloth_pixels(open_photo(Path(said)).pixels))


def _one(store: Store, number: int) -> tuple[Coloured, ...]:
    """Return scrap `number` whatever its status; NotFoundError."""
    with store.read() as reader:
        reader.scrap(number)
    return read_colours(store, StockFilter(ids=(number,), statuses=()))


def _no_colours(one: Coloured) -> StoreError:
    number = one.scrap.id
    why = (
        f"no family is known; say it with scrap edit {number} --family blue"
        if one.family is None
        else f"{one.family} is no one colour to go by; log it with a photo"
    )
    return StoreError(f"scrap {number} has no photo, and {why}")


def found_sheet(
    store: Store,
    answer: tuple[Wanted, Sequence[Found]],
    settings: Settings,
    file: Path,
    progress: Callable[[int, int], None],
) -> Path:
    """Write what was looked for and found, the nearest first."""
    from scrapstore.report.contact_tiles import ContactSection, ContactSheetMaker

    wanted, found = answer
    sheet = ContactSheetMaker(store, settings.units, len(found), progress)
    remarks = [f"{one.distance:.1f}, {in_words(one.distance)}" for one in found]
    tiles = sheet.tiles([one.one for one in found], remarks)
    text = f"{wanted.words}. The last line under a scrap is how far its colours are."
    section = ContactSection(f"Most like {wanted.said}", text, tiles)
    return sheet.write("Found by colour", [section], file)


def goes_with_sheet(
    store: Store,
    answer: GoesWith,
    settings: Settings,
    file: Path,
    progress: Callable[[int, int], None],
) -> Path:
    """Write a scrap and what goes with it, one section for each reason."""
    from scrapstore.report.contact_tiles import ContactSection, ContactSheetMaker

    count = 1 + sum(len(one.members) for one in answer.together)
    sheet = ContactSheetMaker(store, settings.units, count, progress)
    sections = [ContactSection("To begin with", "", sheet.tiles([answer.start]))]
    sections += [
        ContactSection(
            one.relation.capitalize(), f"{one.reason.capitalize()}.", sheet.tiles(one.members)
        )
        for one in answer.together
    ]
    title = f"What goes with scrap {answer.start.scrap.id}"
    return sheet.write(title, sections, file)
