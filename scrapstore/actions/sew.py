"""``sew``: in which order a top is sewn."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path

from scrapstore.actions.project import read_project_file
from scrapstore.planning.sewing import SewingPlan, plan_sewing
from scrapstore.settings import Settings
from scrapstore.store import Store

__all__ = ["SewResult", "plan_order"]


@dataclass(frozen=True)
class SewResult:
    """The order, the settings that its lengths are shown in, and the files of its sheets."""

    sewing: SewingPlan
    settings: Settings
    files: tuple[Path, ...] = ()


def plan_order(
    open_store: Callable[[], AbstractContextManager[Store]], name: str, settings: Settings
) -> SewResult:
    """Return in which order the top of a project file, or of a kept plan, is sewn.

    The store is opened for a plan alone, and not changed.
    """
    del open_store
    project = read_project_file(Path(name), settings)
    return SewResult(plan_sewing(project), settings)
