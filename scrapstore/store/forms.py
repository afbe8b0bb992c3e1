"""Working forms of what the store holds: frozen, in inches, free of the database.

A ``New…`` form is what a quilter says of a thing; the form without ``New`` is the same thing as
the store keeps it, with its number and what the store worked out. Change one with
`dataclasses.replace` and hand it to a `Writer`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final, Literal, NamedTuple, get_args

from shapely import MultiLineString, Polygon

from scrapstore.colour import Swatch, Value
from scrapstore.shapes import sides_as_drawn

__all__ = [
    "STATUSES",
    "VALUES",
    "BindingStrip",
    "Box",
    "Change",
    "ChangedRow",
    "Crumbs",
    "CutOut",
    "CutOutImage",
    "CuttableScrap",
    "Fabric",
    "Lens",
    "NewBindingStrip",
    "NewCrumbs",
    "NewFabric",
    "NewLens",
    "NewNotion",
    "NewPhoto",
    "NewReadyCut",
    "NewScrap",
    "NewStock",
    "NewYardage",
    "Notion",
    "NotionKind",
    "Promise",
    "ReadyCut",
    "Scrap",
    "Status",
    "Stored",
    "StoredPhoto",
    "StripRest",
    "Value",
    "Yardage",
]

Status = Literal["available", "set aside", "used up"]
"""Free for any project; promised to one; gone."""
STATUSES: Final[tuple[Status, ...]] = get_args(Status)

VALUES: Final[tuple[Value, ...]] = get_args(Value)

Box = tuple[float, float, float, float]
"""Left, bottom, right, top; inches."""


@dataclass(frozen=True, kw_only=True)
class Stored:
    """What every thing in the store has: its number, and when it was added."""

    id: int
    created: datetime


@dataclass(frozen=True, kw_only=True)
class NewFabric:
    """A cloth as bought: what is true of every scrap and length of it.

    `usable_width` is between the selvages, in inches; `alike` says that the right and the wrong
    side look the same, so that a piece may be turned over; None means not known.
    """

    name: str
    fibre: str | None = None
    usable_width: float | None = None
    washed: bool | None = None
    one_way_print: bool = False
    alike: bool = False
    family: str | None = None
    value: Value | None = None
    note: str | None = None
    retired: bool = False


@dataclass(frozen=True, kw_only=True)
class Fabric(NewFabric, Stored):
    """A fabric in the store."""


@dataclass(frozen=True, kw_only=True)
class NewPhoto:
    """A picture kept in the store's photo folder.

    `sha256` is of the file as it was logged; `file_name` is the stored copy's, made of that copy's
    own SHA-256; `width` and `height` are in pixels, upright.
    """

    sha256: str
    file_name: str
    width: int
    height: int
    original_name: str | None = None
    camera: str | None = None
    focal_length_mm: float | None = None
    taken: datetime | None = None


@dataclass(frozen=True, kw_only=True)
class StoredPhoto(NewPhoto, Stored):
    """A photo in the store."""


@dataclass(frozen=True, kw_only=True)
class NewLens:
    """A lens as a photo taught it.

    `name` gives camera, focal length and the picture's shape, and is what later photos are known
    by. `focal` is the focal length in long sides of the picture, `k1` the radial distortion; their
    standard errors are `focal_sigma` (relative) and `k1_sigma`.
    """

    name: str
    focal: float
    k1: float
    focal_sigma: float
    k1_sigma: float
    photo: StoredPhoto | None = None

    @property
    def bend_percent(self) -> float:
        """By how much the lens moves what lies at the middle of the picture's short sides."""
        return 100 * self.k1 * (0.5 / self.focal) ** 2


@dataclass(frozen=True, kw_only=True)
class Lens(NewLens, Stored):
    """A lens in the store."""


@dataclass(frozen=True)
class CutOut:
    """Where the picture of a scrap alone lies: cut from its photo, seen straight from above.

    `file_name` is in the photo folder; the picture covers `box` in the frame of the scrap's
    outline. An offcut whose outline is drawn in the same frame may have the same one.
    """

    file_name: str
    box: Box


class CutOutImage(NamedTuple):
    """The picture of a scrap alone: a JPEG that covers `box` in the frame of its outline."""

    data: bytes
    box: Box


@dataclass(frozen=True, kw_only=True)
class NewStock:
    """What all stock has: where it is kept, and whether it is free for any project."""

    place: str | None = None
    status: Status = "available"
    set_aside_for: str | None = None
    note: str | None = None


@dataclass(frozen=True, kw_only=True)
class _NewCloth(NewStock):
    """Stock whose fabric may not be known; its own family and value come before its fabric's."""

    fabric: Fabric | None = None
    family: str | None = None
    value: Value | None = None

    @property
    def shown_family(self) -> str | None:
        """The family that holds: its own, else its fabric's."""
        return self.family or (self.fabric.family if self.fabric else None)

    @property
    def shown_value(self) -> str | None:
        """The value that holds: its own, else its fabric's."""
        return self.value or (self.fabric.value if self.fabric else None)


@dataclass(frozen=True, kw_only=True)
class NewScrap(_NewCloth):
    """One scrap of cloth.

    `outline` is the true outline in inches in the scrap's own frame, holes included; `flaws` are
    areas of it that no piece may touch; `grain_deg` is the direction of the lengthwise grain in
    that frame, counter-clockwise from +x, None when not known. `margin` is kept free along the
    edge (fraying); `uncertainty` is how far the outline may be off; both in inches.
    `old_edges` is that part of the edge; None is all of it, as for any scrap but an offcut.
    `corrected` names the fields that the user set against what the program read from the photo.
    `cut_out` is the picture of the scrap alone, None where it was not measured from its photo.
    """

    outline: Polygon
    flaws: tuple[Polygon, ...] = ()
    grain_deg: float | None = None
    margin: float = 0.0
    uncertainty: float = 0.0
    old_edges: MultiLineString | None = None
    name: str | None = None
    from_project: str | None = None
    photo: StoredPhoto | None = None
    cut_out: CutOut | None = None
    swatches: tuple[Swatch, ...] = ()
    accents: tuple[str, ...] = ()
    corrected: tuple[str, ...] = ()
    parent_id: int | None = None

    @property
    def title(self) -> str:
        """What a quilter calls it: its own name, its fabric's, or both."""
        fabric = self.fabric.name if self.fabric else None
        if self.name and fabric and fabric != self.name:
            return f"{self.name} ({fabric})"
        return self.name or fabric or "no name"


@dataclass(frozen=True, kw_only=True)
class Scrap(NewScrap, Stored):
    """A scrap in the store.

    `area` is of the true outline without flaws taken off, in square inches; `long_side` and
    `short_side` are of the smallest rectangle round it, in inches. `tints` are those of its
    swatches where its family is a neutral one, the likeliest first (`scrapstore.colour.tints`).
    All are worked out: writing the scrap back does not change them.
    """

    area: float
    long_side: float
    short_side: float
    tints: tuple[str, ...] = ()

    @property
    def sides(self) -> tuple[float, float]:
        """The two sides in the order typed or drawn, inches."""
        return sides_as_drawn(self.long_side, self.short_side, self.outline.bounds)


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttableScrap:
    """What bears on cutting a scrap.

    `edge` is its margin and uncertainty together, in inches, kept from `old_edges` (None: from all
    of the edge); family and value are the scrap's own
    or else its fabric's.
    """

    id: int
    outline: Polygon
    flaws: tuple[Polygon, ...]
    grain_deg: float | None
    edge: float
    old_edges: MultiLineString | None
    fabric: str | None
    family: str | None
    value: str | None
    fibre: str | None
    one_way_print: bool
    alike: bool


@dataclass(frozen=True, kw_only=True)
class NewYardage(NewStock):
    """A length of fabric over its full width; `length` runs along the selvage, in inches.

    `usable_width` overrules the fabric's own, for a length that was torn or trimmed.
    """

    fabric: Fabric
    length: float
    usable_width: float | None = None


class Promise(NamedTuple):
    """Inches of a length that the plan of this name holds."""

    plan: str
    inches: float


@dataclass(frozen=True, kw_only=True)
class Yardage(NewYardage, Stored):
    """A length of yardage in the store; `promised` is what kept plans hold of it.

    `promised` is worked out from the plans: writing the length back does not change it.
    """

    promised: tuple[Promise, ...] = ()

    @property
    def width(self) -> float | None:
        """The usable width that holds: its own, else its fabric's; None when not known."""
        return self.usable_width or self.fabric.usable_width

    @property
    def left(self) -> float:
        """Inches that no kept plan holds."""
        return max(0.0, self.length - sum(promise.inches for promise in self.promised))


@dataclass(frozen=True, kw_only=True)
class NewReadyCut(_NewCloth):
    """Pieces already cut, all alike.

    `kind` and `measures` name the shape in the shape library, finished sizes in inches; `cut` is
    the outline as cut, with `seam_allowance` in it.
    """

    kind: str
    label: str
    cut: Polygon
    count: int
    measures: Mapping[str, float] = field(default_factory=dict)
    seam_allowance: float = 0.25


@dataclass(frozen=True, kw_only=True)
class ReadyCut(NewReadyCut, Stored):
    """Ready-cut pieces in the store; the sides are of the smallest rectangle round one piece."""

    long_side: float
    short_side: float

    @property
    def sides(self) -> tuple[float, float]:
        """The two sides of one piece in the order typed or drawn, inches."""
        return sides_as_drawn(self.long_side, self.short_side, self.cut.bounds)


@dataclass(frozen=True, kw_only=True)
class NewBindingStrip(_NewCloth):
    r"""A binding strip, lying along +x with its right side up, in inches.

    `start_slope_deg` and `end_slope_deg` say how each end is cut: 0 is straight across, 45 leans
    to the right going up (``/``), −45 to the left (``\``).
    """

    width: float
    length: float
    start_slope_deg: float = 0.0
    end_slope_deg: float = 0.0


@dataclass(frozen=True, kw_only=True)
class BindingStrip(NewBindingStrip, Stored):
    """A binding strip in the store."""


class StripRest(NamedTuple):
    """What is left of a binding strip, as `NewBindingStrip` measures it."""

    width: float
    length: float
    start_slope_deg: float
    end_slope_deg: float


NotionKind = Literal["batting", "form", "zip"]


@dataclass(frozen=True, kw_only=True)
class NewNotion(_NewCloth):
    """What a cover takes beside its cloth, `count` of them alike; a zip has a length alone."""

    kind: NotionKind
    length: float
    width: float | None = None
    count: int = 1


@dataclass(frozen=True, kw_only=True)
class Notion(NewNotion, Stored):
    """Batting, a form or a zip in the store."""


@dataclass(frozen=True, kw_only=True)
class NewCrumbs(_NewCloth):
    """A bag of strings and crumbs, too small to be listed one by one; None: not weighed."""

    grams: float | None = None


@dataclass(frozen=True, kw_only=True)
class Crumbs(NewCrumbs, Stored):
    """A bag of strings and crumbs in the store."""


@dataclass(frozen=True, kw_only=True)
class ChangedRow:
    """One thing before and after a change; None before means added, None after means taken out.

    `before` and `after` are whole: every field, outlines as GeoJSON geometries.
    """

    kind: str
    row_id: int
    before: Mapping[str, Any] | None
    after: Mapping[str, Any] | None


@dataclass(frozen=True, kw_only=True)
class Change:
    """What one visit to the store changed, in one transaction; `more` rows of it were not read.

    `undoes` is the number of the change that this one took back, `undone_by` that of the one that
    took this back.
    """

    id: int
    at: datetime
    what: str
    rows: tuple[ChangedRow, ...]
    more: int = 0
    undoes: int | None = None
    undone_by: int | None = None
