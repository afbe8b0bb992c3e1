"""The starter file: it loads as it stands, and offers nothing that does not load."""

import re

import pytest

from scrapstore.projects import (
    COLOUR_FAMILIES,
    read_project,
    starter_text,
    stock_list_text,
)
from scrapstore.shapes import (
    KINDS,
    GrainEdge,
    shape_kind,
)
from scrapstore.units import parse_length


def test_the_starter_loads_and_makes_up_its_cushion() -> None:
    project = read_project(starter_text())
    assert project.covered == pytest.approx(1)
    assert project.roles["sails"].same_fabric_sets == 4


def test_what_the_starter_offers_in_comments_loads_too() -> None:
    """Every commented key may be used as it stands."""
    text = re.sub(r"^# (\w+ = )", r"\1", starter_text(), flags=re.MULTILINE)
    assert text.count("\nunits = ") == 1
    project = read_project(text)
    assert project.roles["sails"].max_per_fabric == 8
    assert project.pieces[0].mirror
    for table in re.findall(r"^#   (\{.*?\})", starter_text(), flags=re.MULTILINE):
        changed = starter_text().replace('grain = "straight"', f"grain = {table}")
        assert read_project(changed).pieces[0].grain != GrainEdge()


def test_the_starter_names_every_shape_and_colour() -> None:
    for kind in KINDS.values():
        assert kind.title in starter_text()
    assert ", ".join(COLOUR_FAMILIES) in starter_text()
    for title in re.findall(r"^#   (\w.{24}\w?) {2,}", starter_text(), flags=re.MULTILINE):
        assert shape_kind(title.strip()).title == title.strip()


def test_the_stock_list_loads_and_its_names_say_the_cut_sizes() -> None:
    """A piece called "brick 2 1/2 x 4 1/2" is cut 4 1/2 wide and 2 1/2 high."""
    project = read_project(stock_list_text())
    assert len(project.pieces) == 3
    for piece in project.pieces:
        sides = [parse_length(text) for text in piece.name.split(" ", 1)[1].split(" x ")]
        x0, y0, x1, y1 = piece.cut.bounds
        assert sorted({x1 - x0, y1 - y0}) == sides
    offered = re.sub(r"^# (values|fibres|\[roles)", r"\1", stock_list_text(), flags=re.MULTILINE)
    light = offered.replace('role = "any"', 'role = "light"', 1)
    assert read_project(light).roles["light"].values == ("light",)
