"""``demo``: the whole way from photos to cutting sheets, on the samples that are shipped."""

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from scrapstore.actions.log import LogResult, log_photos
from scrapstore.actions.match import match_project
from scrapstore.errors import StoreError
from scrapstore.matching import PackAll, Progress, pack_all
from scrapstore.planning.result import MatchResult
from scrapstore.planning.scrap_cuts import MapAll
from scrapstore.report.cutting_report import make_sheets
from scrapstore.report.plan_picture import write_top
from scrapstore.resources import resource_folder
from scrapstore.settings import Settings
from scrapstore.shapes import cut_shape, make_shape
from scrapstore.stock_entry.measured import Measuring
from scrapstore.store import NewReadyCut, NewYardage, Store, open_store

__all__ = ["DemoResult", "run_demo"]

_MARK: Final = ".scrapstore-demo"
_PROJECT: Final = "tern-quay-star.toml"
_PICTURE: Final = "cushion.jpg"


@dataclass(frozen=True)
class DemoResult:
    """What the demo did and where it lies; `sheets` starts with the page that holds all of it.

    `picture` is the cushion in its own cloth.
    """

    folder: Path
    store: Path
    project: Path
    logged: LogResult
    match: MatchResult
    sheets: tuple[Path, ...]
    picture: Path


def run_demo(
    folder: Path,
    settings: Settings,
    *,
    logging: Callable[[int, int], None] = lambda _done, _of: None,
    matching: Progress | None = None,
    pack_all: PackAll = pack_all,
    map_all: MapAll = map,
) -> DemoResult:
    """Log the sample photos into a store of their own in `folder`, match the sample, write sheets.

    An earlier demo in `folder` is made anew. Raises StoreError when `folder` holds anything else:
    nobody's files are touched.
    """
    samples = resource_folder("sample_photos")
    with _fresh(folder) as inside:
        project = inside / _PROJECT
        shutil.copyfile(samples / _PROJECT, project)
        with open_store(inside / "store") as store:
            logged = log_photos(
                store,
                [samples],
                settings,
                measuring=Measuring(previews=inside / "previews"),
                make_fabrics=True,
                advance=logging,
            )
            _other_stock(store)
            found = match_project(
                store, project, settings=settings, pack_all=pack_all, map_all=map_all,
                progress=matching,
            )  # fmt: skip
            sheets = make_sheets(store, found, settings, inside / "sheets")
            picture = write_top(store, found, inside / _PICTURE, settings)
    return DemoResult(inside, inside / "store", project, logged, found, tuple(sheets), picture)


@contextmanager
def _fresh(folder: Path) -> Iterator[Path]:
    """Give an empty folder for the demo; what an earlier demo left there goes first."""
    inside = folder.expanduser().resolve()
    mark = inside / _MARK
    try:
        if inside.exists() and any(inside.iterdir()):
            if not mark.exists():
                msg = f"{inside} holds other files and stays as it is; name another with --folder"
                raise StoreError(msg)
            for old in ("store", "sheets", "previews"):
                shutil.rmtree(inside / old, ignore_errors=True)
        inside.mkdir(parents=True, exist_ok=True)
        mark.touch()
    except OSError as error:
        msg = f"{inside} cannot be used ({error.strerror}); name another place with --folder"
        raise StoreError(msg) from error
    yield inside


def _other_stock(store: Store) -> None:
    """Add what the volunteers have besides scraps: ready-cut diamonds, and a length of fabric."""
    with store.read() as reader:
        fabrics = {fabric.name: fabric for fabric in reader.fabrics()}
    diamond = make_shape("diamond-60", height=1.25)
    with store.change("demo") as writer:
        writer.add_ready_cut(
            NewReadyCut(
                kind="diamond-60",
                label=diamond.label,
                cut=cut_shape(diamond, 0.25, "trimmed"),
                count=4,
                measures=dict(diamond.measures),
                fabric=fabrics["yellow dotted cotton"],
                family="yellow",
                place="biscuit tin",
            )
        )
        writer.add_yardage(
            NewYardage(fabric=fabrics["red bunting"], length=9.0, place="shelf by the kettle")
        )
