"""The store by colour family, and learning from what the user corrected."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from shapely import box

from scrapstore.actions.families import (
    forget_families,
    group_by_family,
    keep_learned,
    learn_families,
)
from scrapstore.actions.scrap import edit_scraps
from scrapstore.actions.undo import changes_to_undo, undo_changes
from scrapstore.colour import FAMILIES, FAMILY_ORDER, MULTICOLOUR, reads_as, swatch
from scrapstore.errors import NotFoundError, StoreError
from scrapstore.store import (
    NewFabric,
    NewPlan,
    NewScrap,
    StockFilter,
    Store,
    keep_plan,
    open_store,
)
from scrapstore.store.scrap_colours import Coloured, read_colours
from tests.support.coloured_store import CLOTHS, a_read_scrap, add_cloths, cloth
from tests.support.stores import contents

ALL = StockFilter()


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "store") as store:
        yield store


def one(store: Store, number: int) -> Coloured:
    (found,) = (each for each in read_colours(store, ALL) if each.scrap.id == number)
    return found


def teals(store: Store, *colours: tuple[int, int, int]) -> list[int]:
    """Solids of these colours as logging would make them; their numbers."""
    with store.change("teals") as writer:
        added = []
        for rgb in colours:
            cloth = (swatch(rgb),)
            read = reads_as(cloth)
            new = NewScrap(
                outline=box(0, 0, 4, 4), swatches=cloth, family=read.family, value=read.value
            )
            added.append(writer.add_scrap(new).id)
    return added


def test_every_family_has_its_place_in_the_order() -> None:
    assert sorted(FAMILY_ORDER) == sorted((*FAMILIES, MULTICOLOUR))


def test_scraps_stand_under_their_family_and_are_told_under_their_accents(store: Store) -> None:
    """A navy with pink roses reads as blue and can still be found under pink."""
    numbers = add_cloths(store)
    grouped = group_by_family(store, ALL)
    found = {family.word: family for family in grouped.families}
    assert numbers["navy roses"] in [each.scrap.id for each in found["blue"].members]
    assert [each.scrap.id for each in found["pink"].holding] == [numbers["navy roses"]]
    assert found["pink"].members == ()
    assert [each.scrap.id for each in found["white"].holding] == [numbers["red check"]]
    assert len(grouped.members) == len(CLOTHS)


def test_greys_are_told_under_their_tints_the_surest_first(store: Store) -> None:
    """They stay grey, whether all scraps are grouped or those of a colour."""
    numbers = add_cloths(store, "mauve", "dusty rose", "plain grey", "navy roses")
    for only in (ALL, StockFilter(families=("pink", "grey"))):
        found = {family.word: family for family in group_by_family(store, only).families}
        assert [each.scrap.id for each in found["pink"].tinted] == [
            numbers["dusty rose"],
            numbers["mauve"],
        ]
        assert [each.scrap.id for each in found["pink"].holding] == [numbers["navy roses"]]
        assert [each.scrap.id for each in found["purple"].tinted] == [numbers["mauve"]]
        assert len(found["grey"].members) == 3
        assert all(not one.tints for one in found["blue"].members)


def test_what_you_call_grey_has_its_tint_and_what_you_call_pink_has_none(store: Store) -> None:
    numbers = add_cloths(store, "dusty rose", "sage")
    edit_scraps(store, [numbers["dusty rose"]], {"family": "pink"})
    edit_scraps(store, [numbers["sage"]], {"family": "grey"})
    assert one(store, numbers["dusty rose"]).tints == ()
    assert one(store, numbers["sage"]).tints == ("green",)


def test_counts_and_areas_are_of_the_members(store: Store) -> None:
    add_cloths(store)
    grouped = group_by_family(store, ALL)
    blue = next(family for family in grouped.families if family.word == "blue")
    assert len(blue.members) == 3
    assert blue.area == pytest.approx(3 * 24)
    assert blue.values == {"dark": 2, "light": 1}
    assert blue.warmths == {"cool": 3}
    assert sum(family.area for family in grouped.families) == pytest.approx(24 * len(CLOTHS))


def test_families_follow_the_hue_circle_and_their_members_go_from_light_to_dark(
    store: Store,
) -> None:
    numbers = add_cloths(store)
    grouped = group_by_family(store, ALL)
    words = [family.word for family in grouped.families if family.members]
    assert words == [word for word in FAMILY_ORDER if word in words]
    assert words.index("red") < words.index("yellow") < words.index("green") < words.index("blue")
    blue = next(family for family in grouped.families if family.word == "blue")
    assert blue.members[0].scrap.id == numbers["sky"]


def test_values_are_relative_to_the_scraps_that_were_grouped(store: Store) -> None:
    """Among light cloths the deepest is the dark one, whatever it is by itself."""
    numbers = add_cloths(store, "sky", "lemon", "cream")
    among = {each.scrap.id: each for each in group_by_family(store, ALL).members}
    assert among[numbers["sky"]].value == "light"
    assert among[numbers["sky"]].relative == "dark"
    alone = group_by_family(store, StockFilter(families=("blue",)))
    assert [each.relative for each in alone.members] == ["medium"]


def test_a_value_of_the_users_own_is_not_made_relative(store: Store) -> None:
    numbers = add_cloths(store, "sky", "lemon", "cream")
    edit_scraps(store, [numbers["sky"]], {"value": "light"})
    sky = one(store, numbers["sky"])
    assert (sky.relative, sky.relative_confidence, sky.value_confidence) == ("light", None, None)


def test_scraps_without_a_photo_stand_where_their_word_or_their_fabric_says(store: Store) -> None:
    with store.change("typed") as writer:
        green = writer.add_fabric(NewFabric(name="leaves", family="green", value="medium"))
        typed = writer.add_scrap(NewScrap(outline=box(0, 0, 2, 2), family="red"))
        of_fabric = writer.add_scrap(NewScrap(outline=box(0, 0, 2, 2), fabric=green))
        unknown = writer.add_scrap(NewScrap(outline=box(0, 0, 2, 2)))
    found = {family.word: family for family in group_by_family(store, ALL).families}
    assert [each.scrap.id for each in found["red"].members] == [typed.id]
    assert [each.scrap.id for each in found["green"].members] == [of_fabric.id]
    assert [each.scrap.id for each in found[None].members] == [unknown.id]
    assert found["green"].values == {"medium": 1}
    assert (one(store, typed.id).source, one(store, of_fabric.id).source) == ("you", "fabric")
    assert found[None].typical_rgb is None


def test_an_empty_store_has_no_families(store: Store) -> None:
    assert group_by_family(store, ALL).families == ()


def test_a_fabric_that_is_not_there_is_named(store: Store) -> None:
    with pytest.raises(NotFoundError, match="no fabric is called 'silk'"):
        group_by_family(store, StockFilter(fabrics=("silk",)))


def test_the_users_word_wins_and_has_no_confidence(store: Store) -> None:
    numbers = add_cloths(store)
    navy = one(store, numbers["navy"])
    assert navy.source == "photo"
    assert navy.confidence is not None
    edit_scraps(store, [numbers["navy"]], {"family": "black"})
    navy = one(store, numbers["navy"])
    assert (navy.family, navy.source, navy.confidence) == ("black", "you", None)
    assert "?" not in navy.family_words


TEAL, NEAR_TEAL, FAR = (20, 125, 130), (28, 130, 132), (200, 40, 40)


def test_what_looks_like_a_corrected_scrap_takes_its_word(store: Store) -> None:
    taught, pupil, far = teals(store, TEAL, NEAR_TEAL, FAR)
    was = one(store, pupil).family
    word = "green" if was == "blue" else "blue"
    edit_scraps(store, [taught], {"family": word})
    (learned,) = learn_families(store, ALL)
    assert (learned.scrap.id, learned.was, learned.now, learned.like) == (
        pupil,
        was,
        word,
        (taught,),
    )
    assert one(store, pupil).family == was  # nothing is stored by asking
    assert keep_learned(store, [learned]) == (pupil,)
    assert (one(store, pupil).family, one(store, pupil).source) == (word, "learned")
    assert one(store, pupil).scrap.corrected == ()
    assert one(store, far).family == "red"
    assert learn_families(store, ALL) == ()


def test_a_scrap_that_a_plan_holds_learns_nothing_new(store: Store) -> None:
    """Its role may have asked for the colour that it read as."""
    taught, pupil = teals(store, TEAL, NEAR_TEAL)
    was = one(store, pupil).family
    edit_scraps(store, [taught], {"family": "green" if was == "blue" else "blue"})
    learned = learn_families(store, ALL)
    with store.change("test") as writer:
        keep_plan(writer, NewPlan(name="bench", project="Bench", document={}, scrap_ids=(pupil,)))
    assert keep_learned(store, learned) == ()
    with store.read() as reader:
        assert reader.scrap(pupil).family == was


def test_what_was_learned_can_be_forgotten_but_the_users_word_stays(store: Store) -> None:
    taught, pupil = teals(store, TEAL, NEAR_TEAL)
    was = one(store, pupil).family
    word = "green" if was == "blue" else "blue"
    edit_scraps(store, [taught], {"family": word})
    keep_learned(store, learn_families(store, ALL))
    forgotten = forget_families(store, ALL)
    assert [(each.scrap.id, each.was, each.now) for each in forgotten] == [(pupil, word, was)]
    keep_learned(store, forgotten, what="families forget")
    assert (one(store, pupil).family, one(store, taught).family) == (was, word)
    assert forget_families(store, ALL) == ()
    with store.read() as reader:
        assert [change.what for change in reader.history()][:2] == [
            "families forget",
            "families learn",
        ]


def test_what_was_learned_and_forgotten_is_taken_back(store: Store) -> None:
    """To the bit, as plain sqlite3 reads it."""
    taught, pupil = teals(store, TEAL, NEAR_TEAL)
    word = "green" if one(store, pupil).family == "blue" else "blue"
    edit_scraps(store, [taught], {"family": word})
    states = [contents(store.database)]
    keep_learned(store, learn_families(store, ALL))
    states.append(contents(store.database))
    keep_learned(store, forget_families(store, ALL), what="families forget")
    assert contents(store.database) != states[1] != states[0]
    for state in reversed(states):
        undo_changes(store, changes_to_undo(store))
        assert contents(store.database) == state


def test_accents_that_an_earlier_version_read_otherwise_are_brought_up_to_date(
    store: Store,
) -> None:
    numbers = add_cloths(store, "navy roses", "red check")
    roses, check = (numbers[name] for name in ("navy roses", "red check"))
    with store.change("as an earlier version read them") as writer:
        for number in (roses, check):
            writer.update_scrap(replace(writer.scrap(number), accents=("grey",)))
        mine = writer.scrap(check)
        writer.update_scrap(replace(mine, corrected=(*mine.corrected, "accents")))
    (forgotten,) = forget_families(store, ALL)
    assert (forgotten.scrap.id, forgotten.was, forgotten.now) == (roses, "blue", "blue")
    keep_learned(store, [forgotten])
    with store.read() as reader:
        assert reader.scrap(roses).accents == reads_as(cloth("navy roses")).accents
        assert reader.scrap(check).accents == ("grey",)
    assert forget_families(store, ALL) == ()


def test_taking_a_correction_back_takes_back_what_was_learned_from_it(store: Store) -> None:
    taught, pupil, other = teals(store, TEAL, NEAR_TEAL, FAR)
    was = one(store, pupil).family
    edit_scraps(store, [taught], {"family": "green" if was == "blue" else "blue"})
    keep_learned(store, learn_families(store, ALL))
    edit_scraps(store, [taught], {"family": None})
    edit_scraps(store, [other], {"family": "pink"})
    assert [(each.scrap.id, each.now, each.like) for each in learn_families(store, ALL)] == [
        (pupil, was, ())
    ]


def test_a_correction_is_never_changed_even_against_its_neighbours(store: Store) -> None:
    first, second, third, odd = teals(store, TEAL, TEAL, TEAL, NEAR_TEAL)
    edit_scraps(store, [first, second, third], {"family": "green"})
    edit_scraps(store, [odd], {"family": "blue"})
    assert learn_families(store, ALL) == ()
    assert one(store, odd).family == "blue"


def test_a_scrap_corrected_meanwhile_is_left_alone(store: Store) -> None:
    taught, pupil = teals(store, TEAL, NEAR_TEAL)
    word = "green" if one(store, pupil).family == "blue" else "blue"
    edit_scraps(store, [taught], {"family": word})
    learned = learn_families(store, ALL)
    edit_scraps(store, [pupil], {"family": "grey"})
    assert keep_learned(store, learned) == ()
    assert one(store, pupil).family == "grey"


def test_accents_of_the_users_own_are_not_learned_over(store: Store) -> None:
    taught, pupil = teals(store, TEAL, NEAR_TEAL)
    word = "green" if one(store, pupil).family == "blue" else "blue"
    edit_scraps(store, [taught], {"family": word})
    edit_scraps(store, [pupil], {"accents": ("yellow",)})
    keep_learned(store, learn_families(store, ALL))
    assert (one(store, pupil).family, one(store, pupil).scrap.accents) == (word, ("yellow",))


def test_a_used_up_scrap_still_teaches_and_filters_choose_who_learns(store: Store) -> None:
    taught, first, second = teals(store, TEAL, NEAR_TEAL, NEAR_TEAL)
    word = "green" if one(store, first).family == "blue" else "blue"
    edit_scraps(store, [taught], {"family": word, "status": "used up"})
    assert [each.scrap.id for each in learn_families(store, ALL)] == [first, second]
    only = StockFilter(ids=(second,))
    assert [each.scrap.id for each in learn_families(store, only)] == [second]


def test_with_nothing_corrected_there_is_nothing_to_learn_from(store: Store) -> None:
    add_cloths(store)
    with pytest.raises(StoreError, match="scrap edit 3 --family green"):
        learn_families(store, ALL)


def test_a_doubtful_reading_is_marked(store: Store) -> None:
    """Half blue, half green by our own count of people: the photo leaves doubt."""
    (number,) = teals(store, TEAL)
    doubtful = one(store, number)
    assert doubtful.confidence is not None
    assert doubtful.family_words.endswith("?") == (doubtful.confidence < 0.6)
    with store.change("sure") as writer:
        sure = writer.add_scrap(replace(a_read_scrap("navy"), name="navy")).id
    assert one(store, sure).family_words == "blue"
