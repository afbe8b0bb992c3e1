"""A thousand regions and piece lists nobody chose: every layout stands up, and comes again."""

import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Polygon, affinity, box

from scrapstore.packing import PieceKind, fill, usable_region, verify

THIRD = 3**0.5
GALLERY = {
    "square": box(0, 0, 2, 2),
    "oblong": box(0, 0, 1, 2.5),
    "diamond": Polygon([(0, 0), (2, 0), (3, THIRD), (1, THIRD)]),
    "triangle": Polygon([(0, 0), (2.5, 0), (1.25, 1.25 * THIRD)]),
    "half": Polygon([(0, 0), (1.2, 0), (0, 1.2 * THIRD)]),
    "hexagon": Polygon([(math.cos(k * math.pi / 3), math.sin(k * math.pi / 3)) for k in range(6)]),
    "ell": Polygon([(0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2)]),
}
TURNS = ((0.0,), (0.0, 180.0), (0.0, 90.0, 180.0, 270.0), (0.0, 30.0, 90.0, 120.0), (17.0,))

sizes = st.floats(min_value=1.5, max_value=6)


@st.composite
def outlines(draw: st.DrawFn) -> Polygon:
    """A torn-off piece: corners at rising angles round a middle, some of them far in."""
    corners = draw(st.integers(min_value=3, max_value=12))
    across = draw(sizes)
    reach = draw(st.lists(st.floats(0.3, 1), min_size=corners, max_size=corners))
    shift = draw(st.floats(0, 6))
    ring = [
        (across * r * math.cos(shift + 2 * math.pi * k / corners),
         across * r * math.sin(shift + 2 * math.pi * k / corners))
        for k, r in enumerate(reach)
    ]  # fmt: skip
    return Polygon(ring)


@st.composite
def regions(draw: st.DrawFn) -> MultiPolygon:
    """An outline, or two apart, less a margin and up to three flaws, some smaller than pieces."""
    first = draw(outlines())
    whole: Polygon | MultiPolygon = first
    if draw(st.booleans()):
        second = affinity.translate(draw(outlines()), 15, draw(st.floats(-3, 3)))
        whole = MultiPolygon([first, second])
    flaws = []
    for _ in range(draw(st.integers(min_value=0, max_value=3))):
        x, y, half = draw(st.floats(-3, 3)), draw(st.floats(-3, 3)), draw(st.floats(0.02, 0.6))
        flaws.append(box(x - half, y - half, x + half, y + half))
    return usable_region(whole, flaws, draw(st.sampled_from((0.0, 0.125, 0.3))))


@st.composite
def piece_lists(draw: st.DrawFn) -> list[PieceKind]:
    """One to three kinds of the gallery, few or many wanted, with any rule for turning."""
    names = draw(st.lists(st.sampled_from(sorted(GALLERY)), min_size=1, max_size=3, unique=True))
    return [
        PieceKind(
            name,
            GALLERY[name],
            draw(st.sampled_from((1, 3, 99))),
            draw(st.sampled_from(TURNS)),
            mirror=draw(st.booleans()),
            value=draw(st.sampled_from((None, None, 1.0))),
            mirrored_rotations_deg=draw(st.sampled_from((None, (0.0, 180.0)))),
        )
        for name in names
    ]


@pytest.mark.slow
@settings(max_examples=1000, deadline=None, suppress_health_check=list(HealthCheck))
@given(regions(), piece_lists(), st.integers(min_value=0, max_value=3))
def test_the_verifier_finds_nothing_and_the_seed_decides(
    region: MultiPolygon, kinds: list[PieceKind], seed: int
) -> None:
    """Besides the verifier: value is the pieces' worth, the bound holds, a second run agrees."""
    layout = fill(region, kinds, seconds=0.02, seed=seed)
    assert verify(region, kinds, layout) == []
    worth = {kind.name: kind.worth for kind in kinds}
    assert layout.value == pytest.approx(sum(worth[p.kind] for p in layout.placements))
    assert layout.value <= layout.bound + 1e-9
    again = fill(region, kinds, seconds=0.02, seed=seed)
    assert [p.outline.wkb for p in layout.placements] == [p.outline.wkb for p in again.placements]
