"""The starter file: it loads as it stands, and offers nothing that does not load."""

import re

import pytest

from scrapstore.projects import (
    COLOUR_FAMILIES,
    read_project,
    starter_text,
)
from scrapstore.shapes import (
    KINDS,
    GrainEdge,
    shape_kind,
)


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
