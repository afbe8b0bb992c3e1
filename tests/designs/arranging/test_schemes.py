"""What the schemes find, beside all there is on small cases; whether they keep their promise."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise, product

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import affinity

from scrapstore.designs import make_design
from scrapstore.designs.arranging import SCHEMES, Arrangement, Job, RoleConditions, arrange
from tests.support.arranging import (
    a_cloth,
    a_job,
    every_assignment,
    of_design,
    star_top,
    story_job,
)


def found(job: Job, scheme: str, count: int = 6) -> tuple[Arrangement, ...]:
    return arrange(job, [scheme], count).arrangements


def words(job: Job, arrangement: Arrangement) -> list[str]:
    return [job.cloths[c].word for c in arrangement.cloth_of]


def within_supply(job: Job, arrangement: Arrangement) -> bool:
    """Counted place by place."""
    taken = Counter((c, p.kind) for c, p in zip(arrangement.cloth_of, job.top.places, strict=True))
    return all(
        any(all(taken[c, k] <= n for k, n in enumerate(amount)) for amount in cloth.gives)
        for c, cloth in enumerate(job.cloths)
    )


def test_exactly_four_arrangements_of_the_story_have_one_fabric_a_round() -> None:
    """By hand: teal must be the third round, rust and grey the second and fourth, the rest ends."""
    job = story_job()
    (scheme,) = arrange(job, ["rounds"], 6).schemes
    assert (scheme.by, scheme.count, scheme.complete) == ("fabric", 4, True)
    lies = {tuple(cloth for _, cloth in one.blocks) for one in scheme.arrangements}
    assert lies == {
        (first, second, "teal", fourth, fifth)
        for (first, fifth), (second, fourth) in product(
            (("mustard", "navy"), ("navy", "mustard")), (("rust", "grey"), ("grey", "rust"))
        )
    }
    assert [miss.words for miss in scheme.misses] == ["navy for round 4: 11 of 12"]


@settings(max_examples=25, deadline=None)
@given(st.lists(st.integers(3, 14), min_size=2, max_size=5))
def test_all_ways_by_round_are_those_that_counting_everything_finds(gives: list[int]) -> None:
    """A star of two a side: rounds of 6, 12 and 6; neighbouring rounds differ."""
    job = a_job(star_top(2), [a_cloth(f"cloth {k}", n) for k, n in enumerate(gives)], want=200)
    job = replace(job, by=("fabric",))
    expected = {
        way
        for way in every_assignment([(6,), (12,), (6,)], [((n,),) for n in gives])
        if way[0] != way[1] != way[2]
    }
    (scheme,) = arrange(job, ["rounds"], 200).schemes
    ways = set()
    for one in scheme.arrangements:
        by_ring = {p.ring: c for p, c in zip(job.top.places, one.cloth_of, strict=True)}
        ways.add(tuple(by_ring[ring] for ring in (1, 2, 3)))
    assert scheme.complete
    assert ways == expected
    assert scheme.count == len(expected)


@settings(max_examples=15, deadline=None)
@given(st.lists(st.integers(4, 14), min_size=2, max_size=4))
def test_ways_by_wedge_that_are_one_another_turned_count_once(gives: list[int]) -> None:
    """Six wedges of four in a ring, neighbours unlike, up to the six turns of the star."""
    job = a_job(star_top(2), [a_cloth(f"cloth {k}", n) for k, n in enumerate(gives)], want=800)
    job = replace(job, by=("fabric",))
    expected = {
        min(way[k:] + way[:k] for k in range(6))
        for way in every_assignment([(4,)] * 6, [((n,),) for n in gives])
        if all(way[k] != way[k - 1] for k in range(6))
    }
    (scheme,) = arrange(job, ["wedges"], 800).schemes
    found = set()
    for one in scheme.arrangements:
        by_wedge = {p.wedge: c for p, c in zip(job.top.places, one.cloth_of, strict=True)}
        way = tuple(by_wedge[wedge] for wedge in range(1, 7))
        found.add(min(way[k:] + way[:k] for k in range(6)))
    assert scheme.complete
    assert found == expected
    assert scheme.count == len(expected)


@settings(max_examples=20, deadline=None)
@given(st.lists(st.integers(2, 14), min_size=3, max_size=4))
@example([6, 6, 12, 12])
def test_the_nearest_miss_lacks_no_more_than_any_other(gives: list[int]) -> None:
    """Rounds of 6, 12 and 6: of all ways that cannot be cut, none lacks fewer pieces.

    It is not looked for where more than twelve ways can be cut.
    """
    job = a_job(star_top(2), [a_cloth(f"cloth {k}", n) for k, n in enumerate(gives)])
    lacks = []
    for way in product(range(len(gives)), repeat=3):
        takes = [sum(n for n, s in zip((6, 12, 6), way, strict=True) if s == k)
                 for k in range(len(gives))]  # fmt: skip
        short = sum(max(0, need - have) for need, have in zip(takes, gives, strict=True))
        if short and way[0] != way[1] != way[2]:
            lacks.append(short)
    (scheme,) = arrange(replace(job, by=("fabric",)), ["rounds"], 6).schemes
    told = [miss.needs - miss.has for miss in scheme.misses]
    assert sum(told) == (min(lacks) if lacks and scheme.count <= 12 else 0)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3)), min_size=2, max_size=3))
def test_where_kinds_share_scraps_whole_layouts_decide(layouts: list[tuple[int, int]]) -> None:
    """Two pinwheels: each cloth gives sails or background triangles, never the sum of both."""
    design = make_design("pinwheels", piece=2, seam=0.25, mark=0.125, rows=1, columns=1)
    top = of_design(design, ["sails", "background"])
    kind_of = {place.line: number for number, place in enumerate(top.places[:2])}
    top = replace(
        top, kinds=("sail", "back"),
        places=tuple(replace(place, kind=kind_of[place.line]) for place in top.places),
    )  # fmt: skip
    cloths = [a_cloth(f"cloth {k}", [(a, 0), (0, b)]) for k, (a, b) in enumerate(layouts)]
    job = replace(a_job(top, cloths), by=("fabric",))
    expected = any(
        all(place_cloth[i] != place_cloth[j] for i, near in enumerate(top.neighbours) for j in near)
        for place_cloth in every_assignment(
            [top.amount([i]) for i in range(len(top.places))], [c.gives for c in cloths]
        )
    )
    assert bool(found(job, "scattered")) == expected


@settings(max_examples=30, deadline=None)
@given(st.lists(st.integers(1, 4), min_size=2, max_size=4), st.integers(0, 3))
def test_scattered_is_found_exactly_where_there_is_any(gives: list[int], seed: int) -> None:
    """Squares, two rows of three: every assignment is looked at."""
    design = make_design("squares", piece=2, seam=0.25, mark=0.125, rows=2, columns=3)
    job = a_job(of_design(design, ["squares"]), [a_cloth(f"c{k}", n) for k, n in enumerate(gives)])
    job = replace(job, seed=seed)
    most = 0
    for way in every_assignment([(1,)] * 6, [((n,),) for n in gives]):
        if all(way[i] != way[j] for i, near in enumerate(job.top.neighbours) for j in near):
            most = max(most, len(set(way)))
    result = arrange(job, ["scattered"], 3)
    assert bool(result.arrangements) == bool(most)
    for one in result.arrangements:
        assert within_supply(job, one)
        assert one.figure[0] == len(set(one.cloth_of)) == most
    if not most:
        assert result.schemes[0].misses or sum(gives) < 6


def test_neighbours_are_the_places_that_share_an_edge() -> None:
    """By geometry: 54 diamonds have 216 sides; 36 of them are the star's outline, two a seam."""
    top = star_top()
    assert sum(len(near) for near in top.neighbours) == 216 - 36
    for i, near in enumerate(top.neighbours):
        for j, place in enumerate(top.places):
            shared = top.places[i].outline.intersection(place.outline).length
            assert (j in near) == (i != j and 0.1 < shared < 1.8)


@pytest.mark.parametrize("scheme", list(SCHEMES))
def test_whatever_a_scheme_finds_the_cloth_suffices_and_neighbouring_blocks_differ(
    scheme: str,
) -> None:
    job = story_job()
    for one in found(job, scheme, 6):
        assert within_supply(job, one)
        named, ring = words(job, one), [place.ring for place in job.top.places]
        pairs = [(i, j) for i, near in enumerate(job.top.neighbours) for j in near]
        if scheme in ("rounds", "scattered"):
            apart = [ij for ij in pairs if scheme == "scattered" or ring[ij[0]] != ring[ij[1]]]
            assert all(named[i] != named[j] for i, j in apart)


def test_graded_gets_darker_round_by_round() -> None:
    job = story_job()
    for one in found(job, "graded"):
        by_ring: dict[int, list[float]] = {}
        for place, cloth in zip(job.top.places, one.cloth_of, strict=True):
            by_ring.setdefault(place.ring or 0, []).append(job.cloths[cloth].lab[0])
        rings = [by_ring[ring] for ring in sorted(by_ring)]
        out = all(min(a) >= max(b) for a, b in pairwise(rings))
        inwards = all(max(a) <= min(b) for a, b in pairwise(rings))
        assert out or inwards


def test_graded_by_fabric_steps_down_where_five_fabrics_suffice() -> None:
    """Five fabrics of enough cloth, each darker than the last: two ways, out and inwards."""
    values = [("white", "light"), ("yellow", "medium"), ("orange", "medium"), ("blue", "medium"),
              ("blue", "dark")]  # fmt: skip
    job = a_job(star_top(), [a_cloth(f"c{k}", 20, f, v) for k, (f, v) in enumerate(values)])
    (scheme,) = arrange(job, ["graded"], 6).schemes
    assert (scheme.by, scheme.count, scheme.complete) == ("fabric", 2, True)


@pytest.mark.parametrize("top", ["star", "squares"])
def test_each_family_is_one_patch(top: str) -> None:
    """From a place of a family one gets to every other over common edges."""
    job = story_job()
    if top == "squares":
        design = make_design("squares", piece=2, seam=0.25, mark=0.125, rows=6, columns=8)
        job = a_job(of_design(design, ["squares"]), job.cloths)
    arrangements = found(job, "families")
    assert arrangements
    for one in arrangements:
        for family in {job.cloths[c].family for c in one.cloth_of}:
            mine = {i for i, c in enumerate(one.cloth_of) if job.cloths[c].family == family}
            seen, waiting = set(), [min(mine)]
            while waiting:
                at = waiting.pop()
                seen.add(at)
                waiting += sorted((job.top.neighbours[at] & mine) - seen)
            assert seen == mine


def test_mirrored_is_exact() -> None:
    """Checked by reflecting each outline with shapely, about the line that is named or found."""
    job = story_job()
    arrangements = found(job, "mirrored")
    assert arrangements
    for one in arrangements:
        assert any(_mirrors(job, one, angle) for angle in range(0, 180, 30))


def _mirrors(job: Job, one: Arrangement, angle: float) -> bool:
    fabric = {
        affinity.rotate(p.outline, -angle, origin=(0, 0)).centroid.coords[0]: c
        for p, c in zip(job.top.places, one.cloth_of, strict=True)
    }
    return all(
        any(abs(x - u) + abs(y + v) < 1e-6 and c == d for (u, v), d in fabric.items())
        for (x, y), c in fabric.items()
    )


def test_a_plain_middle_is_of_one_plain_cloth_and_the_rest_is_coloured() -> None:
    cloths = [a_cloth("linen", 20, "white", "light"), a_cloth("slate", 5, "grey"),
              a_cloth("red", 30, "red"), a_cloth("blue", 30, "blue")]  # fmt: skip
    job = a_job(star_top(), cloths)
    (one, *_) = found(job, "plain middle")
    inside = {p.ring for p, w in zip(job.top.places, words(job, one), strict=True) if w == "linen"}
    assert inside == {1, 2}
    assert set(words(job, one)) <= {"linen", "red", "blue"}


def test_what_cannot_be_cut_is_told_in_counts() -> None:
    schemes = {one.scheme: one for one in arrange(story_job(), list(SCHEMES), 6).schemes}
    misses = schemes["alternating"].misses
    assert [(miss.has, miss.needs) for miss in misses] == [(18, 27), (12, 27)]
    assert misses[0].words == "teal for wedges 1, 3 and 5: 18 of 27"
    assert [miss.words for miss in schemes["plain middle"].misses] == [
        "coloured cloth for rounds 2, 3, 4 and 5: 47 of 48"
    ]
    assert schemes["wedges"].by == "value"
    assert schemes["wedges"].misses[0].needs == 9


def test_the_same_seed_gives_the_same_and_another_gives_others() -> None:
    job = story_job()
    one, again = (found(job, "scattered") for _ in range(2))
    other = found(replace(job, seed=1), "scattered")
    assert one == again
    assert {a.cloth_of for a in one} != {a.cloth_of for a in other}


def test_conditions_on_a_whole_role_are_kept() -> None:
    """Sets of three of a fabric, at least four fabrics, at most six pieces of each."""
    design = make_design("squares", piece=2, seam=0.25, mark=0.125, rows=3, columns=4)
    rule = RoleConditions(same_fabric_sets=3, min_fabrics=4, max_per_fabric=6)
    job = a_job(of_design(design, ["squares"]), [a_cloth(f"c{k}", 7) for k in range(6)])
    arrangements = found(replace(job, conditions={"squares": rule}), "scattered")
    assert arrangements
    for one in arrangements:
        counts = Counter(one.cloth_of)
        assert len(counts) >= 4
        assert all(n % 3 == 0 and n <= 6 for n in counts.values())
    tight = replace(job, conditions={"squares": RoleConditions(max_per_fabric=1)})
    assert not found(tight, "scattered")
    (rounds,) = arrange(tight, ["rounds"], 6).schemes
    assert not rounds.arrangements
    many = a_job(job.top, [a_cloth(f"c{k}", 12) for k in range(6)])
    rule = RoleConditions(min_fabrics=3)
    many = replace(many, conditions={"squares": rule}, by=("fabric",))
    (rounds,) = arrange(many, ["rounds"], 6).schemes
    assert rounds.reason == "squares: 2 of at least 3 fabrics"


def test_graded_goes_piece_by_piece_where_no_fabrics_make_a_row_of_steps() -> None:
    """Ten rounds of squares, and cloths of but four lightnesses."""
    design = make_design("squares", piece=2, seam=0.25, mark=0.125, rows=10, columns=10)
    looks = [("white", "light"), ("yellow", "medium"), ("green", "medium"), ("blue", "dark")]
    cloths = [a_cloth(f"c{k}", 30, *look) for k, look in enumerate(looks)]
    arrangements = found(a_job(of_design(design, ["squares"]), cloths), "graded")
    assert arrangements
    assert all(one.by == "piece" for one in arrangements)


def test_a_design_without_rounds_or_wedges_says_so() -> None:
    job = replace(story_job())
    places = tuple(replace(place, ring=None, wedge=None) for place in job.top.places)
    bare = replace(job, top=replace(job.top, places=places))
    reasons = {one.scheme: one.reason for one in arrange(bare, list(SCHEMES), 6).schemes}
    assert reasons["rounds"] == reasons["graded"] == "this design has no rounds"
    assert reasons["wedges"] == "this design has no wedges"
    assert reasons["scattered"] == ""
