"""Working forms of what can be arranged: the ways, from which cloth, and what each is cut from."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from shapely import affinity

from scrapstore.designs.arranging import Arrangement, Job, Schemed
from scrapstore.matching import Need, RoleRule
from scrapstore.packing import Placement
from scrapstore.planning.arranging.cuts import PlacePiece
from scrapstore.planning.arranging.supply import ClothSupply
from scrapstore.projects import Project

__all__ = ["ArrangeWish", "Arranged", "CuttableWay"]


@dataclass(frozen=True, slots=True)
class ArrangeWish:
    """What is asked for; no scheme, no role and no `by` mean all there are.

    Roles called background or border are arranged only where they are named.
    """

    schemes: tuple[str, ...] = ()
    roles: tuple[str, ...] = ()
    by: str | None = None
    pins: tuple[str, ...] = ()
    count: int = 6
    seed: int = 0


@dataclass(frozen=True)
class CuttableWay:
    """One arrangement that can be cut, with the piece of every place."""

    arrangement: Arrangement
    pieces: tuple[PlacePiece, ...]


@dataclass(frozen=True)
class Arranged:
    """The answer: ways by their numbers from 1, and what became of each scheme.

    `needs` and `rules` are those of the `roles` that are arranged. `grain_deg` is the direction
    of the lengthwise grain in each scrap's own frame.
    """

    project: Project
    job: Job
    supply: ClothSupply
    schemed: Schemed
    ways: tuple[CuttableWay, ...]
    needs: tuple[Need, ...]
    rules: Mapping[str, RoleRule]
    grain_deg: Mapping[int, float]
    notes: tuple[str, ...] = ()

    @property
    def roles(self) -> tuple[str, ...]:
        """The roles that are arranged."""
        return tuple(self.rules)

    def own_placement(self, piece: PlacePiece) -> Placement | None:
        """Return the placement of a piece in its scrap's own inches; None for a ready-cut one."""
        if piece.scrap is None or piece.placement is None:
            return None
        turn, lies = self.grain_deg[piece.scrap], piece.placement
        return replace(
            lies,
            outline=affinity.rotate(lies.outline, turn, origin=(0.0, 0.0)),
            rotation_deg=(lies.rotation_deg + turn) % 360,
        )
