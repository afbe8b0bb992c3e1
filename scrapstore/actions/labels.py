"""``labels``: labels for scraps to print, and reading them back in a photo."""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from scrapstore.errors import NotFoundError
from scrapstore.photo.label_texts import label_number
from scrapstore.printable import printable
from scrapstore.report.labels import Label
from scrapstore.report.printed_file import checked_file, write_file
from scrapstore.settings import Settings
from scrapstore.store import Scrap, StockFilter, Store
from scrapstore.store.scrap_colours import Coloured, read_colours
from scrapstore.units import format_size

__all__ = ["LabelsInPhoto", "Printed", "read_labels", "write_labels"]


@dataclass(frozen=True)
class Printed:
    """A file of labels, and the numbers of the scraps on it in their order there."""

    file: Path
    numbers: tuple[int, ...]


@dataclass(frozen=True)
class LabelsInPhoto:
    """What the labels in a photo say.

    `scraps` are in the store, whatever became of them; `unknown` are numbers that no scrap of this
    store has; `others` are texts of codes that are no labels of ours. Each once, by number.
    """

    photo: Path
    scraps: tuple[Scrap, ...]
    unknown: tuple[int, ...]
    others: tuple[str, ...]


def write_labels(
    store: Store,
    only: StockFilter,
    settings: Settings,
    file: Path,
    *,
    boxes: bool = False,
    progress: Callable[[int, int], None] = lambda _done, _of: None,
) -> Printed:
    """Write labels of the scraps that `only` lets through to `file`, a PDF.

    With `boxes` it is a sheet for each place, with the cloth of its scraps. NotFoundError for a
    number there is not, and when no scrap is let through; as `checked_file` else.
    """
    checked_file(file, "labels", (".pdf",))
    with store.read() as reader:
        for number in only.ids:
            reader.scrap(number)
    scraps = read_colours(store, only)
    if not scraps:
        msg = "labels: no scrap matches; leave out a filter, or see scrapstore scrap list"
        raise NotFoundError(msg)
    if boxes:
        scraps = tuple(sorted(scraps, key=lambda one: (one.scrap.place or "\uffff", one.scrap.id)))
        content = _boxes(store, scraps, settings, progress)
    else:
        from scrapstore.report.pdf.labels import labels_pdf

        content = labels_pdf([_label(one, settings) for one in scraps], settings.page)
    kept = write_file(file, "labels", content)
    return Printed(kept, tuple(one.scrap.id for one in scraps))


def _label(one: Coloured, settings: Settings) -> Label:
    return Label(
        number=one.scrap.id,
        size=format_size(*one.scrap.sides, settings.units),
        colour=", ".join(filter(None, (one.family, one.value))) or "no colour yet",
        name=one.scrap.name or one.scrap.fabric or "",
        place=one.scrap.place or "",
    )


def _boxes(
    store: Store,
    scraps: tuple[Coloured, ...],
    settings: Settings,
    progress: Callable[[int, int], None],
) -> bytes:
    from scrapstore.report.contact_tiles import ContactSheetMaker
    from scrapstore.report.pdf.labels import boxes_pdf

    tiles = ContactSheetMaker(store, settings.units, len(scraps), progress).tiles(scraps)
    places = defaultdict(list)
    for one, tile in zip(scraps, tiles, strict=True):
        places[one.scrap.place or ""].append(tile)
    return boxes_pdf(tuple(places.items()), settings.page)


def read_labels(store: Store, photo: Path) -> LabelsInPhoto:
    """Return the scraps whose labels lie in a photo. PhotoError for what is no photo."""
    from scrapstore.photo import open_photo
    from scrapstore.photo.codes import read_codes

    texts = {code.text for code in read_codes(open_photo(photo).pixels)}
    named = {text: label_number(text) for text in texts}
    numbers = tuple(sorted({number for number in named.values() if number is not None}))
    with store.read() as reader:
        scraps = reader.scraps(StockFilter(ids=numbers, statuses=())) if numbers else ()
    there = {scrap.id for scrap in scraps}
    return LabelsInPhoto(
        photo=photo,
        scraps=tuple(sorted(scraps, key=lambda scrap: scrap.id)),
        unknown=tuple(number for number in numbers if number not in there),
        others=tuple(sorted(printable(text) for text, number in named.items() if number is None)),
    )
