"""Piles of cloths that look alike."""

import numpy as np
import pytest
from scipy.stats import spearmanr

from scrapstore.colour import Swatch, group_into_piles, swatch
from scrapstore.colour.movers import _carry
from scrapstore.colour.piles import pile_points
from scrapstore.colour.table import tabulate
from scrapstore.errors import ScrapstoreError

Cloth = tuple[Swatch, ...]


def variations(cloth: Cloth, count: int, seed: int) -> list[Cloth]:
    """The same cloth in other shares and shades."""
    rng = np.random.default_rng(seed)
    return [
        tuple(
            swatch(np.array(one.rgb) + rng.normal(0, 5, 3), one.share * rng.uniform(0.85, 1.15))
            for one in cloth
        )
        for _ in range(count)
    ]


KINDS: list[Cloth] = [
    (swatch((20, 30, 90), 0.9), swatch((235, 150, 170), 0.1)),
    (swatch((20, 30, 90), 0.5), swatch((245, 245, 240), 0.5)),
    (swatch((200, 30, 40)),),
    (swatch((245, 240, 220)),),
    (swatch((60, 130, 70), 0.7), swatch((240, 210, 60), 0.3)),
]


def test_five_kinds_of_cloth_make_five_piles() -> None:
    many = [cloth for at, kind in enumerate(KINDS) for cloth in variations(kind, 20, at)]
    piles = group_into_piles(many, 5)
    kinds = {frozenset(at // 20 for at in pile) for pile in piles}
    assert kinds == {frozenset({n}) for n in range(5)}
    assert sorted(at for pile in piles for at in pile) == list(range(100))


def test_piles_follow_the_hues_of_their_typical_cloths() -> None:
    """Red, green, blue with a little pink, cream."""
    assert group_into_piles([KINDS[at] for at in (3, 2, 4, 0)], 4) == ((1,), (2,), (3,), (0,))


def test_a_solid_and_a_print_of_the_same_mean_are_far_apart() -> None:
    mixed = tabulate(
        [(swatch((0, 0, 0), 0.5), swatch((255, 255, 255), 0.5)), (swatch((119,) * 3),)]
    )
    assert np.linalg.norm(np.subtract(*pile_points(mixed))) > 40


def test_solids_are_as_far_apart_as_their_colours() -> None:
    rng = np.random.default_rng(15)
    table = tabulate([(swatch(rgb),) for rgb in rng.integers(0, 256, (40, 3))])
    points = pile_points(table)
    true = np.linalg.norm(table.labs[1:, 0] - table.labs[:-1, 0], axis=1)
    shown = np.linalg.norm(points[1:] - points[:-1], axis=1)
    np.testing.assert_allclose(shown, true, rtol=0.06)


def test_points_rank_pairs_as_the_exact_earth_movers_distance_does() -> None:
    rng = np.random.default_rng(16)
    table = tabulate(
        [
            tuple(swatch(rng.integers(0, 256, 3), share) for share in rng.dirichlet(np.ones(many)))
            for many in rng.integers(1, 6, 30)
        ]
    )
    points = pile_points(table)
    exact, shown = [], []
    for i in range(30):
        for j in range(i):
            ways = np.linalg.norm(table.labs[i][:, None] - table.labs[j][None], axis=2)
            exact.append(_carry(ways, table.shares[i], table.shares[j]))
            shown.append(np.linalg.norm(points[i] - points[j]))
    assert spearmanr(exact, shown).statistic > 0.93


def test_the_same_seed_gives_the_same_piles() -> None:
    many = [cloth for at, kind in enumerate(KINDS) for cloth in variations(kind, 9, at)]
    assert group_into_piles(many, 4, seed=3) == group_into_piles(many, 4, seed=3)


def test_no_more_piles_than_different_cloths() -> None:
    assert len(group_into_piles([KINDS[2]] * 6, 3)) == 1
    assert group_into_piles([], 3) == ()


def test_no_piles_at_all_are_refused() -> None:
    with pytest.raises(ScrapstoreError, match="ask for 1 or more"):
        group_into_piles([KINDS[0]], 0)
