"""Woven checks are told by their yarns, and everything else is left as it is."""

import numpy as np
import pytest

from scrapstore.colour import Swatch, reads_as, srgb_to_lab, swatch
from scrapstore.colour.yarns import shares_by_yarn

Rgb = tuple[int, int, int]

NAVY, WHITE, RED, GREEN, BLACK = (
    (20, 30, 90), (245, 245, 242), (195, 25, 40), (40, 130, 60), (20, 20, 22)
)  # fmt: skip
ORANGE = (235, 120, 20)


def _crossing(one: Rgb, other: Rgb) -> Rgb:
    """Return the sRGB colour of half the light of each, by the standard's curve (IEC 61966-2-1)."""
    blend = []
    for a, b in zip(one, other, strict=True):
        light = sum(
            c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (a / 255, b / 255)
        )
        half = light / 2
        blend.append(
            round(255 * (1.055 * half ** (1 / 2.4) - 0.055 if half > 0.0031308 else 12.92 * half))
        )
    return blend[0], blend[1], blend[2]


def _woven(yarn: Rgb, other: Rgb, part: float) -> list[Swatch]:
    """Return the swatches of a check with `part` of `yarn` both ways."""
    blend = 2 * part * (1 - part)
    return [
        swatch(yarn, part**2),
        swatch(other, (1 - part) ** 2),
        swatch(_crossing(yarn, other), blend),
    ]


def _given(swatches: list[Swatch]) -> list[float]:
    labs = np.array([[one.lab for one in swatches]])
    return [float(x) for x in shares_by_yarn(labs, np.array([[s.share for s in swatches]]))[0]]


@pytest.mark.parametrize("part", [0.4, 0.5, 0.6])
@pytest.mark.parametrize("yarn", [RED, GREEN, NAVY, BLACK])
def test_a_check_has_its_yarns_in_the_parts_that_were_woven(yarn: Rgb, part: float) -> None:
    """p² + p(1 − p) = p: what is given back is exactly how much of the yarn there is."""
    assert _given(_woven(yarn, WHITE, part)) == pytest.approx([part, 1 - part, 0])


@pytest.mark.parametrize(("yarn", "word"), [(RED, "red"), (GREEN, "green"), (NAVY, "blue")])
@pytest.mark.parametrize("part", [0.4, 0.5, 0.6])
def test_a_gingham_reads_as_its_yarn_and_is_found_by_its_tint(
    yarn: Rgb, word: str, part: float
) -> None:
    reading = reads_as(_woven(yarn, WHITE, part))
    assert reading.family == word
    tint = reads_as([swatch(_crossing(yarn, WHITE))]).family
    assert set(reading.accents) == {"white", tint} - {word}
    # The shares are what is seen on the cloth, the tint with its half.
    assert dict(reading.shares)[tint] >= 2 * part * (1 - part) - 1e-9


def test_a_print_of_the_same_colours_in_other_shares_keeps_them() -> None:
    printed = [swatch(RED, 0.02), swatch(WHITE, 0.03), swatch(_crossing(RED, WHITE), 0.95)]
    assert _given(printed) == pytest.approx([0.02, 0.03, 0.95])
    assert reads_as(printed).family == "pink"


def test_two_dyes_and_one_between_them_are_no_weave() -> None:
    """Without white in it, nothing tells a third dye from a blend."""
    printed = _woven(ORANGE, BLACK, 0.5)
    assert _given(printed) == pytest.approx([0.25, 0.25, 0.5])
    brown = reads_as([printed[-1]]).family
    reading = reads_as(printed)
    assert brown == "brown"
    assert reading.family == brown
    assert set(reading.accents) == {"orange", "black"}


def test_the_word_passes_softly_from_check_to_print() -> None:
    """More and more of the blend: no small step moves much of the share at once."""
    moved = []
    for blend in np.linspace(0.3, 0.8, 101).tolist():
        rest = (1 - blend) / 2
        swatches = [
            swatch(RED, rest), swatch(WHITE, rest), swatch(_crossing(RED, WHITE), blend)
        ]  # fmt: skip
        moved.append(blend - _given(swatches)[2])
    assert max(moved) == pytest.approx(0.5, abs=0.06)
    assert min(moved) == 0
    assert np.abs(np.diff(moved)).max() < 0.05


def test_a_colour_beside_the_blend_is_given_back_in_part_only() -> None:
    off = srgb_to_lab(_crossing(RED, WHITE)) + np.array([7.0, 0, 0])
    labs = np.stack([srgb_to_lab(RED), srgb_to_lab(WHITE), off])[None]
    given = shares_by_yarn(labs, np.array([[0.25, 0.25, 0.5]]))[0]
    assert 0 < given[2] < 0.5
    assert given.sum() == pytest.approx(1)


def test_a_plaid_of_three_yarns_keeps_the_sum() -> None:
    yarns = [NAVY, WHITE, RED]
    woven = [swatch(yarn, 1 / 9) for yarn in yarns]
    woven += [swatch(_crossing(a, b), 2 / 9) for a, b in ((NAVY, WHITE), (WHITE, RED), (NAVY, RED))]
    given = _given(woven)
    assert sum(given) == pytest.approx(1)
    # The two with white are given back; of navy and red nothing is known.
    assert given[3:] == pytest.approx([0, 0, 2 / 9])
