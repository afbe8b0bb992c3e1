"""From a photo with printed squares in it to the table seen straight from above."""

from collections.abc import Iterable
from dataclasses import dataclass

import cv2
import numpy as np

from scrapstore.photo.arrays import Bytes, Mask
from scrapstore.photo.forms import LensProfile, Refusal
from scrapstore.photo.picture import Photo
from scrapstore.photo.scale.checks import (
    is_trustworthy,
    refuse_no_fit,
    refuse_pose,
    refuse_size,
)
from scrapstore.photo.scale.detect import find_squares
from scrapstore.photo.scale.lens import prior_for
from scrapstore.photo.scale.paper import GreyReference, paper_masks, read_grey_reference, sheet_area
from scrapstore.photo.scale.pose import CameraPose, estimate_pose
from scrapstore.photo.scale.rectify import RectifiedImage, rectify
from scrapstore.photo.scale.unread import is_dark, refuse_few, refuse_no_scale
from scrapstore.photo.squares import SquareSet

__all__ = ["TableScale", "read_scale"]


@dataclass(frozen=True, eq=False)
class TableScale:
    """The table as the printed squares give it.

    `squares` as given, `side` as printed, inches. `pose`: camera, lens and the squares' places;
    `lens_known`: a kept lens was used. `unread`: how many squares of a print whose layout is known
    were not read. `rectified`: the table from above; `paper`: the printed paper in it; `around`:
    the strip just beside the paper. `dark`: the picture is so dark that edges are less certain.
    """

    squares: SquareSet
    side: float
    pose: CameraPose
    lens_known: bool
    unread: int
    rectified: RectifiedImage
    paper: Mask
    around: Mask
    dark: bool

    @property
    def sheet_area(self) -> float:
        """Area of one square's own paper, square inches."""
        return sheet_area(self.squares, self.side)

    @property
    def pixels_per_inch(self) -> float:
        """Of the photo, in the middle of the squares."""
        middle = self.pose.places[:, :2].mean(axis=0)
        return float(self.pose.view.pixels_per_inch(middle[None])[0])

    def grey_reference(self, pixels: Bytes) -> GreyReference:
        """Return what the neutral patches show in the photo's `pixels`, sRGB."""
        return read_grey_reference(pixels, self.pose.view, self.pose, self.squares, self.side)


def read_scale(
    photo: Photo, squares: SquareSet, side: float, lens: LensProfile | Iterable[LensProfile] | None
) -> TableScale | Refusal:
    """Return the table in `photo`, or why the scale in it does not serve.

    `side`: true side of the squares, inches. `lens`: lenses known from earlier photos.
    """
    height, width = photo.pixels.shape[:2]
    if (refusal := refuse_size(height, width)) is not None:
        return refusal
    grey = np.asarray(cv2.cvtColor(photo.pixels, cv2.COLOR_RGB2GRAY), np.uint8)
    found = find_squares(grey, squares)
    if not is_trustworthy(found, squares):
        return refuse_no_scale(grey, squares, found)
    if (refusal := refuse_few(grey, squares, found)) is not None:
        return refusal
    prior = prior_for(photo.shot, width, height, lens)
    pose = estimate_pose(found, squares, side, prior, (height, width))
    if pose is None:
        return refuse_no_fit()
    if (refusal := refuse_pose(pose, squares, side, (height, width))) is not None:
        return refusal
    rectified = rectify(photo.pixels, pose.view, pose.places[:, :2].mean(axis=0))
    paper, around = paper_masks(rectified, pose, squares, side)
    unread = set(squares.ids if squares.layout else ()) - {square.id for square in found}
    return TableScale(
        squares, side, pose, prior.known, len(unread), rectified, paper, around, is_dark(grey)
    )
