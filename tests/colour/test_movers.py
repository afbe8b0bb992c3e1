"""Earth mover's distance against an assignment solver, its laws, and the nearest cloths."""

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

from scrapstore.colour import Swatch, colour_anywhere, delta_e, most_like, swatch
from scrapstore.errors import ScrapstoreError

Cloth = tuple[Swatch, ...]


def cloths(count: int, seed: int) -> list[Cloth]:
    rng = np.random.default_rng(seed)
    return [
        tuple(swatch(rng.integers(0, 256, 3), share) for share in rng.dirichlet(np.ones(many)))
        for many in rng.integers(1, 7, count)
    ]


def earth_movers(one: Sequence[Swatch], other: Sequence[Swatch]) -> float:
    """The distance alone, with nothing to choose from."""
    (match,) = most_like(one, [other])
    return match.distance


colours = st.tuples(*[st.integers(0, 255)] * 3)
some_cloths = st.lists(st.tuples(colours, st.integers(1, 9)), min_size=1, max_size=5).map(
    lambda drawn: tuple(swatch(rgb, share) for rgb, share in drawn)
)


def test_agrees_with_an_assignment_of_equal_parts() -> None:
    """Shares in twentieths make the transport an assignment of 20 parts to 20 parts."""
    rng = np.random.default_rng(11)
    for _ in range(30):
        sides = []
        for _ in range(2):
            parts = rng.multinomial(20, np.full(4, 0.25))
            sides.append([swatch(rng.integers(0, 256, 3), n / 20) for n in parts if n])
        one, other = (
            np.repeat([s.lab for s in side], [round(s.share * 20) for s in side], axis=0)
            for side in sides
        )
        ways = delta_e(one[:, None], other[None])
        rows, columns = linear_sum_assignment(ways)
        assert earth_movers(*sides) == pytest.approx(ways[rows, columns].mean(), abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(some_cloths, some_cloths)
def test_as_far_there_as_back(one: Cloth, other: Cloth) -> None:
    assert earth_movers(one, other) == pytest.approx(earth_movers(other, one), abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(some_cloths)
def test_no_way_to_itself(cloth: Cloth) -> None:
    assert earth_movers(cloth, cloth) == pytest.approx(0, abs=1e-6)


def test_between_solids_it_is_the_colour_difference() -> None:
    one, other = swatch((200, 30, 40)), swatch((190, 60, 40))
    assert earth_movers([one], [other]) == pytest.approx(float(delta_e(one.lab, other.lab)))


def test_the_nearest_are_those_of_measuring_every_one() -> None:
    many = cloths(120, 12)
    for query in cloths(3, 13):
        found = most_like(query, many, most=8)
        every = sorted((earth_movers(query, cloth), at) for at, cloth in enumerate(many))[:8]
        assert [match.place for match in found] == [at for _, at in every]
        assert [match.distance for match in found] == pytest.approx([far for far, _ in every])


def test_a_cloth_is_most_like_itself() -> None:
    many = cloths(100, 14)
    assert most_like(many[42], many, most=1)[0].place == 42


def test_a_colour_is_found_wherever_it_is_on_a_cloth() -> None:
    rose = swatch((235, 150, 170))
    plain, ground = (swatch((120, 120, 120)),), swatch((20, 30, 90), 0.94)
    roses = (ground, swatch((233, 152, 168), 0.06))
    thread = (ground, swatch((235, 150, 170), 0.01))
    first = colour_anywhere(rose, [plain, roses, thread])[0]
    assert first.place == 1
    assert first.distance < 2
    assert most_like([rose], [plain, roses, thread])[0].place == 0


def test_nothing_to_find_in_an_empty_store() -> None:
    assert most_like([swatch((0, 0, 0))], []) == ()
    assert colour_anywhere(swatch((0, 0, 0)), []) == ()


def test_a_cloth_without_swatches_is_named() -> None:
    with pytest.raises(ScrapstoreError, match="cloth 2 of 2 has no swatch"):
        most_like([swatch((0, 0, 0))], [(swatch((0, 0, 0)),), ()])
