"""A print whose ground is the surface's own colour is told, not passed over."""

from pathlib import Path

import cv2
import numpy as np
import pytest
from shapely.geometry import box

from tests.support.photographed import loose, photographed, reading, refusal, scrap

_MOTIF = 5  # pixels


def _strewn(image: np.ndarray, across: range, down: range, step: int = 22) -> np.ndarray:
    """The picture with small dark motifs on its very surface."""
    drawn = image.copy()
    for x in across[::step]:
        for y in down[::step]:
            cv2.circle(
                drawn, (x + (y // step) % 2 * step // 2, y), _MOTIF, (120, 40, 60), -1, cv2.LINE_AA
            )
    return drawn


def test_motifs_on_the_surface_are_told_with_their_place(tmp_path: Path) -> None:
    path = photographed(
        tmp_path, [scrap(box(2, -3, 6, 1))], loose(),
        change=lambda image: _strewn(image, range(450, 700), range(380, 640)),
    )  # fmt: skip
    found = reading(path)
    assert [s.outline.area for s in found.scraps] == pytest.approx([16], rel=0.02)
    (told,) = found.left_out
    assert "motifs" in told.reason
    assert told.in_picture is not None
    assert np.mean(told.in_picture, axis=0) == pytest.approx([575, 510], abs=30)


def test_with_nothing_else_the_photo_is_refused_for_them(tmp_path: Path) -> None:
    path = photographed(
        tmp_path, [], loose(), change=lambda image: _strewn(image, range(450, 700), range(380, 640))
    )
    assert "motifs" in refusal(path).reason


def test_a_pattern_all_over_is_the_surfaces_own(tmp_path: Path) -> None:
    path = photographed(
        tmp_path, [scrap(box(2, -3, 6, 1))], loose(),
        change=lambda image: _strewn(image, range(1600), range(1200)),
    )  # fmt: skip
    assert not any("motifs" in told.reason for told in reading(path).left_out)


@pytest.mark.parametrize("table", ["mat", "wood", "carpet", "cloth"])
def test_lines_grain_and_tufts_are_none(tmp_path: Path, table: str) -> None:
    path = photographed(tmp_path, [scrap(box(2, -3, 6, 1))], loose(), table=table, colour=None)
    assert reading(path).left_out == ()
