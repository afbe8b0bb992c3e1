"""``sew``: in which order a top is sewn."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path

from scrapstore.actions.plan import project_or_plan
from scrapstore.planning.sewing import SewingPlan, plan_sewing
from scrapstore.report.plan_picture import top_of
from scrapstore.report.printed_file import checked_sheet
from scrapstore.report.sewing_picture import plain_cloth
from scrapstore.report.sewing_sheet import write_sewing_sheet
from scrapstore.settings import Settings
from scrapstore.store import Store

__all__ = ["SewResult", "plan_order"]


@dataclass(frozen=True)
class SewResult:
    """The order, the settings that its lengths are shown in, and where its sheet was written."""

    sewing: SewingPlan
    settings: Settings
    file: Path | None = None


def plan_order(
    open_store: Callable[[], AbstractContextManager[Store]],
    name: str,
    settings: Settings,
    file: Path | None = None,
) -> SewResult:
    """Return in which order the top of a project file, or of a kept plan, is sewn.

    The store is opened for a plan alone, and not changed. Raises as `project_or_plan`; ProjectError
    for a project without a design; UsageError and SheetError for a `file` that cannot be written.
    """
    if file is not None:
        checked_sheet(file)
    named = project_or_plan(open_store, name, settings)
    sewing = plan_sewing(
        named.project, named.result, None if named.plan is None else named.plan.name
    )
    written = None
    if file is not None:
        cloth = plain_cloth(sewing)
        if named.result is not None:
            with open_store() as store:
                cloth = top_of(store, named.result)
        written = write_sewing_sheet(sewing, cloth, settings, file)
    return SewResult(sewing, settings, written)
