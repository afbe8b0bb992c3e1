"""``log``: photos of scraps into the store.

One photo is held in memory at a time. Each goes in as one transaction after its stored copy is on
the disk, so that whatever happens meanwhile, a finished record is whole and a record never lacks
its picture. What cannot go in is refused by name, and the rest still goes in.
"""

import hashlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from scrapstore.actions.lens import kept_profiles, learn
from scrapstore.colour import dominant_colours, reads_as
from scrapstore.errors import (
    NotFoundError,
    PhotoError,
    ScrapstoreError,
    ShapeError,
)
from scrapstore.photo import LensProfile, Photo, open_photo, stored_copy
from scrapstore.photo.picture import is_greyscale, photos_in
from scrapstore.photo.segmentation import cloth_pixels
from scrapstore.printable import printable
from scrapstore.settings import Settings
from scrapstore.stock_entry.measured import Draft, Measuring, draft, new_scraps
from scrapstore.stock_entry.notes import ToMeasure
from scrapstore.stock_entry.size_list import LIST_NAME, Entry, TypedScrap, read_size_list
from scrapstore.stock_entry.words import project_called
from scrapstore.store import (
    Fabric,
    NewFabric,
    NewPhoto,
    NewScrap,
    Scrap,
    StockFilter,
    Store,
    StoredPhoto,
    Writer,
)

__all__ = ["LogResult", "Logged", "Refused", "Skipped", "log_photos"]

_LEARNED: Final = (
    "its squares, spread round the scraps, taught the lens {}; from now on a photo of it with the "
    "whole card is measured as truly"
)
_GREY: Final = (
    "the picture has no colour in it, so nothing of the scrap's colours is known but what was "
    "typed; scrap edit --family says it"
)
_HASHED_AT_MOST: Final = 500_000_000
"""Bytes; a larger file is no photo and `open_photo` says so."""


@dataclass(frozen=True, kw_only=True)
class Logged:
    """A photo that went in, and its scraps.

    `preview` is the picture of what was measured, None where sizes were typed; `numbers` are those
    of the scraps in it; `notes` are sentences about the measuring, such as why a thing in the
    picture was not measured, and name scraps by these numbers.
    """

    path: Path
    scraps: tuple[Scrap, ...]
    preview: Path | None = None
    numbers: tuple[int, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Skipped:
    """A photo that the store has already, and the scraps that were logged from it."""

    path: Path
    scraps: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class Refused:
    """A photo that did not go in, and why; `reason` is a sentence that names it."""

    path: Path
    reason: str


@dataclass(frozen=True, kw_only=True)
class LogResult:
    """What became of the photos, each list in the order they were logged.

    `left` are those that Ctrl-C kept from being looked at, or that it broke off. `as_listed` are
    those of which the list says otherwise than what was typed on the call, and the list held.
    """

    logged: tuple[Logged, ...]
    skipped: tuple[Skipped, ...]
    refused: tuple[Refused, ...]
    left: tuple[Path, ...] = ()
    as_listed: tuple[Path, ...] = ()


def log_photos(
    store: Store,
    paths: Sequence[Path],
    settings: Settings,
    *,
    typed: TypedScrap | None = None,
    measuring: Measuring | None = None,
    again: bool = False,
    make_fabrics: bool = False,
    advance: Callable[[int, int], None] = lambda _done, _of: None,
) -> LogResult:
    """Log photos: `paths` are files and folders.

    What the file ``scraps.toml`` beside a photo says of it holds; for the others, `typed`; else
    they are measured as `measuring` says (None: refused). Of photos that are measured what was
    typed on the call, in `measuring`, goes before the list. All scraps of one photo go in together,
    or none. Fabrics that the store does not know are added when `make_fabrics`, else
    their photos are refused. A photo that the store has already is skipped unless `again`.
    `advance` is called with the number of photos done and of all. Ctrl-C ends the work between two
    photos; what was not looked at then is `left`.

    Raises PhotoError or StoreError when nothing can be logged at all, or when photos are to be
    measured and there is nobody to ask what to keep (nothing is stored then); StoreError when the
    store fails on the way (what was logged before stays).
    """
    files = photos_in(paths)
    notes = _PhotoNotes(settings, typed, measuring)
    how = _How(settings, notes, measuring, again=again, make_fabrics=make_fabrics)
    if measuring is not None and measuring.choose is None:
        _refuse_unasked(store, files, notes, again=again)
    logged: list[Logged] = []
    skipped: list[Skipped] = []
    refused = [
        Refused(path=path, reason=f"{LIST_NAME}: {path.name} is listed and not there; log it later")
        for path in notes.listed_and_missing(paths)
    ]
    left: list[Path] = []
    for done, path in enumerate(files):
        try:
            advance(done, len(files))
            outcome = _log_one(store, path, how)
        except KeyboardInterrupt:
            # The photo it came in is whole in the store by now, or not in it at all.
            went_in = None if again else _gone_in(store, path)
            logged += [went_in] if went_in else []
            left = files[done + 1 if went_in else done :]
            break
        except (PhotoError, ShapeError, NotFoundError, _SlipError) as error:
            refused.append(Refused(path=path, reason=_naming(path, error)))
        else:
            if isinstance(outcome, Logged):
                logged.append(outcome)
            else:
                skipped.append(outcome)
    else:
        advance(len(files), len(files))
    return LogResult(
        logged=tuple(logged),
        skipped=tuple(skipped),
        refused=tuple(refused),
        left=tuple(left),
        as_listed=tuple(one.path for one in logged if one.path in notes.as_listed),
    )


class _SlipError(ScrapstoreError):
    """What was typed of one photo cannot be used."""


class _PhotoNotes:
    """What was typed of each photo; the list of a folder is read once."""

    def __init__(
        self, settings: Settings, others: TypedScrap | None, measuring: Measuring | None
    ) -> None:
        self._settings = settings
        self._others: TypedScrap | ToMeasure | None = others
        if others is None and measuring is not None:
            self._others = measuring.said
        self._measures = measuring is not None
        self._lists: dict[Path, dict[str, Entry]] = {}
        self.as_listed: set[Path] = set()

    def of(self, path: Path) -> TypedScrap | ToMeasure:
        """Return what was typed of the photo `path`."""
        entry = self._list(path.parent).get(path.name)
        if isinstance(entry, ScrapstoreError):
            raise _SlipError(str(entry))
        if isinstance(entry, ToMeasure) and not self._measures:
            raise _SlipError("it is to be measured, and this call does not measure")
        if isinstance(entry, ToMeasure) and isinstance(self._others, ToMeasure):
            return entry.but(self._others)
        if entry is not None:
            if self._others not in (None, ToMeasure(), entry):
                self.as_listed.add(path)
            return entry
        if self._others is not None:
            return self._others
        msg = f"no size was typed; give --size (or another), or list it in {LIST_NAME} beside it"
        raise _SlipError(msg)

    def listed_and_missing(self, paths: Iterable[Path]) -> Iterator[Path]:
        """Yield what the lists of the folders among `paths` name and that is not there."""
        for folder in paths:
            if folder.is_dir():
                yield from (
                    folder / name for name in self._list(folder) if not (folder / name).exists()
                )

    def _list(self, folder: Path) -> dict[str, Entry]:
        if folder not in self._lists:
            file = folder / LIST_NAME
            there = file.is_file()
            self._lists[folder] = read_size_list(file, self._settings) if there else {}
        return self._lists[folder]


def _gone_in(store: Store, path: Path) -> Logged | None:
    """Return what the store has of the photo `path`, None when it is not in."""
    photo = _known_photo(store, _digest(path))
    if photo is None:
        return None
    with store.read() as reader:
        numbers = reader.scraps_on_photo(photo.id)
        scraps = reader.scraps(StockFilter(ids=numbers, statuses=())) if numbers else ()
    return Logged(path=path, scraps=scraps)


def _naming(path: Path, error: ScrapstoreError) -> str:
    text = str(error)
    return text if path.name in text else f"{path.name}: {text}"


@dataclass(frozen=True)
class _How:
    """What holds for every photo of one call."""

    settings: Settings
    notes: _PhotoNotes
    measuring: Measuring | None
    again: bool
    make_fabrics: bool


def _refuse_unasked(
    store: Store, files: Sequence[Path], notes: _PhotoNotes, *, again: bool
) -> None:
    """Raise PhotoError if one of `files` would have to be asked about.

    A file that is not there, or is no photo, is refused first: there is nothing to ask about it.
    """
    for path in files:
        if not path.is_file():
            continue  # refused by name later
        try:
            asks = isinstance(notes.of(path), ToMeasure)
        except _SlipError:
            continue  # refused by name later
        if asks and (again or _known_photo(store, _digest(path)) is None):
            open_photo(next((one for one in files if not one.is_file()), path))
            msg = (
                f"{path.name}: there is no terminal to ask which of its scraps to keep; give --yes "
                "to keep all that are measured, or type the size of a single scrap with --size; "
                "nothing was stored"
            )
            raise PhotoError(msg)


def _log_one(store: Store, path: Path, how: _How) -> Logged | Skipped:
    if not how.again:
        # Known by its bytes, a photo need not be decoded to be skipped.
        known = _known_photo(store, _digest(path))
        if known is not None:
            return _skip(store, path, known)
    said = how.notes.of(path)
    if isinstance(said, ToMeasure):
        return _log_measured(store, path, said, how)
    photo = open_photo(path)
    _look_up(store, () if said.fabric is None else (said.fabric,), how)
    if is_greyscale(photo.pixels):
        done = _store(store, path, photo, [(said.scrap, said.fabric)], how)
        return done if isinstance(done, Skipped) else replace(done, notes=(_GREY, *done.notes))
    return _store(store, path, photo, [(_with_colours(said.scrap, photo), said.fabric)], how)


def _log_measured(store: Store, path: Path, said: ToMeasure, how: _How) -> Logged | Skipped:
    measuring = how.measuring
    if measuring is None or measuring.choose is None:
        open_photo(path)  # says what is wrong with the photo itself, which comes first
        raise _SlipError("it is to be measured, and nobody can say what to keep; give --yes")
    _look_up(store, said.fabrics(), how)
    # What an earlier photo of this very call taught is known by now.
    lenses = (*measuring.lenses, *kept_profiles(store))
    found = draft(path, said, replace(measuring, lenses=lenses), how.settings)
    if not how.again:
        found = replace(found, stored=_in_store(store, found))
    keep = tuple(sorted(set(measuring.choose(found)))) if found.offered else ()
    notes = found.notes
    if not keep:
        return Logged(path=path, scraps=(), preview=found.picture, notes=notes)
    scraps = new_scraps(found, keep, how.settings, store.keep_cut_out)
    done = _store(store, path, found.reading.photo, scraps, how, lens=found.reading.lens)
    if isinstance(done, Skipped):
        return done
    return replace(done, preview=found.picture, numbers=keep, notes=(*notes, *done.notes))


def _in_store(store: Store, found: Draft) -> frozenset[int]:
    """Return which of the labels' numbers are scraps of the store, whatever became of them."""
    numbers = tuple(label.number for label in found.labels)
    with store.read() as reader:
        scraps = reader.scraps(StockFilter(ids=numbers, statuses=())) if numbers else ()
    return frozenset(scrap.id for scrap in scraps)


def _look_up(store: Store, fabrics: Iterable[NewFabric], how: _How) -> None:
    """Raise NotFoundError for a fabric that may not be made, before any work is done."""
    if not how.make_fabrics:
        with store.read() as reader:
            for fabric in fabrics:
                reader.fabric(fabric.name)


def _store(
    store: Store,
    path: Path,
    photo: Photo,
    scraps: Sequence[tuple[NewScrap, NewFabric | None]],
    how: _How,
    *,
    lens: LensProfile | None = None,
) -> Logged | Skipped:
    """Put a photo, its scraps and its lens in, in one transaction after the photo's file is there.

    `lens` is what the photo taught of it.
    """
    copy = stored_copy(path)
    file_name = store.keep_photo(copy.data, copy.suffix)
    with store.change("log") as writer:
        row = writer.find_photo(sha256=photo.sha256, file_name=file_name)
        if row is not None and not how.again:
            # The same picture under other bytes, or another process was quicker.
            return Skipped(path=path, scraps=writer.scraps_on_photo(row.id))
        row = row or writer.add_photo(_new_photo(photo, path, file_name))
        notes = [_LEARNED.format(lens.key)] if lens and learn(writer, lens, row) else []
        added = []
        for scrap, named in scraps:
            cloth = None if named is None else _fabric(writer, named, make=how.make_fabrics)
            own = scrap.from_project and project_called(writer, scrap.from_project)
            new = replace(scrap, photo=row, fabric=cloth, from_project=own)
            added.append(writer.add_scrap(new))
    return Logged(path=path, scraps=tuple(added), notes=tuple(notes))


def _digest(path: Path) -> str | None:
    """Return the SHA-256 of the file, None for what is no file or far too large for a photo."""
    try:
        if not path.is_file() or path.stat().st_size > _HASHED_AT_MOST:
            return None
        with path.open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest()
    except OSError:
        return None  # `open_photo` says what is wrong with it


def _known_photo(store: Store, sha256: str | None) -> StoredPhoto | None:
    if sha256 is None:
        return None
    with store.read() as reader:
        return reader.find_photo(sha256=sha256)


def _skip(store: Store, path: Path, photo: StoredPhoto) -> Skipped:
    """Skip a photo that is there already; write its stored copy anew if that is lost or damaged."""
    if not store.holds(photo.file_name):
        copy = stored_copy(path)
        store.keep_photo(copy.data, copy.suffix)
    with store.read() as reader:
        return Skipped(path=path, scraps=reader.scraps_on_photo(photo.id))


def _with_colours(scrap: NewScrap, photo: Photo) -> NewScrap:
    """Return `scrap` with its swatches and what they read as; what was typed stays."""
    swatches = dominant_colours(cloth_pixels(photo.pixels))
    reading = reads_as(swatches)
    return replace(
        scrap,
        swatches=swatches,
        family=scrap.family or reading.family,
        accents=scrap.accents or reading.accents,
        value=scrap.value or reading.value,
        corrected=tuple(
            sorted(field for field in ("family", "accents", "value") if getattr(scrap, field))
        ),
    )


def _new_photo(photo: Photo, path: Path, file_name: str) -> NewPhoto:
    height, width = photo.pixels.shape[:2]
    return NewPhoto(
        sha256=photo.sha256,
        file_name=file_name,
        original_name=printable(path.name),
        width=width,
        height=height,
        camera=photo.camera and printable(photo.camera),
        focal_length_mm=photo.focal_length_mm,
        taken=photo.taken,
    )


def _fabric(writer: Writer, typed: NewFabric, *, make: bool) -> Fabric:
    try:
        fabric = writer.fabric(typed.name)
    except NotFoundError:
        if not make:
            raise
        return writer.add_fabric(typed)
    if fabric.retired:
        msg = f"fabric {fabric.name!r} is retired; bring it back with fabric reinstate"
        raise _SlipError(msg)
    return fabric
