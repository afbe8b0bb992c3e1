"""Finding scraps by colour, and scraps that go together."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PIL import Image
from shapely import box

from scrapstore.actions.find import find_like, goes_with, in_words
from scrapstore.actions.piles import StorePile, pile_scraps
from scrapstore.actions.scrap import edit_scraps, retire_scraps
from scrapstore.colour import delta_e, most_like, srgb_to_lab
from scrapstore.errors import NotFoundError, PhotoError, StoreError
from scrapstore.guide import page
from scrapstore.store import NewScrap, StockFilter, Store, open_store
from scrapstore.store.scrap_colours import read_colours
from tests.support.coloured_store import CLOTHS, add_cloths, cloth

ALL = StockFilter()


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "store") as store:
        yield store


@pytest.fixture
def numbers(store: Store) -> dict[str, int]:
    return add_cloths(store)


def test_a_colour_finds_the_nearest_cloths_in_order(store: Store, numbers: dict[str, int]) -> None:
    wanted, found = find_like(store, "#1a2459", ALL)
    assert wanted.words == "blue 100%"
    assert [each.one.scrap.id for each in found][:2] == [numbers["navy"], numbers["navy roses"]]
    distances = [each.distance for each in found]
    assert distances == sorted(distances)
    assert distances[0] == pytest.approx(
        float(delta_e(srgb_to_lab((0x1A, 0x24, 0x59)), srgb_to_lab((26, 36, 90))))
    )


def test_three_digits_are_a_colour_too(store: Store, numbers: dict[str, int]) -> None:
    short, _ = find_like(store, "#a23", ALL)
    long, _ = find_like(store, "#aa2233", ALL)
    assert short.swatches == long.swatches


@pytest.mark.parametrize("said", ["{}", " {} ", "#{}"])
def test_a_scrap_is_compared_whole_and_not_with_itself(
    store: Store, numbers: dict[str, int], said: str
) -> None:
    """The distance is the earth mover's, between all its colours and all of the other's."""
    start = numbers["navy roses"]
    _, found = find_like(store, said.format(start), ALL, most=99)
    assert start not in [each.one.scrap.id for each in found]
    assert len(found) == len(CLOTHS) - 1
    by_name = {each.one.scrap.name: each.distance for each in found}
    (expected,) = most_like(cloth("navy roses"), [cloth("red check")])
    assert by_name["red check"] == pytest.approx(expected.distance)


def test_anywhere_finds_a_colour_that_is_only_an_accent(
    store: Store, numbers: dict[str, int]
) -> None:
    rose = "#e28ca5"
    _, anywhere = find_like(store, rose, ALL, most=1, anywhere=True)
    assert anywhere[0].one.scrap.id == numbers["navy roses"]
    assert anywhere[0].distance < 1
    _, whole = find_like(store, rose, ALL, most=1)
    assert whole[0].one.scrap.id != numbers["navy roses"]


def test_a_photo_is_read_by_its_cloth_not_by_its_table(
    store: Store, numbers: dict[str, int], tmp_path: Path
) -> None:
    picture = Image.new("RGB", (320, 240), (205, 190, 160))
    picture.paste((190, 30, 40), (80, 60, 240, 180))
    picture.save(tmp_path / "bunting.png")
    wanted, found = find_like(store, str(tmp_path / "bunting.png"), ALL, most=1)
    assert wanted.words == "red 100%"
    assert found[0].one.scrap.id == numbers["red"]
    assert found[0].distance < 2


def test_filters_and_most_narrow_what_is_found(store: Store, numbers: dict[str, int]) -> None:
    retire_scraps(store, [numbers["navy"]])
    _, found = find_like(store, "#1a2459", StockFilter(families=("blue",)))
    assert [each.one.scrap.id for each in found] == [numbers["navy roses"], numbers["sky"]]
    _, found = find_like(store, "#1a2459", ALL, most=1)
    assert len(found) == 1


@pytest.mark.parametrize(
    ("said", "error", "message"),
    [
        ("#1a2b", StoreError, "six hex digits"),
        ("#12345", NotFoundError, "no scrap has the number 12345"),
        ("#teal00", StoreError, "six hex digits"),
        ("999", NotFoundError, "no scrap has the number 999"),
        ("gone.jpg", NotFoundError, "give a photo's file, the number of a scrap"),
        (" ", StoreError, "nothing was given to look for"),
    ],
)
def test_what_cannot_be_looked_for_is_told(
    store: Store, numbers: dict[str, int], said: str, error: type[Exception], message: str
) -> None:
    with pytest.raises(error, match=message):
        find_like(store, said, ALL)


def test_a_file_that_is_no_photo_is_refused_by_name(store: Store, tmp_path: Path) -> None:
    (tmp_path / "note.jpg").write_text("not a picture")
    with pytest.raises(PhotoError, match=r"note\.jpg"):
        find_like(store, str(tmp_path / "note.jpg"), ALL)


@pytest.mark.parametrize("call", ["like", "with"])
def test_a_scrap_without_photo_and_family_has_no_colours_to_go_by(store: Store, call: str) -> None:
    with store.change("typed") as writer:
        number = writer.add_scrap(NewScrap(outline=box(0, 0, 3, 3))).id
    ask: Callable[[], object] = {
        "like": lambda: find_like(store, str(number), ALL),
        "with": lambda: goes_with(store, number, ALL),
    }[call]
    with pytest.raises(StoreError, match=f"scrap {number} has no photo, and no family is"):
        ask()


@pytest.mark.parametrize("most", [0, -3])
def test_at_least_one_scrap_must_be_asked_for(
    store: Store, numbers: dict[str, int], most: int
) -> None:
    with pytest.raises(StoreError, match="ask for 1 or more"):
        find_like(store, "#123456", ALL, most=most)
    with pytest.raises(StoreError, match="ask for 1 or more"):
        goes_with(store, numbers["navy"], ALL, most=most)


def test_distances_in_words_are_those_of_the_guide() -> None:
    text = " ".join((page("colours") or "").split())
    steps = re.findall(r"to (\d+) (the same|very near|near|some way off)\b", text)
    assert len(steps) == 4
    for limit, words in steps:
        assert in_words(float(limit)) == words
        assert in_words(float(limit) + 0.01) != words
    assert f"beyond {steps[-1][0]} it is {in_words(1e9)}" in text


def test_what_goes_together_comes_from_the_stores_own_colours(
    store: Store, numbers: dict[str, int]
) -> None:
    """On the painter's wheel red lies opposite green (Itten, "The Art of Color", 1961)."""
    answer = goes_with(store, numbers["red"], ALL)
    found = {each.relation: [one.scrap.id for one in each.members] for each in answer.together}
    assert numbers["moss"] in found["opposite"]
    assert {numbers["lemon"], numbers["navy"]} <= set(found["three apart"])
    assert all(numbers["cream"] not in members for members in found.values())
    assert answer.start.scrap.id == numbers["red"]


def test_a_family_goes_from_light_to_dark_with_the_scrap_among_them(
    store: Store, numbers: dict[str, int]
) -> None:
    answer = goes_with(store, numbers["navy"], ALL)
    (ladder,) = (each for each in answer.together if each.relation == "light to dark")
    # The roses make that navy lighter as a whole: a step of its own.
    wanted = [numbers["sky"], numbers["navy roses"], numbers["navy"]]
    assert [one.scrap.id for one in ladder.members] == wanted


def test_a_scrap_may_be_used_up_and_what_goes_with_it_must_not(
    store: Store, numbers: dict[str, int]
) -> None:
    retire_scraps(store, [numbers["red"], numbers["moss"]])
    answer = goes_with(store, numbers["red"], ALL)
    assert answer.start.scrap.id == numbers["red"]
    members = [one.scrap.id for each in answer.together for one in each.members]
    assert members
    assert numbers["moss"] not in members


def test_a_corrected_family_holds_for_what_goes_together(
    store: Store, numbers: dict[str, int]
) -> None:
    """Said to be grey, a sky is no longer among the blues, and has no hue to go by."""

    def members() -> set[int]:
        answer = goes_with(store, numbers["navy"], ALL)
        return {one.scrap.id for each in answer.together for one in each.members}

    assert numbers["sky"] in members()
    edit_scraps(store, [numbers["sky"]], {"family": "grey"})
    assert numbers["sky"] not in members()


def test_every_scrap_with_colours_is_in_one_pile(store: Store, numbers: dict[str, int]) -> None:
    with store.change("typed") as writer:
        unseen = writer.add_scrap(NewScrap(outline=box(0, 0, 3, 3))).id
        typed = writer.add_scrap(NewScrap(outline=box(0, 0, 3, 3), family="blue")).id
    piled = pile_scraps(store, 3, ALL)
    members = [one.scrap.id for pile in piled.piles for one in pile.members]
    assert sorted(members) == sorted([*numbers.values(), typed])
    assert [one.scrap.id for one in piled.unseen] == [unseen]
    assert [one.scrap.id for one in piled.by_family] == [typed]
    assert [pile.number for pile in piled.piles] == [1, 2, 3]
    assert sum(pile.area for pile in piled.piles) == pytest.approx(24 * len(CLOTHS) + 9)


def test_a_typed_scrap_goes_with_others_by_its_family(
    store: Store, numbers: dict[str, int]
) -> None:
    """A typed orange finds the blues opposite, and a typed light blue the blues beside it."""
    with store.change("typed") as writer:
        orange = writer.add_scrap(NewScrap(outline=box(0, 0, 3, 3), family="orange")).id
        blue = writer.add_scrap(NewScrap(outline=box(0, 0, 3, 3), family="blue", value="light")).id
    answer = goes_with(store, orange, ALL, most=20)
    found = {one.scrap.id for each in answer.together for one in each.members}
    assert {numbers["navy"], blue} <= found
    assert not answer.start.photographed
    found_again = goes_with(store, blue, ALL, most=20).together
    assert numbers["navy"] in {one.scrap.id for each in found_again for one in each.members}
    assert find_like(store, str(blue), ALL)[1]


def test_a_pile_is_called_by_what_is_in_it(store: Store) -> None:
    numbers = add_cloths(store, "navy", "navy roses", "cream")
    piled = pile_scraps(store, 2, ALL)
    assert [pile.words for pile in piled.piles] == ["dark blue", "white"]
    one = {member.scrap.id: member for pile in piled.piles for member in pile.members}
    navy, roses, cream = (one[numbers[name]] for name in ("navy", "navy roses", "cream"))
    assert StorePile(1, (navy, roses, navy, cream)).words == "mostly dark blue"
    assert StorePile(1, (cream, navy)).words == "white and blue"
    assert StorePile(1, (cream, navy, roses)).words == "mostly dark blue"
    rest = add_cloths(store, "red", "moss", "lemon")
    others = [one for one in read_colours(store, ALL) if one.scrap.id in rest.values()]
    assert StorePile(1, (cream, navy, *others)).words == "mixed"


def test_the_same_seed_makes_the_same_piles(store: Store, numbers: dict[str, int]) -> None:
    assert pile_scraps(store, 4, ALL, seed=3) == pile_scraps(store, 4, ALL, seed=3)


def test_piles_of_nothing_and_no_piles(store: Store) -> None:
    assert pile_scraps(store, 5, ALL).piles == ()
    with pytest.raises(StoreError, match="ask for 1 or more"):
        pile_scraps(store, 0, ALL)
