"""What a project needs beside its pieces."""

import pytest

from scrapstore.errors import ShapeError
from scrapstore.finishing import FinishNeeds
from scrapstore.planning.finish_needs import finish_needs, project_sizes
from scrapstore.projects import read_project
from scrapstore.settings import Settings
from tests.projects.test_finishing import CUSHION, PAD


def test_nothing_is_needed_that_the_file_does_not_ask_for() -> None:
    assert finish_needs(read_project(PAD.format(top="")), Settings()) == FinishNeeds()


def test_a_bound_cushion() -> None:
    """By hand: 18 1/2 and 2 in on each side; 74 in round, two strips of 40 - 2 1/4 in."""
    top = CUSHION + '[quilting]\nbacking = false\n[back]\nkind = "zip"\n[binding]\n'
    needs = finish_needs(read_project(PAD.format(top=top)), Settings())
    assert needs == FinishNeeds(
        batting=(22.5, 22.5), binding_length=74, strip_width=2.25, binding_strips=2,
        form=(19, 19), zip_length=16,
    )  # fmt: skip


def test_settings_hold_where_the_file_says_nothing() -> None:
    settings = Settings(quilting_overhang="3", plumpness="2", quilting_shrinkage=2)
    top = CUSHION + '[quilting]\n[back]\nkind = "envelope"\n'
    project = read_project(PAD.format(top=top))
    needs = finish_needs(project, settings)
    assert needs.batting == needs.backing == (24.5, 24.5)
    assert project_sizes(project, settings).planned.measures == pytest.approx((18.13, 18.13))
    assert needs.form == pytest.approx((19.63, 19.63))
    assert needs.binding_length is None


def test_a_top_of_unknown_size_is_asked_for() -> None:
    project = read_project(PAD.format(top="[binding]"))
    with pytest.raises(ShapeError, match="how large the top is"):
        finish_needs(project, Settings())
