"""The project file of a design: it loads, and holds the design's pieces exactly."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scrapstore.designs import DESIGNS, make_design
from scrapstore.projects import design_text, read_project
from scrapstore.units import Units


@given(
    name=st.sampled_from(sorted(DESIGNS)), fill=st.sampled_from(["split", "hexagon", "rectangle"]),
    size=st.floats(10, 60), units=st.sampled_from(["in", "cm"]),
    seam=st.sampled_from([0.0, 0.25, 0.75 / 2.54]),
)  # fmt: skip
@settings(max_examples=60)
def test_what_is_written_is_the_design(
    name: str, fill: str, size: float, units: Units, seam: float
) -> None:
    mark = 1 / 8 if units == "in" else 1 / 25.4
    own = {"fill": fill} if name == "star" else {}
    design = make_design(name, size=size, seam=seam, mark=mark, **own)  # type: ignore[arg-type]
    project = read_project(design_text(design, seam, units))
    # Sizes are written to a millionth of an inch.
    assert project.finished_area == pytest.approx(design.outline.area, rel=1e-5)
    assert project.seam_allowance == pytest.approx(seam, abs=1e-9)
    assert project.name == design.title
    for need, line in zip(project.pieces, design.lines, strict=True):
        assert (need.name, need.count, need.role) == (line.name, line.count, line.role)
        assert need.shape.kind == line.shape.kind
        assert need.shape.straight_edges == line.shape.straight_edges
        assert need.shape.measures == pytest.approx(line.shape.measures, abs=5e-6)
    if design.is_rectangle:
        assert project.cushion == pytest.approx(design.sides, abs=2e-6)
        assert project.covered == pytest.approx(1, abs=1e-5)
    else:
        assert project.cushion is None


def test_each_round_has_a_role_and_what_is_offered_loads_too() -> None:
    text = design_text(make_design("star", size=18, seam=0.25, mark=0.125), 0.25)
    assert list(read_project(text).roles) == [*(f"round {n}" for n in range(1, 6)), "background"]
    assert 'height = "1 1/2"' in text
    offered = text.replace("# families", "families").replace("# same", "same")
    role = read_project(offered).roles["round 1"]
    assert (role.families, role.same_fabric_sets) == (("blue", "green"), 6)
