"""Which pixels are the scrap's: on a made-up table, where the answer is known to the pixel."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from scrapstore.photo.measurement.measure import suggest_grain
from scrapstore.photo.segmentation.colour_model import (
    ColourModel,
    Palette,
    ambiguity_penalties,
    cluster_colours,
    distance_to_background,
)
from scrapstore.photo.segmentation.region import refine_region

SCALE = 20.0  # pixels an inch
TABLE, CLOTH, LINE = (0.0, 0.0, 0.0), (0.1, 0.3, -0.1), (-0.4, 0.0, 0.0)


def palette(*colours: tuple[float, float, float]) -> Palette:
    return Palette(np.array(colours, np.float32), np.full(len(colours), 1 / len(colours)))


SIDES = ColourModel(palette(CLOTH), palette(TABLE), palette(TABLE))


def window() -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    """Return a table of 5 by 5 in with a cloth of 2 by 2 in in its middle, and where that is."""
    truth = np.zeros((100, 100), bool)
    truth[30:70, 30:70] = True
    seen = np.where(truth[..., None], np.array(CLOTH), np.array(TABLE)).astype(np.float32)
    return seen, truth


def found(
    seen: NDArray[np.float32],
    rough: NDArray[np.bool_],
    sides: ColourModel = SIDES,
    barred: NDArray[np.bool_] | None = None,
) -> NDArray[np.bool_] | None:
    inner = np.zeros_like(rough)
    inner[40:60, 40:60] = True
    ground = np.zeros_like(seen)
    none = np.zeros_like(rough)
    region = refine_region(
        rough, inner, seen, ground, sides, SCALE, none if barred is None else barred
    )
    return None if region is None else region.filled


def test_a_chopped_corner_comes_back_and_what_the_table_gave_goes() -> None:
    """The first look lost a corner and took up a strip of bare table."""
    seen, truth = window()
    rough = truth.copy()
    rough[30:36, 30:36] = False
    rough[48:52, 70:80] = True
    got = found(seen, rough)
    assert got is not None
    # The opening rounds the corners by a pixel or two, no more.
    assert np.count_nonzero(got ^ truth) <= 4 * 3


def test_a_hole_that_looks_like_the_table_is_filled_and_told() -> None:
    seen, truth = window()
    seen[61:65, 45:55] = TABLE
    inner = np.zeros_like(truth)
    inner[40:60, 40:60] = True
    none = np.zeros_like(truth)
    region = refine_region(truth, inner, seen, np.zeros_like(seen), SIDES, SCALE, none)
    assert region is not None
    assert region.filled[61:65, 45:55].all()
    assert region.enclosed[62:64, 47:53].all()
    assert not region.enclosed[40:44, 40:44].any()


def test_another_thing_beside_is_not_taken() -> None:
    """Cloth of the same colour, but another scrap's, touches it."""
    seen, truth = window()
    seen[30:70, 70:90] = CLOTH
    other = np.zeros_like(truth)
    other[30:70, 70:90] = True
    got = found(seen, truth, barred=other)
    assert got is not None
    assert not (got & other).any()


def test_where_hardly_anything_is_left_there_is_no_scrap() -> None:
    """The window shows bare table where the candidate was."""
    seen, truth = window()
    seen[:] = TABLE
    assert found(seen, truth) is None


def test_shadow_is_still_table_and_a_tint_is_not() -> None:
    """Half the light is a third of a stop's tint away: dark alone is cheap, colour is dear."""
    dark = np.array([[(-0.5, 0.0, 0.0)]], np.float32)
    light = np.array([[(0.5, 0.0, 0.0)]], np.float32)
    tinted = np.array([[(0.0, 0.5, 0.0)]], np.float32)
    table = palette(TABLE)
    in_shadow = float(distance_to_background(dark, table)[0, 0])
    assert in_shadow < 0.5 * float(distance_to_background(light, table)[0, 0])
    assert in_shadow < 0.25 * float(distance_to_background(tinted, table)[0, 0])


def test_a_rare_line_explains_less_than_the_table_itself() -> None:
    """What a printed line, one in ten, would explain as well costs something all the same."""
    marks = Palette(np.array([TABLE, LINE], np.float32), np.array([0.9, 0.1]))
    often = replace(marks, shares=np.array([0.5, 0.5]))
    seen = np.array([[LINE]], np.float32)
    assert distance_to_background(seen, often)[0, 0] < distance_to_background(seen, marks)[0, 0]


def test_a_colour_that_the_table_has_too_says_little() -> None:
    table = np.zeros((2, 2, 3), np.float32)
    told = ambiguity_penalties(palette(CLOTH, TABLE), table, palette(TABLE))
    assert told.shape == (2, 2, 2)
    assert (told[0] == 0).all()
    assert (told[1] > 0).all()


def test_the_main_colours_are_those_that_are_there() -> None:
    """Two dyes, three to one; a speck of one in a hundred is none of them."""
    random = np.random.default_rng(3)
    dyes = np.repeat(np.array([CLOTH, LINE, (0.9, -0.9, 0.9)]), [735, 245, 20], axis=0)
    some = (dyes + random.normal(0, 0.003, dyes.shape)).astype(np.float32)
    got = cluster_colours(random.permutation(some), most=2)
    order = np.argsort(-got.shares)
    assert np.abs(got.colours[order][:2] - np.array([CLOTH, LINE])).max() < 0.1
    assert got.shares[order][0] == pytest.approx(0.735, abs=0.03)


@given(st.floats(0, 180), st.floats(3, 12), st.floats(2.5, 12))
def test_the_grain_of_a_rectangle_is_its_longer_side(turn: float, wide: float, tall: float) -> None:
    if abs(wide - tall) < 0.2:
        return
    ring = np.array([(0, 0), (wide, 0), (wide, tall), (0, tall)], float)
    expected = turn if wide > tall else turn + 90
    apart = (suggest_grain(ring @ _turned(turn)) or 0.0) - expected
    assert abs((apart + 90) % 180 - 90) < 1e-6


@given(st.floats(0, 180))
def test_the_grain_of_a_right_triangle_is_a_leg_and_not_the_bias(turn: float) -> None:
    """Cut off a square corner, its long edge of 45° is on the bias."""
    ring = np.array([(0, 0), (6, 0), (0, 5)], float) @ _turned(turn)
    assert abs(((suggest_grain(ring) or 0.0) - turn + 90) % 180 - 90) < 1e-6


def test_no_straight_edge_worth_naming_gives_no_grain() -> None:
    angles = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    assert suggest_grain(4 * np.column_stack((np.cos(angles), np.sin(angles)))) is None


def _turned(degrees: float) -> NDArray[np.float64]:
    """Return the matrix that turns rows (x, y) counter-clockwise when multiplied from the right."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.array([[c, s], [-s, c]])
