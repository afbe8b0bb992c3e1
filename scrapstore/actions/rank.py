"""``rank``: which of the projects in a folder the store covers furthest."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from scrapstore.actions.match import match_project
from scrapstore.errors import ProjectError
from scrapstore.matching import EFFORT, PackAll, pack_all
from scrapstore.planning.result import MatchResult
from scrapstore.planning.scrap_cuts import MapAll
from scrapstore.settings import Settings
from scrapstore.store import Store

__all__ = ["Ranked", "rank_projects"]

_EFFORT = EFFORT / 3  # of each project; the order matters here, not the last piece


@dataclass(frozen=True)
class Ranked:
    """One project file and what the whole store gives for it.

    `share` is what scraps and ready-cut pieces give of the area of all pieces, cut size.
    """

    file: Path
    result: MatchResult
    share: float

    @property
    def cannot(self) -> tuple[str, ...]:
        """Say of each piece that no fabric gives why."""
        plans = (one.plan for shortage in self.result.shortages for one in shortage.purchases)
        return tuple(dict.fromkeys(said for plan in plans for said in plan.too_long))


def rank_projects(
    store: Store,
    folder: Path,
    *,
    settings: Settings,
    pack_all: PackAll = pack_all,
    map_all: MapAll = map,
    advance: Callable[[int, int], None] = lambda _done, _of: None,
) -> tuple[tuple[Ranked, ...], tuple[str, ...]]:
    """Match every project file of `folder` by itself; return the ranking and what is faulty.

    Each project is asked of the whole store: two of them may count on the same scrap. Raises
    ProjectError when the folder holds no project file.
    """
    files = sorted(folder.glob("*.toml")) if folder.is_dir() else []
    if not files:
        msg = f"{folder} holds no project file (*.toml); name the folder they are in"
        raise ProjectError(msg)
    ranked, faulty = [], []
    for number, file in enumerate(files):
        try:
            result = match_project(
                store, file, settings=settings, effort=_EFFORT, why=False, pack_all=pack_all,
                map_all=map_all,
            )  # fmt: skip
        except ProjectError as error:
            faulty.append(str(error))
        else:
            area = {piece.name: piece.cut.area for piece in result.project.pieces}
            whole = sum(area[s.need] * s.wanted for s in result.supplies)
            share = sum(area[s.need] * (s.ready + s.scraps) for s in result.supplies) / whole
            ranked.append(Ranked(file, result, share))
        advance(number + 1, len(files))
    ranked.sort(key=lambda r: (bool(r.cannot), -r.share, r.file.name))
    return tuple(ranked), tuple(faulty)
