"""The painter's wheel, the order of a contact sheet, and what goes together."""

import numpy as np
import pytest

from scrapstore.colour import (
    Reading,
    go_together,
    reads_as,
    sheet_order,
    srgb_to_lab,
    swatch,
    wheel_deg,
)

COLOURS = {
    "red": (200, 30, 40),
    "orange": (235, 130, 30),
    "yellow": (245, 210, 50),
    "green": (50, 140, 60),
    "blue": (30, 70, 170),
    "purple": (110, 50, 140),
    "pink": (240, 150, 180),
    "brown": (110, 70, 40),
    "white": (248, 247, 244),
    "grey": (130, 130, 132),
    "black": (20, 20, 22),
}


def solids(*rgbs: tuple[int, int, int]) -> list[Reading]:
    return [reads_as([swatch(rgb)]) for rgb in rgbs]


@pytest.mark.parametrize(
    ("one", "other"), [("red", "green"), ("blue", "orange"), ("yellow", "purple")]
)
def test_painters_opposites_lie_across(one: str, other: str) -> None:
    turn = wheel_deg(srgb_to_lab(COLOURS[one])) - wheel_deg(srgb_to_lab(COLOURS[other]))
    assert 180 - 25 < abs((turn + 180) % 360 - 180) <= 180


def test_the_wheel_turns_with_the_hue_circle() -> None:
    turns = np.radians(np.arange(0, 360, 5))
    angle = wheel_deg(np.stack([np.full(72, 60), 40 * np.cos(turns), 40 * np.sin(turns)], axis=1))
    steps = np.diff(angle, append=angle[0]) % 360
    assert (steps > 0).all()
    assert steps.sum() == pytest.approx(360)


def test_a_sheet_runs_along_the_hues_and_then_through_the_greys() -> None:
    names = ["black", "green", "white", "red", "purple", "pink", "blue", "grey", "yellow", "orange"]
    readings = solids(*(COLOURS[name] for name in names))
    assert [names[at] for at in sheet_order(readings)] == [
        "pink", "red", "orange", "yellow", "green", "blue", "purple", "white", "grey", "black",
    ]  # fmt: skip


def test_within_a_hue_light_comes_first() -> None:
    readings = solids((20, 40, 100), (120, 150, 230), (50, 80, 160))
    assert sheet_order(readings).tolist() == [1, 2, 0]


def test_what_goes_with_a_red() -> None:
    names = list(COLOURS)
    found = {one.relation: one for one in go_together(0, solids(*COLOURS.values()))}
    assert [names[at] for at in found["opposite"].members] == ["green"]
    assert {names[at] for at in found["three apart"].members} == {"yellow", "blue"}
    assert "orange" in [names[at] for at in found["neighbouring"].members]
    assert all(0 not in found[name].members for name in ("opposite", "three apart", "neighbouring"))


def test_one_family_from_light_to_dark_in_even_steps() -> None:
    blues = [(20, 30, 90), (60, 90, 160), (62, 92, 162), (110, 140, 210), (190, 205, 240)]
    (ladder,) = [one for one in go_together(2, solids(*blues)) if one.relation == "light to dark"]
    assert ladder.members == (4, 3, 2, 0)


def test_a_grey_has_no_opposite() -> None:
    readings = solids((130, 130, 132), (90, 90, 90), *COLOURS.values())
    assert [one.relation for one in go_together(0, readings)] == ["light to dark"]


def test_a_cloth_alone_goes_with_nothing() -> None:
    assert go_together(0, solids((200, 30, 40))) == ()


def test_never_more_than_asked_for() -> None:
    rng = np.random.default_rng(10)
    readings = solids(*(tuple(rgb) for rgb in rng.integers(0, 256, (300, 3)).tolist()))
    for start in range(0, 300, 30):
        suggestions = go_together(start, readings, most=4)
        assert all(1 <= len(one.members) <= 4 for one in suggestions)
        assert all(len(set(one.members)) == len(one.members) for one in suggestions)


def test_no_cloths_no_order() -> None:
    assert sheet_order([]).tolist() == []
