"""A user's own words, learned from the cloths they corrected."""

import numpy as np
import pytest

from scrapstore.colour import Correction, family, learn, reads_as, swatch
from scrapstore.errors import ScrapstoreError

TEAL, TEAL_TOO, RED = (0, 128, 128), (6, 122, 130), (200, 30, 40)


def test_a_cloth_like_a_corrected_one_takes_its_word() -> None:
    teal, alike, red = (reads_as([swatch(rgb)]) for rgb in (TEAL, TEAL_TOO, RED))
    assert alike.family != "purple"
    learned = learn([alike, red], [Correction(teal, "purple")])
    assert learned[0].family == "purple"
    assert learned[0].learned
    assert learned[0].confidence > 0.5
    assert learned[1] == red


def test_the_family_it_was_stays_findable_as_an_accent() -> None:
    teal = reads_as([swatch(TEAL)])
    assert learn([teal], [Correction(teal, "purple")])[0].accents == (teal.family,)


def test_the_majority_of_the_nearest_decides() -> None:
    teal = reads_as([swatch(TEAL)])
    mixed = [Correction(teal, word) for word in ("green", "green", "green", "blue", "blue")]
    assert learn([teal], mixed)[0].family == "green"


def test_far_from_any_correction_nothing_changes() -> None:
    rng = np.random.default_rng(8)
    readings = [reads_as([swatch(rgb)]) for rgb in rng.integers(0, 120, (40, 3))]
    corrected = Correction(reads_as([swatch((255, 255, 255))]), "grey")
    assert learn(readings, [corrected]) == tuple(readings)


def test_twenty_corrections_move_a_border() -> None:
    """Someone to whom all of turquoise is green teaches it with every second turquoise."""
    rng = np.random.default_rng(9)
    drawn = rng.integers((0, 120, 8), (60, 200, 40), (40, 3)).tolist()
    turquoise = [(red, green, green + more) for red, green, more in drawn]
    readings = [reads_as([swatch(rgb)]) for rgb in turquoise]
    before = np.mean([family(rgb) == "green" for rgb in turquoise[1::2]])
    corrections = [Correction(reading, "green") for reading in readings[::2]]
    after = np.mean([reading.family == "green" for reading in learn(readings[1::2], corrections)])
    assert after > before
    assert after >= 0.75


def test_without_corrections_or_readings_there_is_nothing_to_learn() -> None:
    teal = reads_as([swatch(TEAL)])
    assert learn([teal], []) == (teal,)
    assert learn([], [Correction(teal, "green")]) == ()


def test_a_word_that_is_no_family_is_refused() -> None:
    teal = reads_as([swatch(TEAL)])
    with pytest.raises(ScrapstoreError, match="'teal' is no family; use one of red"):
        learn([teal], [Correction(teal, "teal")])
