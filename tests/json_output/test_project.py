"""What ``project check`` says of a project."""

import pytest

from scrapstore.json_output.project import project_out
from scrapstore.projects import read_project, starter_text
from scrapstore.settings import Settings


@pytest.mark.parametrize(("units", "per_inch"), [("in", 8), ("cm", 25.4)])
def test_cut_sizes_are_on_marks_of_the_ruler_in_use(units: str, per_inch: float) -> None:
    settings = Settings(units=units)
    out = project_out(read_project(starter_text()), settings)
    marks = [size.on_ruler * per_inch for piece in out.pieces for size in piece.cut_sizes]
    assert marks == pytest.approx([round(mark) for mark in marks], abs=1e-6)
    assert marks
