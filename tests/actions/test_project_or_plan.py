"""A project named by its file or by the plan kept of it."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from shapely import box

from scrapstore.actions.match import match_project
from scrapstore.actions.plan import project_or_plan
from scrapstore.errors import NotFoundError, ProjectError
from scrapstore.settings import Settings
from scrapstore.store import NewScrap, Store, open_store
from tests.support.kept_plans import keep
from tests.support.pad import write_pad

SETTINGS = Settings()
BACK = '[cushion]\nwidth = "4"\nheight = "4"\n[back]\nkind = "envelope"\noverlap = "2"\n'


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "store", make=True) as store:
        with store.change("scrap add") as writer:
            writer.add_scrap(NewScrap(outline=box(0, 0, 20, 10), margin=0))
        yield store


def _no_store() -> Store:
    raise AssertionError("a file needs no store")


def test_by_its_file(tmp_path: Path) -> None:
    file = write_pad(tmp_path, 4, top=BACK)
    named = project_or_plan(_no_store, str(file), SETTINGS)
    assert (named.project.name, named.plan, named.result) == ("Bench pad", None, None)
    with pytest.raises(ProjectError, match="there is no such file"):
        project_or_plan(_no_store, "none.toml", SETTINGS)


def test_by_the_plan_that_was_kept_with_its_back(store: Store, tmp_path: Path) -> None:
    """The back comes from the same scraps, cut together with the top."""
    file = write_pad(tmp_path, 4, top=BACK)
    result = match_project(store, file, settings=SETTINGS)
    assert result.together.covered == 6
    keep(store, result, "bench", Settings(ruler_step=1 / 16))
    named = project_or_plan(lambda: open_store(store.folder), "bench", SETTINGS)
    assert named.project == result.project
    assert named.plan is not None
    assert named.plan.name == "bench"
    assert named.settings.ruler_step == 1 / 16
    with pytest.raises(NotFoundError, match="neither the file of a project nor a kept plan"):
        project_or_plan(lambda: open_store(store.folder), "couch", SETTINGS)
