"""Tints of near-neutrals: agreement with people's names, and what the light leaves in doubt."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scrapstore.colour import FAMILIES, NEUTRALS, families, lab_to_srgb, tint_words, tints
from scrapstore.colour.tints import CAST
from tests.benchmarks.colour_tints import greyed_to, shifts
from tests.support.tinted_names import (
    greyed_names,
    looked_under,
    never_fitted,
    plain_neutrals,
)


def near_grey(lightness: float, chroma: float, hue_deg: float) -> tuple[float, float, float]:
    turn = np.radians(hue_deg)
    return lightness, chroma * float(np.cos(turn)), chroma * float(np.sin(turn))


def test_greyed_names_of_the_survey_are_found_under_their_hue() -> None:
    """Names the table was never fitted on (xkcd survey of 2010, CC0, as matplotlib carries it)."""
    kept = [one for one in greyed_names() if never_fitted(one)]
    found = [one.word in looked_under(one.rgb) for one in kept]
    assert len(kept) > 50
    assert np.mean(found) >= 0.90


def test_plainly_neutral_names_are_found_under_no_hue() -> None:
    """Grey, silver, charcoal, black, white and their shades, of the survey and of CSS."""
    plain = plain_neutrals()
    assert len(plain) > 20
    assert [one.name for one in plain if not {*looked_under(one.rgb)} <= {*NEUTRALS}] == []


def test_a_sure_tint_of_a_greyer_name_is_mostly_its_hue_and_a_doubtful_one_less() -> None:
    """The same names, greyed to a chroma at which nearly all of them read as grey."""
    said = [(one.word, looked_under(greyed_to(one, 9))) for one in greyed_names()]
    grey = [(word, under[1:]) for word, under in said if under[0] in NEUTRALS]
    assert len(grey) > 0.9 * len(said)
    sure = [some[0] == word for word, some in grey if len(some) == 1]
    doubtful = [some[0] == word for word, some in grey if len(some) > 1]
    assert np.mean(sure) >= 0.95
    assert np.mean(doubtful) < 0.75
    assert np.mean([word in some for word, some in grey]) >= 0.85


@pytest.mark.parametrize("camera", ["cast left in", "four fifths", "fully balanced"])
def test_the_cast_is_what_balancing_leaves(camera: str) -> None:
    """Lamps from 2700 to 6500 K, after balancing by grey patches."""
    assert np.percentile(shifts(camera, 300), 95) <= 1.1 * CAST


@pytest.mark.parametrize(
    ("name", "rgb", "expected"),
    [
        ("dusty rose", (168, 148, 150), ("pink",)),
        ("sage", (146, 155, 143), ("green",)),
        ("slate", (92, 101, 112), ("blue",)),
        ("mauve", (150, 138, 148), ("purple", "pink")),
        ("grey flannel", (140, 140, 141), ()),
        ("cream", (250, 243, 222), ()),
        ("ink", (22, 25, 36), ("blue",)),
    ],
)
def test_a_cloth_that_reads_as_neutral(
    name: str, rgb: tuple[int, int, int], expected: tuple[str, ...]
) -> None:
    family, *found = looked_under(rgb)
    assert family in NEUTRALS
    assert tuple(found) == expected


@settings(max_examples=40, deadline=None)
@given(
    st.floats(25, 80), st.floats(0, 14), st.floats(0, 360), st.floats(0, 0.999), st.floats(0, 360)
)
def test_no_cast_makes_a_pure_grey_tinted_nor_a_sure_tint_another(
    lightness: float, chroma: float, hue_deg: float, part: float, way_deg: float
) -> None:
    cast = np.array(near_grey(0, part * CAST, way_deg))
    assert tints(["grey"], [np.array((lightness, 0, 0)) + cast]) == ((),)
    true = np.array(near_grey(lightness, chroma, hue_deg))
    (seen,), (really,) = tints(["grey"], [true + cast]), tints(["grey"], [true])
    if len(seen) == 1 and really:
        assert seen[0] in really


def test_a_tint_is_the_word_of_the_same_hue_with_more_chroma() -> None:
    """By climbing from the colour itself, step by step."""
    for hue_deg in range(0, 360, 15):
        for lightness in (30, 50, 70):
            found = tints(["grey"], [near_grey(lightness, 8, hue_deg)])[0][0]
            climbed = [
                FAMILIES[int(families(near_grey(lightness, chroma, hue_deg)))]
                for chroma in np.arange(8, 60, 0.5)
            ]
            first = next(at for at, word in enumerate(climbed) if word not in NEUTRALS)
            assert found in climbed[first : first + 7]  # the program climbs in steps of 3


def test_only_neutral_families_have_a_tint() -> None:
    pinkish = (60.0, 12.0, 1.0)
    assert tints(["pink", "multicolour", None, "grey"], [pinkish] * 4) == ((), (), (), ("pink",))


def test_what_makes_a_white_into_cream_is_no_tint_of_it() -> None:
    """The hues of cream by which the families were fitted (`tests.support.fit_families`)."""
    creams = [near_grey(light, 12, hue) for light in (92, 95, 98) for hue in (80, 90, 100)]
    assert set(tints(["white"] * len(creams), creams)) == {()}
    assert all("white" in looked_under(_rgb(lab)) for lab in creams)


def test_no_cloths_have_no_tints() -> None:
    assert tints([], []) == ()


def test_tints_in_words() -> None:
    assert tint_words(()) == ""
    assert tint_words(("pink",)) == "a little pink"
    assert tint_words(("brown", "green", "pink")) == "a little brown, green or pink"


def _rgb(lab: tuple[float, float, float]) -> tuple[float, float, float]:
    red, green, blue = lab_to_srgb(lab).tolist()
    return red, green, blue
