"""Each spoilt photo has the fault that its name says, by the truth and by OpenCV's detector."""

import cv2
import numpy as np
import pytest
from shapely.geometry import Polygon

from tests.render.faults import FAULTS, render_fault
from tests.render.scene import RenderedPhoto


def _read(photo: RenderedPhoto) -> int:
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    grey = cv2.cvtColor(photo.image, cv2.COLOR_RGB2GRAY)
    found, _, _ = cv2.aruco.ArucoDetector(dictionary).detectMarkers(grey)
    return len(found)


@pytest.mark.parametrize("reason", ["no scale", "scale cut off", "scrap over the scale"])
def test_no_square_can_be_read(reason: str) -> None:
    """None there, none whole, or none uncovered."""
    photo = render_fault(reason, 1)
    assert _read(photo) == 0
    assert bool(photo.truth.squares) == (reason != "no scale")


def test_scrap_leaves_the_picture() -> None:
    """One true outline lies partly outside, the squares can all be read."""
    photo = render_fault("scrap leaves the picture", 1)
    view = Polygon(photo.truth.camera.view())
    assert sum(not view.contains(scrap.outline) for scrap in photo.truth.scraps) == 1
    assert _read(photo) == len(photo.truth.squares)


def test_no_contrast_leaves_no_edge() -> None:
    """Across the true outline the picture changes no more than along the bare table."""
    photo = render_fault("no contrast", 1)
    smooth = cv2.GaussianBlur(photo.image, (0, 0), 3).astype(float)
    for scrap in photo.truth.scraps:
        sides = [np.array(scrap.outline.buffer(d).exterior.coords)[::5] for d in (-0.06, 0.06)]
        inner, outer = (photo.truth.camera.project(side).round().astype(int) for side in sides)
        means = [smooth[side[:, 1], side[:, 0]].mean(axis=0) for side in (inner, outer)]
        assert np.abs(means[0] - means[1]).max() < 3


@pytest.mark.parametrize("reason", ["too tilted", "too blurred", "no scrap", "too small"])
def test_other_faults_render(reason: str) -> None:
    """Another seed makes a picture too, of the size its options say."""
    photo = render_fault(reason, 2)
    options, _ = FAULTS[reason]
    assert photo.image.shape == (options.height, options.width, 3)
    assert photo.image.std() > 1
