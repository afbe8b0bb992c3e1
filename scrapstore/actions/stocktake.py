"""``stocktake``: what lies in a place, beside what the store says lies there."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from scrapstore.actions.labels import read_labels
from scrapstore.actions.scrap import refuse_cut_up_scrap
from scrapstore.errors import NotFoundError, StoreError
from scrapstore.near_words import perhaps
from scrapstore.store import Scrap, StockFilter, Store

__all__ = ["Stocktake", "expected_in", "put_right", "take_stock", "ticked_in_photos"]


@dataclass(frozen=True)
class Stocktake:
    """What was ticked in a place, beside what is recorded there; each part by number.

    `here`: ticked, and recorded here. `missing`: recorded here, and not ticked. `elsewhere`:
    ticked, and recorded in another place or in none. `used_up`: ticked, though used up by the
    records. `cut_up`: the same of scraps whose cloth is counted in what was cut of them: their
    number, and why they cannot come back. `unknown`: numbers that no scrap has.
    """

    place: str
    here: tuple[Scrap, ...]
    missing: tuple[Scrap, ...]
    elsewhere: tuple[Scrap, ...]
    used_up: tuple[Scrap, ...]
    cut_up: tuple[tuple[int, str], ...]
    unknown: tuple[int, ...]

    @property
    def to_change(self) -> tuple[Scrap, ...]:
        """Return the scraps that `put_right` changes."""
        return (*self.elsewhere, *self.used_up)


def expected_in(store: Store, place: str) -> tuple[Scrap, ...]:
    """Return the scraps that are recorded in a place and not used up, by number."""
    only = StockFilter(places=(place.strip(),), statuses=("available", "set aside"))
    with store.read() as reader:
        return tuple(sorted(reader.scraps(only), key=lambda scrap: scrap.id))


def ticked_in_photos(store: Store, photos: Iterable[Path]) -> tuple[int, ...]:
    """Return the numbers on the labels in the photos. PhotoError; NotFoundError for no label."""
    numbers: set[int] = set()
    for photo in photos:
        found = read_labels(store, photo)
        if not (found.scraps or found.unknown):
            msg = f"{photo.name}: no label can be read; take it nearer, or type numbers (--there)"
            raise NotFoundError(msg)
        numbers.update(found.unknown, (scrap.id for scrap in found.scraps))
    return tuple(sorted(numbers))


def take_stock(store: Store, place: str, there: Iterable[int]) -> Stocktake:
    """Return what the numbers that are `there` say of a place; nothing is changed.

    The place is spelled as most of its scraps have it. NotFoundError for a place where nothing is
    recorded when nothing is there either.
    """
    ticked = tuple(sorted(set(there)))
    expected = expected_in(store, place)
    with store.read() as reader:
        found = reader.scraps(StockFilter(ids=ticked, statuses=())) if ticked else ()
        cut_up = []
        for scrap in (one for one in found if one.status == "used up"):
            try:
                refuse_cut_up_scrap(reader, scrap.id)
            except StoreError as error:
                cut_up.append((scrap.id, str(error)))
        if not expected and not ticked:
            places = {scrap.place for scrap in reader.scraps(StockFilter(statuses=()))}
            near = perhaps(place, [one for one in places if one], quoted=True)
            msg = f"no scrap is recorded in {place!r}; {near}say what is there with --there"
            raise NotFoundError(msg)
    recorded = {scrap.id for scrap in expected}
    cut = {number for number, _ in cut_up}
    scraps = sorted(found, key=lambda scrap: scrap.id)
    used_up = [one for one in scraps if one.status == "used up"]
    spelled = Counter(scrap.place or "" for scrap in expected).most_common(1)
    return Stocktake(
        place=spelled[0][0] if spelled else place.strip(),
        here=tuple(one for one in expected if one.id in ticked),
        missing=tuple(one for one in expected if one.id not in ticked),
        elsewhere=tuple(s for s in scraps if s.id not in recorded and s.status != "used up"),
        used_up=tuple(one for one in used_up if one.id not in cut),
        cut_up=tuple(sorted(cut_up)),
        unknown=tuple(sorted(set(ticked) - {scrap.id for scrap in found})),
    )


def put_right(store: Store, stocktake: Stocktake) -> tuple[Scrap, ...]:
    """Record what lies in the place as there, in one change; return it as it now is.

    What is recorded elsewhere is moved; what was used up is available again, and there. What is
    missing stays as it is recorded: nobody knows yet where it is.
    """
    if not stocktake.to_change:
        return ()
    with store.change("stocktake") as writer:
        return tuple(
            writer.update_scrap(_put(writer.scrap(scrap.id), stocktake.place))
            for scrap in stocktake.to_change
        )


def _put(scrap: Scrap, place: str) -> Scrap:
    if scrap.status != "used up":
        return replace(scrap, place=place)
    return replace(scrap, place=place, status="available", set_aside_for=None)
