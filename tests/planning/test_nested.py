"""What pieces take nested freely, beside strips."""

from pathlib import Path

import pytest
from shapely import box

from scrapstore.actions.match import match_project
from scrapstore.json_output.match import match_out
from scrapstore.planning.nested import nested_length
from scrapstore.settings import Settings
from scrapstore.store import open_store
from scrapstore.yardage import StripPiece, plan_role
from tests.support.pad import write_pad


def test_four_round_a_hole_take_less_than_strips() -> None:
    """By geometry: four of 24 x 16 in round a hole of 8 x 8 fill 40 x 40 in; strips take 48."""
    pieces = [StripPiece("bar", box(0, 0, 24, 16), 4, (0.0, 90.0))]
    assert plan_role("r", pieces, 40, straightening=0, shop_step=1 / 8).length == 48
    found = nested_length(pieces, 40, 48)
    assert 40 - 1e-6 <= found < 42


def test_what_fills_the_width_in_strips_takes_as_much_freely() -> None:
    pieces = [StripPiece("square", box(0, 0, 5, 5), 8, (0.0,))]
    assert nested_length(pieces, 40, 5) == pytest.approx(5)


def test_a_match_says_both_lengths_where_it_is_asked(tmp_path: Path) -> None:
    """40 squares of 2 1/2 in from 40 in: three strips, 7 1/2 in; freely no less."""
    with open_store(tmp_path / "store", make=True) as store:
        file = write_pad(tmp_path, 40)
        (plain,) = match_out(match_project(store, file, settings=Settings())).yardage
        (asked,) = match_out(match_project(store, file, settings=Settings(), nested=True)).yardage
    assert plain.nested is None
    assert asked.nested == pytest.approx(7.5, abs=1e-6)
    assert "Nested freely, by template, they would take no less than 7 1/2 in." in (
        asked.instructions
    )
