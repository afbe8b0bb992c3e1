"""Scraps measured from a photo: the measuring, the preview, and what goes into the store.

`draft` measures a photo and draws its preview; `new_scraps` makes scraps of what is kept. Neither
changes the store's rows: `scrapstore.actions.log` does.
"""

import io
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from shapely import Polygon

from scrapstore.colour import reads_as
from scrapstore.errors import PhotoError
from scrapstore.photo import (
    OUR_PRINT,
    LensProfile,
    MeasuredScrap,
    Measurement,
    Refusal,
    RefusedError,
    SquareSet,
    cut_out,
    measure,
    open_photo,
    preview,
    refused_preview,
    said_of_left_out,
)
from scrapstore.sentences import several
from scrapstore.settings import Settings
from scrapstore.shapes import bounding_sides, sides_as_drawn
from scrapstore.shapes.typed_outlines import grain_of
from scrapstore.stock_entry.laid_labels import LaidLabel, laid_labels
from scrapstore.stock_entry.notes import Noted, ToMeasure
from scrapstore.store import Box, CutOut, NewFabric, NewScrap
from scrapstore.units import Units, format_size

if TYPE_CHECKING:
    from PIL.Image import Image

__all__ = ["Chooser", "Draft", "Measuring", "draft", "keep_all", "new_scraps"]

_SAYS_IT: Final = ("type the sizes", "type its size")  # a remedy that ends so
_TYPE_IT: Final = "photograph one scrap alone and type its size with --size"
_MEASURED_ANGLES: Final = ("suggested", "across")


@dataclass(frozen=True, kw_only=True, eq=False)
class Draft:
    """A photo as measured, before anything is stored; `picture` is the preview's file.

    `labels` are those that lie in it; `stored` the numbers on them whose scraps are in the store
    and are not to go in once more.
    """

    path: Path
    reading: Measurement
    picture: Path
    said: ToMeasure
    units: Units
    labels: tuple[LaidLabel, ...] = ()
    stored: frozenset[int] = frozenset()

    @property
    def offered(self) -> tuple[int, ...]:
        """The numbers that go in unless somebody says otherwise."""
        numbers = range(1, len(self.reading.scraps) + 1)
        there = {label.beside for label in self.labels if label.number in self.stored}
        without = self.said.leave_out.union(there, *(label.paper for label in self.labels))
        return tuple(number for number in numbers if number not in without)

    @property
    def notes(self) -> tuple[str, ...]:
        """Sentences about the measuring, and about labels."""
        return (
            *self.reading.notes_on(self._measured),
            *self._holes(),
            *said_of_left_out(self.reading.left_out),
            *(self._about(label) for label in self.labels),
        )

    @property
    def _measured(self) -> list[int]:
        """The numbers that go in with their measured outline, unless somebody says otherwise."""
        return [number for number in self.offered if self.said.of(number).typed is None]

    def _holes(self) -> Iterator[str]:
        """Yield a sentence for each scrap with holes: a print of the surface's colour looks alike.

        One whose size is typed has none.
        """
        for number in self._measured:
            rings = self.reading.scraps[number - 1].outline.interiors
            sizes = [_sides_text(Polygon(ring), self.units) for ring in rings]
            if sizes:
                yield (
                    f"scrap {number} has {'a hole' if len(sizes) == 1 else f'{len(sizes)} holes'} "
                    f"of {several(sizes)}, through which the surface was seen; if that is print "
                    "and no hole, scrap edit NUMBER --fill-holes puts it right once it is logged, "
                    "NUMBER being its number in the store"
                )

    def _about(self, label: LaidLabel) -> str:
        scrap = f"scrap {label.number}"
        if label.beside is None:
            return f"a label of {scrap} lies in the picture, and no scrap near it"
        beside = f"number {label.beside} in the preview"
        if label.number not in self.stored:
            return f"a label of {scrap} lies by {beside}, which is logged as a new scrap"
        return (
            f"{beside} lies by the label of {scrap}, which is in the store: it is not logged again "
            "(--again logs it once more)"
        )


def _sides_text(shape: Polygon, units: Units) -> str:
    return format_size(*sides_as_drawn(*bounding_sides(shape), shape.bounds), units)


Chooser = Callable[[Draft], Iterable[int]]
"""Asks which of the offered scraps to keep; their numbers."""


def keep_all(draft: Draft) -> Iterable[int]:
    """Keep every scrap that is offered."""
    return draft.offered


@dataclass(frozen=True, kw_only=True)
class Measuring:
    """How photos are measured: the scale in them, and who says what is kept.

    `said` holds for photos that have no entry in a list beside them. `choose` is None where there
    is nobody to ask. `previews` is the folder for preview pictures. `lenses` are known besides
    those that the store keeps.
    """

    previews: Path
    said: ToMeasure = field(default_factory=ToMeasure)
    choose: Chooser | None = keep_all
    squares: SquareSet = OUR_PRINT
    printed_scale: float = 1.0
    lenses: tuple[LensProfile, ...] = ()


def draft(path: Path, said: ToMeasure, measuring: Measuring, settings: Settings) -> Draft:
    """Measure the photo at `path` and write its preview.

    Raises PhotoError with reason and remedy when it cannot be measured, or when `said` speaks of a
    scrap that was not found.
    """
    reading = measure(
        path,
        squares=measuring.squares,
        lens=measuring.lenses,
        printed_scale=measuring.printed_scale,
    )
    if not isinstance(reading, Measurement):
        if reading.code in ("unreadable", "too large"):
            raise RefusedError(path.name, reading)
        raise PhotoError(f"{path.name}: {_refused(path, reading, measuring.previews)}")
    count = len(reading.scraps)
    unknown = sorted((said.leave_out | said.scraps.keys()) - set(range(1, count + 1)))
    if unknown:
        msg = (
            f"{path.name}: there is no scrap {unknown[0]}, {count} were measured; "
            f"look at the numbers in {_drawn(path, reading, measuring.previews, settings)}"
        )
        raise PhotoError(msg)
    picture = _drawn(path, reading, measuring.previews, settings)
    labels = laid_labels(reading)
    return Draft(
        path=path, reading=reading, picture=picture, said=said, units=settings.units, labels=labels
    )


def _refused(path: Path, refusal: Refusal, folder: Path) -> str:
    """Return what is said of a photo of which nothing is measured.

    Where that is because of things that lie in it, they are drawn in a preview, and named by it.
    """
    type_it = (": " if refusal.remedy.endswith(_SAYS_IT) else "; or ") + _TYPE_IT
    if refusal.in_picture is None:
        return f"{refusal}{type_it}"
    photo = open_photo(path)
    drawn = _write(path, photo.sha256, refused_preview(photo, refusal), folder)
    sentences = said_of_left_out((refusal, *refusal.others))
    return f"nothing was measured. {'. '.join(sentences)}. The preview is {drawn}; or {_TYPE_IT}"


def _drawn(path: Path, reading: Measurement, folder: Path, settings: Settings) -> Path:
    return _write(path, reading.sha256, preview(reading, units=settings.units), folder)


def _write(path: Path, sha256: str, image: "Image", folder: Path) -> Path:
    # The first signs of the content keep photos of one name from different folders apart.
    target = folder / f"{path.stem}-{sha256[:8]}.jpg"
    content = io.BytesIO()
    image.save(content, "JPEG", quality=88)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content.getvalue())
    except OSError as error:
        msg = f"{target} cannot be written ({error.strerror}); name another folder with --previews"
        raise PhotoError(msg) from error
    return target


def new_scraps(
    draft: Draft,
    keep: Iterable[int],
    settings: Settings,
    keep_picture: Callable[[bytes, Box], CutOut],
) -> list[tuple[NewScrap, NewFabric | None]]:
    """Return the scraps to store of those numbered in `keep`, in order, with the fabric named.

    `keep_picture` takes the picture of each measured one, as `Store.keep_cut_out` does.

    Raises ShapeError for a grain that cannot be read.
    """
    wanted = sorted(set(keep))
    scraps = []
    for number in wanted:
        found, noted = draft.reading.scraps[number - 1], draft.said.of(number)
        scrap, fabric = _new_scrap(found, noted, settings)
        if noted.typed is None:
            picture = cut_out(draft.reading, found)
            scrap = replace(scrap, cut_out=keep_picture(picture.data, picture.box))
        scraps.append((scrap, fabric))
    return scraps


def _new_scrap(
    found: MeasuredScrap, noted: Noted, settings: Settings
) -> tuple[NewScrap, NewFabric | None]:
    read = reads_as(found.swatches)
    typed = noted.typed
    if typed is None:
        outline, uncertainty = found.outline, found.uncertainty
        grain, margin = _grain(found, noted.grain), settings.margin
    else:
        # What was typed is taken at its word; its frame is not the picture's.
        outline, uncertainty, grain = typed.outline, 0.0, typed.grain_deg
        if noted.grain is not None and noted.grain not in _MEASURED_ANGLES:
            grain = grain_of(noted.grain)
        margin = 0.0 if typed.clean else settings.margin
    scrap = NewScrap(
        outline=outline,
        uncertainty=uncertainty,
        grain_deg=grain,
        margin=margin,
        swatches=found.swatches,
        family=read.family,
        accents=read.accents,
        value=read.value,
    )
    corrected = tuple(sorted({"family", "accents", "value"} & noted.fields.keys()))
    return replace(scrap, corrected=corrected, **noted.fields), noted.fabric


def _grain(found: MeasuredScrap, text: str | None) -> float | None:
    if text is None:
        return None
    plain = text.strip().lower()
    if plain not in _MEASURED_ANGLES:
        return grain_of(text)
    if found.grain_suggestion_deg is None:
        return None
    return (found.grain_suggestion_deg + (90.0 if plain == "across" else 0.0)) % 180
