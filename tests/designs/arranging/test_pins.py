"""What is pinned stays, what is swapped is checked."""

from dataclasses import replace

import pytest

from scrapstore.designs.arranging import arrange, named_places, with_pins, with_swap
from scrapstore.errors import PlanError, UsageError
from tests.support.arranging import story_job


def test_pinned_rounds_wedges_and_pieces_have_their_cloth_in_every_scheme() -> None:
    job = with_pins(story_job(), ["round 1=navy", "wedge 2 = orange", "4.2.2=grey"])
    kept = 0
    for scheme in ("families", "graded", "plain middle"):
        for one in arrange(job, [scheme], 2).arrangements:
            kept += 1
            for i, place in enumerate(job.top.places):
                fabric = job.cloths[one.cloth_of[i]].word
                if place.wedge == 2:
                    assert fabric == "rust"
                elif place.ring == 1:
                    assert fabric == "navy"
                if place.position == "4.2.2":
                    assert fabric == "grey"
    assert kept
    assert arrange(job, ["scattered"], 1).arrangements == ()  # rust beside rust


def test_a_pinned_round_leaves_those_ways_that_have_it() -> None:
    job = with_pins(story_job(), ["round 1=navy"])
    (scheme,) = arrange(job, ["rounds"], 6).schemes
    assert (scheme.count, scheme.complete) == (2, True)


def test_a_pinned_piece_is_carved_out_of_its_round() -> None:
    """By hand: one navy in round 3 leaves 10 navy and 17 teal; all four ways stay."""
    job = with_pins(story_job(), ["2.2.2=navy"])
    found = arrange(job, ["rounds"], 6)
    assert (found.schemes[0].count, found.schemes[0].complete) == (4, True)
    at = named_places(job.top, "2.2.2")
    assert at is not None
    assert {job.cloths[one.cloth_of[at[0]]].word for one in found.arrangements} == {"navy"}


def test_a_pin_that_cannot_be_cut_is_told_in_counts() -> None:
    job = with_pins(story_job(), ["round 3=mustard"])
    (scheme,) = arrange(job, ["rounds"], 6).schemes
    assert not scheme.arrangements
    assert scheme.misses[0].words == "mustard for round 3: 6 of 18"


@pytest.mark.parametrize(
    ("pin", "said"),
    [
        ("round 9=navy", "there is no 'round 9'"),
        ("round 1=nvy", "did you mean navy?"),
        ("round 1", "write 'round 1=mustard'"),
        ("=navy", "write 'round 1=mustard'"),
    ],
)
def test_a_pin_that_says_nothing_is_refused(pin: str, said: str) -> None:
    with pytest.raises(UsageError, match=said.replace("?", r"\?")):
        with_pins(story_job(), [pin])


def test_what_a_role_does_not_allow_cannot_be_pinned_there() -> None:
    job = story_job()
    navy = next(c for c, cloth in enumerate(job.cloths) if cloth.word == "navy")
    allowed = tuple(tuple(c for c in own if c != navy) for own in job.allowed)
    with pytest.raises(UsageError, match="does not allow navy"):
        with_pins(replace(job, allowed=allowed), ["round 1=navy"])


def test_two_rounds_or_two_fabrics_are_swapped() -> None:
    job = story_job()
    one = next(
        a for a in arrange(job, ["rounds"], 6).arrangements if a.blocks[0] == ("round 1", "mustard")
    )
    for swap in ("round 1=round 5", "wedge 1=wedge 2", "1.1.1=1.3.3"):
        swapped = with_swap(job, one, swap)
        assert sorted(swapped.cloth_of) == sorted(one.cloth_of)
    swapped = with_swap(job, one, "rust=grey")
    assert dict(swapped.blocks)["round 2"] == dict(one.blocks)["round 4"]
    assert with_swap(job, swapped, "rust=grey").cloth_of == one.cloth_of


def test_a_swap_that_cannot_be_cut_is_told_in_counts() -> None:
    job = story_job()
    one = arrange(job, ["rounds"], 1).arrangements[0]
    with pytest.raises(PlanError, match="rust gives 12 of 18"):
        with_swap(job, one, "rust=teal")
    with pytest.raises(UsageError, match="round 1 has 6 pieces and round 4 12"):
        with_swap(job, one, "round 1=round 4")
    with pytest.raises(UsageError, match="name two places, or two fabrics"):
        with_swap(job, one, "round 1=teal")
