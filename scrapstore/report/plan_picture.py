"""The top of an answer in its own cloth: gathers from the store what the picture is drawn from."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from scrapstore.colour import SAYS_ITS_VALUE, colour_words, typical_rgb
from scrapstore.planning.places import pieces_in_place
from scrapstore.planning.result import MatchResult, Place
from scrapstore.projects import Role
from scrapstore.report.cloth_pictures import cloth_picture, plain_rgb
from scrapstore.report.forms import ClothPicture, Rgb
from scrapstore.report.painting import Drawing
from scrapstore.report.picture_file import write_picture
from scrapstore.report.top_picture import Patch, label_marks, top_drawing
from scrapstore.sentences import several
from scrapstore.settings import Settings
from scrapstore.store import Fabric, Reader, ReadyCut, Scrap, StockFilter, Store, Yardage

__all__ = ["Top", "labelled_top", "top_of", "write_top"]

_PIXELS: Final = 1600
"""Of a scrap's picture, before it is cropped to what the top shows of it."""
_BLANK: Final[Rgb] = (236, 234, 228)


@dataclass(frozen=True)
class Top:
    """What the top of an answer looks like: its patches, and the pictures of scraps by number."""

    patches: tuple[Patch, ...]
    pictures: Mapping[int, ClothPicture]


def top_of(store: Store, result: MatchResult) -> Top:
    """Return the top of an answer as its cloth lies there. Raises PlanError without a design."""
    placed = pieces_in_place(result)
    scraps = {cut.scrap.id: cut.scrap for cut in result.cuts}
    with store.read() as reader:
        looks = _Looks(reader, result)
        patches = tuple(
            Patch(piece.position, piece.outline, *looks.of(place, piece.role), place.label,
                  place.scrap, place.to_scrap)
            for piece, place in placed
        )  # fmt: skip
    shown = {patch.scrap for patch in patches if patch.scrap is not None}
    found = {number: cloth_picture(store, scraps[number], _PIXELS) for number in sorted(shown)}
    return Top(patches, {number: one for number, one in found.items() if one is not None})


def labelled_top(store: Store, result: MatchResult) -> Drawing:
    """Return the top with the label of each piece, to find where it comes. Raises as `top_of`."""
    top = top_of(store, result)
    return top_drawing("", top.patches, top.pictures, marks=label_marks(top.patches))


def write_top(
    store: Store, result: MatchResult, file: Path, settings: Settings, *, grey: bool = False
) -> Path:
    """Write the picture of an answer's top to `file`; return where it is.

    Raises PlanError without a design, and as `write_picture` does.
    """
    top, title = top_of(store, result), result.project.name
    drawing = top_drawing(
        f"{title}, by value" if grey else title, top.patches, top.pictures, grey=grey
    )
    return write_picture(drawing, file, "top", title=title, paper=settings.page)


class _Looks:
    """The colour and the word of each cloth of an answer."""

    def __init__(self, reader: Reader, result: MatchResult) -> None:
        self._reader = reader
        self._roles = result.project.roles
        self._scraps = {cut.scrap.id: cut.scrap for cut in result.cuts}
        self._known: dict[tuple[type, int], tuple[Rgb, str]] = {}

    def of(self, place: Place, role: str) -> tuple[Rgb, str]:
        """Return how the cloth at a place looks in plain colour, and what it is called."""
        if place.scrap is not None:
            return self._look(self._scraps[place.scrap])
        if place.ready is not None:
            return self._look(self._reader.ready_cut_lot(place.ready))
        if place.length is not None:
            return self._look(self._reader.yardage_length(place.length))
        if place.label:
            return _asked_for(self._roles[role])
        return _BLANK, "nothing gives these yet"

    def _look(self, cloth: Scrap | ReadyCut | Yardage) -> tuple[Rgb, str]:
        key = type(cloth), cloth.id
        if key not in self._known:
            self._known[key] = self._seen(cloth)
        return self._known[key]

    def _seen(self, cloth: Scrap | ReadyCut | Yardage) -> tuple[Rgb, str]:
        if isinstance(cloth, Scrap):
            word = _colour(cloth.shown_value, cloth.shown_family)
            named = f"{cloth.fabric.name} ({word})" if cloth.fabric else f"{word}, scrap {cloth.id}"
            return plain_rgb(cloth), named
        fabric = cloth.fabric
        like = None if fabric is None else self._scrap_of(fabric)
        if like is not None:
            return self._look(like)
        family, value = (fabric.family, fabric.value) if fabric else (None, None)
        if isinstance(cloth, ReadyCut):
            family, value = cloth.family or family, cloth.value or value
        rgb = _BLANK if family is None else typical_rgb(family, value)
        word = _colour(value, family)
        return rgb, f"{fabric.name} ({word})" if fabric else f"{word}, ready-cut no. {cloth.id}"

    def _scrap_of(self, fabric: Fabric) -> Scrap | None:
        """Return a scrap that shows how a fabric looks; None where there is none."""
        scraps = self._reader.scraps(StockFilter(fabrics=(fabric.name,), statuses=()))
        return max(scraps, key=lambda one: (bool(one.swatches), -one.id), default=None)


def _colour(value: str | None, family: str | None) -> str:
    return colour_words(family, value, unknown="no colour yet")


def _asked_for(role: Role) -> tuple[Rgb, str]:
    """Return how cloth that is still to be bought for a role may look."""
    values = () if {*role.families} <= {*SAYS_ITS_VALUE} else role.values
    words = [several(list(some), "or") for some in (values, role.families) if some]
    asked = several(list(role.fabrics), "or") or " ".join(words) or "any cloth"
    value = role.values[0] if role.values else None
    rgb = typical_rgb(role.families[0], value) if role.families else _BLANK
    return rgb, f"to buy: {asked}"
