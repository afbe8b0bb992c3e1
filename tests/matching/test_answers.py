"""Several answers to one question: clearly different, sound, and the first always the same."""

from collections import Counter

import pytest
from shapely import box

from scrapstore.matching import Answer, Need, RoleRule, ScrapStock, faults, match, match_answers
from tests.support.stock import SQUARE, random_stock

STAR = {"star": RoleRule("star")}


def cut_area(answer: Answer, needs: list[Need]) -> Counter[tuple[int, str]]:
    """Return the area that each scrap gives of each need, in thousandths of a square inch."""
    area = {need.name: round(1000 * need.outline.area) for need in needs}
    found: Counter[tuple[int, str]] = Counter()
    for use in answer.scrap_uses:
        for placement in use.placements:
            found[use.scrap_id, placement.kind] += area[placement.kind]
    return found


@pytest.mark.parametrize("seed", range(6))
def test_answers_are_sound_and_differ_by_a_third(seed: int) -> None:
    scraps, ready, needs, roles = random_stock(seed, 14)
    answers = match_answers(scraps, ready, needs, roles, 3, seconds_per_scrap=0.02, effort=0.3)
    assert answers[0] == match(scraps, ready, needs, roles, seconds_per_scrap=0.02, effort=0.3)
    areas = [cut_area(answer, needs) for answer in answers]
    for number, (answer, area) in enumerate(zip(answers, areas, strict=True)):
        assert faults(answer, scraps, ready, needs, roles) == []
        assert answer.together.area >= 0.9 * answers[0].together.area
        for earlier in areas[:number]:
            assert (earlier & area).total() <= 2 / 3 * earlier.total() + 1


def test_plenty_of_cloth_gives_three_answers() -> None:
    scraps = [ScrapStock(id=i, region=box(0, 0, 4, 4)) for i in range(12)]
    needs = [Need("square", "star", SQUARE, 8, (0.0,))]
    answers = match_answers(scraps, [], needs, STAR, 3)
    assert [answer.supplies[0].scraps for answer in answers] == [8, 8, 8]


def test_no_answer_is_made_up_where_there_is_only_one() -> None:
    """One scrap gives the only squares; without a third of them little would be covered."""
    needs = [Need("square", "star", SQUARE, 4, (0.0,))]
    answers = match_answers([ScrapStock(id=1, region=box(0, 0, 4, 4))], [], needs, STAR, 3)
    assert len(answers) == 1
