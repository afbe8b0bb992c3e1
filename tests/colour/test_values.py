"""Light, medium and dark among others, and many cloths read at once."""

import numpy as np
import pytest

from scrapstore.colour import Reading, Swatch, read_many, reads_as, relative_values, swatch
from scrapstore.colour.table import tabulate


def greys(*steps: int) -> list[Reading]:
    return [reads_as([swatch((step, step, step))]) for step in steps]


def test_among_pastels_the_deepest_is_the_dark() -> None:
    readings = greys(250, 240, 232, 224, 205, 190)
    assert {reading.value for reading in readings} == {"light"}
    said = [value for value, _ in relative_values(readings)]
    assert said == ["light", "light", "medium", "medium", "dark", "dark"]


def test_cloths_of_one_value_are_all_medium() -> None:
    assert {value for value, _ in relative_values(greys(120, 121, 122, 123))} == {"medium"}


def test_a_cloth_at_the_border_is_less_sure_than_one_far_from_it() -> None:
    sure = [confidence for _, confidence in relative_values(greys(10, 70, 120, 130, 180, 250))]
    assert all(0 < one <= 1 for one in sure)
    assert min(sure[0], sure[-1]) > max(sure[1], sure[4])


def test_no_cloths_have_no_values() -> None:
    assert relative_values([]) == ()


def random_cloths(count: int) -> list[tuple[Swatch, ...]]:
    rng = np.random.default_rng(19)
    return [
        tuple(swatch(rng.integers(0, 256, 3), share) for share in rng.dirichlet(np.ones(many)))
        for many in rng.integers(1, 9, count)
    ]


def test_many_at_once_are_as_one_by_one() -> None:
    many = random_cloths(60)
    for together, alone in zip(read_many(many), map(reads_as, many), strict=True):
        assert together.family == alone.family
        assert together.accents == alone.accents
        assert together.lab == pytest.approx(alone.lab)
        assert together.lead_lab == pytest.approx(alone.lead_lab)


def test_every_confidence_is_a_part_of_one() -> None:
    for reading in read_many(random_cloths(200)):
        sure = (reading.confidence, reading.value_confidence, reading.warmth_confidence)
        assert all(0 < one <= 1 for one in sure)
        assert sum(share for _, share in reading.shares) == pytest.approx(1)


def test_one_colour_in_two_swatches_reads_as_in_one() -> None:
    whole, halves = reads_as([swatch((40, 90, 160))]), reads_as([swatch((40, 90, 160), 0.5)] * 2)
    assert halves.family == whole.family
    assert halves.lab == pytest.approx(whole.lab)


@pytest.mark.parametrize("rgb", [(232, 223, 204), (150, 140, 100), (145, 9, 81), (60, 60, 65)])
def test_a_solid_always_has_a_family_even_on_a_border(rgb: tuple[int, int, int]) -> None:
    reading = reads_as([swatch(rgb)])
    assert reading.family == reading.shares[0][0]


def test_a_table_fills_short_rows_with_shares_of_nothing() -> None:
    red, blue = swatch((200, 0, 0), 3), swatch((0, 0, 200), 1)
    table = tabulate([[red, blue], [blue]])
    assert table.shares.tolist() == [[0.75, 0.25], [1, 0]]
    assert tuple(table.labs[1, 0]) == blue.lab
    assert len(tabulate([])) == 0
