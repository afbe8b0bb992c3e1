"""Roles that name their scraps, and projects whose pieces have places: matched, kept, cut again."""

from pathlib import Path

import pytest
from shapely import box

from scrapstore.actions.match import match_project
from scrapstore.actions.plan import answer_again
from scrapstore.designs import make_design
from scrapstore.json_output.match import match_out
from scrapstore.planning.after_cutting import Spoilt
from scrapstore.planning.cut_request import CutRequest
from scrapstore.planning.strip_cuts import strip_cuttings
from scrapstore.projects import design_text
from scrapstore.report.yardage_text import role_words
from scrapstore.store import NewFabric, NewScrap, NewYardage, Store
from tests.actions.test_cut import SETTINGS, booked, kept, store
from tests.actions.test_cut_again import again
from tests.support.pad import write_pad

__all__ = ["store"]  # the fixture


def scraps(store: Store, *sizes: tuple[float, float]) -> None:
    """Scraps of no fabric, and a length that would do for everything."""
    with store.change("test") as writer:
        for wide, tall in sizes:
            writer.add_scrap(NewScrap(outline=box(0, 0, wide, tall), margin=0.0, grain_deg=0.0))
        linen = writer.add_fabric(NewFabric(name="linen", usable_width=40.0))
        writer.add_yardage(NewYardage(fabric=linen, length=20.0))


def test_what_the_named_scraps_do_not_give_is_to_be_bought(store: Store, tmp_path: Path) -> None:
    scraps(store, (5, 5), (9, 9), (5, 2.5))
    file = write_pad(tmp_path, 8, rules="scraps = [1, 3]")
    result = match_project(store, file, settings=SETTINGS)
    assert [cut.scrap.id for cut in result.cuts] == [1, 3]
    (shortage,) = result.shortages
    assert (shortage.on_hand, shortage.pieces) == ((), {"square": 2})
    said = "top: only cloth of scrap 1, 3 will do, and it is not enough; buy more like it"
    assert result.unmet == result.notes == (said,)
    words = role_words(shortage, {"square": "A"}, "in", strip_cuttings(result)[0])
    assert words[-1] == "The cloth must be like scrap 1 or 3."
    (out,) = match_out(result).yardage
    assert out.cloth is not None
    assert out.cloth.scraps == [1, 3]
    assert ("top", "other scraps allowed") in {(one.role, one.what) for one in result.changes}


def test_a_scrap_that_is_not_there_is_said(store: Store, tmp_path: Path) -> None:
    scraps(store, (5, 5))
    file = write_pad(tmp_path, 4, rules="scraps = [1, 7]")
    result = match_project(store, file, settings=SETTINGS)
    assert result.notes == ("top: scrap 7 is not there to be cut",)


def test_a_spoilt_piece_is_sought_in_the_offcuts_of_the_named_scrap(
    store: Store, tmp_path: Path
) -> None:
    """They have numbers that the role cannot know: 12 × 6 3/4 gives four and leaves enough."""
    scraps(store, (12, 6.75), (3, 3))
    kept(store, write_pad(tmp_path, 4, rules="scraps = [1]"), "pad")
    done = booked(store, "pad", CutRequest(spoilt={"A1": Spoilt()}))
    (cut,) = again(store, "pad").cuts
    assert cut.source.scrap is not None
    assert cut.source.scrap.id in {one.id for one in done.offcuts}


def test_a_kept_plan_knows_the_place_of_every_piece(store: Store, tmp_path: Path) -> None:
    """To the last bit."""
    scraps(store, (30, 30))
    file = tmp_path / "star.toml"
    design = make_design("star", size=12, a_side=2, seam=0.25, mark=0.125)
    file.write_text(design_text(design, 0.25), encoding="utf-8")
    found = match_project(store, file, settings=SETTINGS)
    kept(store, file, "star")
    _, result, _ = answer_again(store, "star", SETTINGS)
    assert found.project.design is not None
    assert result is not None
    assert result.project.design is not None
    assert result.project.design == found.project.design
    assert [one.outline.wkb for one in found.project.design.pieces] == [
        one.outline.wkb for one in design.pieces
    ]
    assert result.project.design.parameters == pytest.approx(design.parameters)
