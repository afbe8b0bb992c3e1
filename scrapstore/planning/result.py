"""Working forms of an answer: what is cut from which scrap, taken ready-cut, and what is short."""

import math
from collections import Counter
from dataclasses import dataclass

from shapely import MultiPolygon

from scrapstore.matching import HelpfulChange, Miss, Pieced, Supply, Totals
from scrapstore.packing import Placement
from scrapstore.planning.allocate import Shortage
from scrapstore.projects import Project
from scrapstore.shapes import CutPiece, CuttingPlan
from scrapstore.store import ReadyCut, Scrap

__all__ = ["MatchResult", "Place", "ReadyUse", "ScrapCut"]


@dataclass(frozen=True)
class ScrapCut:
    """The pieces to cut from one scrap; `placements` lie in the scrap's own inches.

    `cutting.pieces` are the same, one by one, in the frame of the drawing.
    """

    scrap: Scrap
    region: MultiPolygon
    placements: tuple[Placement, ...]
    grain_assumed: bool
    cutting: CuttingPlan

    @property
    def labelled(self) -> tuple[tuple[Placement, CutPiece], ...]:
        """Each placement with the labelled piece it is."""
        return tuple(zip(self.placements, self.cutting.pieces, strict=True))

    @property
    def counts(self) -> dict[str, int]:
        """How many pieces of each need this scrap gives."""
        return dict(Counter(placement.kind for placement in self.placements))


@dataclass(frozen=True)
class ReadyUse:
    """So many pieces of one need out of a ready-cut lot.

    Each ready-cut piece gives `parts` of them, cut along its diagonals where that is not 1.
    """

    lot: ReadyCut
    need: str
    count: int
    parts: int = 1

    @property
    def taken(self) -> int:
        """How many ready-cut pieces of the lot that takes."""
        return math.ceil(self.count / self.parts)

    @property
    def cut_up(self) -> str:
        """Say how the pieces are cut up; nothing where they are taken as they are."""
        if self.parts == 1:
            return ""
        ways = "once" if self.parts == 2 else "twice"
        return f"from {self.taken}, each cut corner to corner {ways}"


@dataclass(frozen=True)
class Place:
    """A position of the project's design, and the piece that comes there.

    `piece` names its line of the piece list. `label` is that of the cut piece ("A1"), for a
    ready-cut one the letter of its line, and empty where nothing gives the piece. It is of the
    `scrap`, of the ready-cut lot `ready` or of the `length` with this number, else of cloth that is
    still to be bought. `to_scrap` takes inches of the top to those of the scrap (a, b, d, e, x, y:
    x' = a x + b y + x, y' = d x + e y + y).
    """

    position: str
    piece: str
    label: str = ""
    scrap: int | None = None
    ready: int | None = None
    length: int | None = None
    fabric: str | None = None
    to_scrap: tuple[float, float, float, float, float, float] | None = None


@dataclass(frozen=True)
class MatchResult:
    """The whole answer for one project; `seed` makes it again.

    `best_covered` is what the best of several answers covers, in pieces. `unmet` are those of the
    notes that say which condition of a role is not kept. `places` are in the order of the design's
    pieces; none without a design.
    """

    project: Project
    supplies: tuple[Supply, ...]
    ready: tuple[ReadyUse, ...]
    cuts: tuple[ScrapCut, ...]
    shortages: tuple[Shortage, ...]
    notes: tuple[str, ...]
    scraps_in_store: int
    scraps_looked_at: int
    seed: int
    together: Totals
    misses: tuple[Miss, ...] = ()
    changes: tuple[HelpfulChange, ...] = ()
    pieced: tuple[Pieced, ...] = ()
    choice_proven: bool = True
    stopped: bool = False
    best_covered: int = 0
    unmet: tuple[str, ...] = ()
    places: tuple[Place, ...] = ()
