"""What the sheets are drawn from: plain values, gathered by an action from the other rooms."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shapely import MultiPolygon, Polygon, affinity

from scrapstore.shapes import CuttingPlan
from scrapstore.units import Paper, Units

if TYPE_CHECKING:
    from scrapstore.report.painting import Drawing

__all__ = [
    "ClothDrawing",
    "ClothPicture",
    "CuttingReport",
    "Fetch",
    "PieceLine",
    "RoleShort",
    "ScrapSheet",
    "StripPicture",
    "StripSource",
    "Template",
]

Rgb = tuple[int, int, int]


@dataclass(frozen=True)
class ClothPicture:
    """A JPEG of the cloth seen straight from above, to be drawn inside the scrap's outline.

    `box` is what it covers: left, bottom, right, top in the scrap's own inches.
    """

    data: bytes
    box: tuple[float, float, float, float]


@dataclass(frozen=True)
class ClothDrawing:
    """What is drawn round and under the pieces of a cutting plan, in the plan's frame.

    `region` is what may be cut. `colour` fills the outline, and `picture` lies over it, which is in
    the cloth's own inches. `grain_heads`: how many heads the grain arrow has, 1 for a one-way
    print, 0 for no arrow.
    """

    region: Polygon | MultiPolygon | None = None
    flaws: tuple[Polygon, ...] = ()
    colour: Rgb = (236, 234, 228)
    picture: ClothPicture | None = None
    grain_heads: int = 0


@dataclass(frozen=True)
class PieceLine:
    """One line of the piece list, with what becomes of it.

    `finished` is the finished outline, whose first edge is edge 1 of the project file; `cut_size`
    is the cut size as a ruler reads it, one measure an entry.
    """

    letter: str
    name: str
    role: str
    label: str
    finished: Polygon
    cut_size: tuple[str, ...]
    wanted: int
    ready: int
    scraps: int
    yardage: int


@dataclass(frozen=True)
class ScrapSheet:
    """One scrap, and how it is cut.

    `size` and `reads_as` are for finding it. `photo` is a small JPEG, shown where the cloth has no
    picture of its own; `notes` are sentences.
    """

    scrap_id: int
    title: str
    place: str | None
    size: str
    reads_as: str
    cutting: CuttingPlan
    cloth: ClothDrawing
    grain_known: bool
    photo: bytes | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class StripPicture:
    """One strip of yardage: what to cut, and how it is cut on; `text` says what its plan does not.

    `along_grain`: it runs along the lengthwise grain, else across it. `alike`: the labels of the
    pieces of other strips that are cut in the same way.
    """

    title: str
    text: str
    cutting: CuttingPlan
    along_grain: bool = False
    alike: tuple[str, ...] = ()


@dataclass(frozen=True)
class StripSource:
    """A length at hand or to be bought, described in `text`, and the strips to cut from it."""

    text: str
    strips: tuple[StripPicture, ...]


@dataclass(frozen=True)
class RoleShort:
    """What a role still needs from yardage: what is wanting, from what to cut it, what to buy."""

    role: str
    buy: str
    wanting: str
    sources: tuple[StripSource, ...]


@dataclass(frozen=True)
class Fetch:
    """Something to fetch from its `place`; what is `cloth` is also pressed and squared up."""

    place: str
    what: str
    cloth: bool = True


@dataclass(frozen=True)
class Template:
    """A shape to be cut round: `cut` and `finished` in one frame, inches.

    `letters` are those of the lines of the piece list that it serves, `names` and `counts` theirs,
    each in the same order; `sizes` are its cut sizes, `finishes_as` the finished one.
    `grain_deg` is how the lengthwise grain runs, counter-clockwise from +x, None where it may lie
    anyhow; `one_way`: the arrow points the way the print runs; `both_ways`: the grain may as well
    run square to the arrow. `handed`: it must not be turned over.
    """

    letters: tuple[str, ...]
    names: tuple[str, ...]
    counts: tuple[int, ...]
    finishes_as: str
    sizes: tuple[str, ...]
    cut: Polygon
    finished: Polygon
    grain_deg: float | None
    one_way: bool = False
    both_ways: bool = False
    handed: bool = False

    @property
    def turned(self) -> "Template":
        """The same, a quarter turn on."""
        return Template(
            self.letters, self.names, self.counts, self.finishes_as, self.sizes,
            affinity.rotate(self.cut, 90, origin=(0, 0)),
            affinity.rotate(self.finished, 90, origin=(0, 0)),
            None if self.grain_deg is None else self.grain_deg + 90,
            self.one_way, self.both_ways, self.handed,
        )  # fmt: skip


@dataclass(frozen=True)
class CuttingReport:
    """The whole answer for one project; `answer` says first what can be done.

    `limit` says how much more could be covered, or is empty. `fetch` is in the order of places,
    `templates` are of the pieces that a ruler alone does not cut, `top` shows where each comes.
    """

    project: str
    finished: str
    answer: str
    limit: str
    lines: tuple[PieceLine, ...]
    sheets: tuple[ScrapSheet, ...]
    ready_lines: tuple[str, ...]
    short: tuple[RoleShort, ...]
    notes: tuple[str, ...]
    units: Units
    paper: Paper = "letter"
    fetch: tuple[Fetch, ...] = ()
    templates: tuple[Template, ...] = ()
    top: "Drawing | None" = None
