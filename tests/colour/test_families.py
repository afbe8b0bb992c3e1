"""Colour words: agreement with people, and where the table comes from."""

import re

import numpy as np
import pytest
from matplotlib.colors import XKCD_COLORS

from scrapstore.colour import (
    FAMILIES,
    families,
    family,
    family_of_word,
    family_probabilities,
    srgb_to_lab,
)
from scrapstore.colour.families import _OTHER_WORDS
from scrapstore.colour.family_table import FAMILY_TABLE
from scrapstore.errors import ScrapstoreError
from tests.support.colour_names import agreement, confusion_table, held_out, survey, web_names
from tests.support.fit_families import fit


def test_the_words_are_the_eleven_of_berlin_and_kay() -> None:
    assert set(FAMILIES) == {
        "black", "white", "red", "green", "yellow", "blue", "brown", "orange", "pink", "purple",
        "grey",
    }  # fmt: skip


def test_agrees_with_the_survey_in_92_of_100_names() -> None:
    assert len(survey()) > 500
    assert agreement(survey()) >= 0.92


def test_agrees_just_as_well_where_nothing_was_fitted() -> None:
    kept = [colour for colour in survey() if held_out(colour)]
    assert len(kept) > 150
    assert agreement(kept) >= 0.92


def test_agrees_with_the_names_of_the_web() -> None:
    assert len(web_names()) > 50
    assert agreement(web_names()) >= 0.85  # many CSS names date from the screens of the 1980s


def test_the_table_is_what_the_script_fits() -> None:
    np.testing.assert_allclose(np.array(list(FAMILY_TABLE.values())), fit(), atol=0.03)


def test_the_confusion_table_counts_every_name_once() -> None:
    rows = [line.split("|")[2:5] for line in confusion_table(survey()).splitlines()[2:]]
    assert sum(int(names) for names, _, _ in rows) == len(survey())
    for names, same, others in rows:
        counted = [int(number) for number in re.findall(r"\d+", others)]
        assert int(same) + sum(counted) == int(names)


@pytest.mark.parametrize(
    ("rgb", "word"),
    [
        ((0, 0, 0), "black"),
        ((40, 40, 42), "black"),
        ((255, 255, 255), "white"),
        ((240, 238, 235), "white"),
        ((245, 235, 210), "white"),  # cream
        ((128, 128, 128), "grey"),
        ((205, 205, 208), "grey"),
        ((0, 0, 128), "blue"),  # navy
        ((128, 0, 0), "red"),  # maroon
        ((139, 69, 19), "brown"),
        ((210, 180, 140), "brown"),  # tan
        ((255, 192, 203), "pink"),
        ((128, 128, 0), "green"),  # olive
        ((255, 200, 0), "yellow"),
        ((255, 140, 0), "orange"),
        ((128, 0, 128), "purple"),
    ],
)
def test_a_colour_that_nobody_argues_about(rgb: tuple[int, int, int], word: str) -> None:
    assert family(rgb) == word


def test_many_at_once_are_as_one_by_one() -> None:
    rgb = np.random.default_rng(4).integers(0, 256, (500, 3))
    assert [FAMILIES[at] for at in families(srgb_to_lab(rgb))] == [family(one) for one in rgb]


def test_probabilities_sum_to_one_and_name_the_family() -> None:
    lab = srgb_to_lab(np.random.default_rng(5).integers(0, 256, (500, 3)))
    odds = family_probabilities(lab)
    np.testing.assert_allclose(odds.sum(axis=1), 1)
    np.testing.assert_array_equal(odds.argmax(axis=1), families(lab))


def test_grey_runs_from_black_to_white_without_any_hue() -> None:
    words = [family((step, step, step)) for step in range(256)]
    assert list(dict.fromkeys(words)) == ["black", "grey", "white"]


@pytest.mark.parametrize(
    ("typed", "word"),
    [
        (" Cream", "white"),
        ("gray", "grey"),
        ("red", "red"),
        ("sage", "green"),
        ("dark teal", "blue"),
        ("Off-white", "white"),
        ("forest  green", "green"),
        ("multicolour", "multicolour"),
    ],
)
def test_other_words_for_a_family(typed: str, word: str) -> None:
    assert family_of_word(typed) == word


def test_other_words_are_what_people_name_so() -> None:
    """A word typed and the survey's colour of that name go to one family, or nearly so."""
    known = {
        word: XKCD_COLORS[f"xkcd:{word}"] for word in _OTHER_WORDS if f"xkcd:{word}" in XKCD_COLORS
    }
    assert len(known) > 30
    del known["khaki"]  # of cloth it is the brown of uniforms; the survey's is greener
    for word, code in known.items():
        rgb = [int(str(code)[at : at + 2], 16) for at in (1, 3, 5)]
        odds = family_probabilities(srgb_to_lab(rgb))
        assert odds[FAMILIES.index(family_of_word(word))] > 0.25, word


def test_a_word_that_is_no_colour_says_which_are() -> None:
    with pytest.raises(ScrapstoreError, match="'xyz' is no colour word; use one of red, orange"):
        family_of_word("xyz")


@pytest.mark.parametrize(("typed", "near"), [("teel", "teal"), ("bleu", "blue"), ("sge", "sage")])
def test_a_colour_word_mistyped_is_guessed(typed: str, near: str) -> None:
    with pytest.raises(ScrapstoreError, match=rf"did you mean {near}\b"):
        family_of_word(typed)
