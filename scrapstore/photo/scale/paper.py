"""The printed paper in the picture: which part of the table it covers, and its neutral patches."""

from dataclasses import dataclass

import cv2
import numpy as np

from scrapstore.colour import balance_from_greys, balance_from_paper, srgb_to_lab
from scrapstore.colour.spaces import lab_to_linear, linear_to_srgb, srgb_to_linear
from scrapstore.errors import PhotoError
from scrapstore.photo.arrays import Bytes, Floats, Mask
from scrapstore.photo.scale import tuning
from scrapstore.photo.scale.frames import box_at, rotated
from scrapstore.photo.scale.lens import View
from scrapstore.photo.scale.pose import CameraPose
from scrapstore.photo.scale.rectify import RectifiedImage
from scrapstore.photo.scale.sampling import sample
from scrapstore.photo.squares import CELL, SQUARE_LOWER_LEFT, SquareSet

__all__ = ["GreyReference", "card_places", "paper_masks", "read_grey_reference", "sheet_area"]


def _extent(squares: SquareSet) -> tuple[float, float, float, float]:
    """Left, bottom, right, top of a square's own paper about its centre, in sides."""
    if squares.patches:
        x, y = SQUARE_LOWER_LEFT[0] + 0.5, SQUARE_LOWER_LEFT[1] + 0.5
        return -x, -y, CELL - x, CELL - y
    half = 0.5 + squares.quiet
    return -half, -half, half, half


def sheet_area(squares: SquareSet, side: float) -> float:
    """Return the area of one square's own paper, square inches."""
    if not squares.patches:
        return (tuning.LOOSE_SHEET * side) ** 2
    left, bottom, right, top = _extent(squares)
    return (right - left) * (top - bottom) * side**2


def card_places(pose: CameraPose, squares: SquareSet, side: float) -> Floats:
    """Return the places (n × 3) of all squares of a card, hidden ones too, or of the loose ones."""
    if not pose.card:
        return pose.places
    layout = np.array(list(squares.layout.values())) * (side / squares.side)
    first = np.array(squares.layout[pose.squares[0].id]) * (side / squares.side)
    place = pose.places[0]
    places = rotated(layout - first, place[2]) + place[:2]
    return np.column_stack([places, np.full(len(places), place[2])])


def paper_masks(
    rectified: RectifiedImage, pose: CameraPose, squares: SquareSet, side: float
) -> tuple[Mask, Mask]:
    """Return masks of the printed paper in the rectified image, and of the strip round it."""
    paper = np.zeros(rectified.seen.shape, np.uint8)
    around = paper.copy()
    edges = np.array(_extent(squares)) * side
    outward = np.array([-1.0, -1.0, 1.0, 1.0])
    # Cut by hand, the paper reaches a little beyond its line.
    slack = tuning.CUT_SLACK if squares.patches else 0.0
    for place in card_places(pose, squares, side):
        for mask, more in ((paper, slack), (around, slack + tuning.STRIP)):
            corners = box_at(place, *(edges + outward * more))
            cv2.fillConvexPoly(mask, np.rint(rectified.to_pixels(corners)).astype(np.int32), (1.0,))
    return paper > 0, (around > 0) & (paper == 0) & rectified.seen


@dataclass(frozen=True, eq=False)
class GreyReference:
    """The neutral patches as the picture shows them, or the bare paper where there are none.

    `places`: n × 2 table inches, one row a square. `seen`: n × patches × 3, sRGB 0..255.
    `lightness`: true L* of each patch; None of bare paper, whose shade nobody knows.
    """

    places: Floats
    seen: Floats
    lightness: Floats | None

    def corrected(self, colours: Bytes, place: Floats) -> Bytes:
        """Return sRGB colours (n × 3) seen near `place` with the light's colour taken out.

        Where all patches are burnt out or in the dark, colours stay as the camera gave them. By
        bare paper they are changed only so far as to make it a shade that paper has.
        """
        here = self._patches_at(place)
        try:
            if self.lightness is None:
                bend, balance = 1.0, balance_from_paper(here[0])
            else:
                bend = self._bend(here, self.lightness)
                balance = balance_from_greys(_bent(here, bend), self.lightness)
        except PhotoError:
            return colours
        return np.rint(balance.correct(_bent(colours, bend))).astype(np.uint8)

    def _bend(self, patches: Floats, lightness: Floats) -> float:
        """Return the exponent that undoes the camera's tone curve, from the middle grey.

        A camera that adds contrast shows the grey darker beside the white than it is. Printers do
        not hit the grey exactly either, so the exponent is taken to three quarters only.
        """
        if len(patches) < 3:
            return 1.0
        middle, white = np.argsort(lightness)[-2:]
        seen = srgb_to_linear(patches)[[middle, white]].mean(axis=1)
        true = [float(lab_to_linear((lightness[k], 0.0, 0.0))[1]) for k in (middle, white)]
        readable = tuning.TONE_DARK < seen[0] < tuning.TONE_BRIGHT * seen[1]
        if not readable or patches[white].max() > tuning.TONE_BURNT:
            return 1.0
        bend = np.log(true[0] / true[1]) / np.log(seen[0] / seen[1])
        return float(np.clip(1 + tuning.TONE_PART * (bend - 1), *tuning.TONE_LIMITS))

    def _patches_at(self, place: Floats) -> Floats:
        """Return what the patches (patches × 3, sRGB) would look like at `place`."""
        away = np.linalg.norm(self.places - place, axis=1)
        weight = 1 / (away + tuning.NEAR_PATCH) ** 2
        logs = np.log(self.seen + 1.0)
        if len(self.places) >= 4:
            here = _plane_at(self.places - place, logs, weight)
        else:
            here = np.tensordot(weight / weight.sum(), logs, axes=1)
        slack = tuning.LIGHT_SLACK
        here = np.clip(here, logs.min(axis=0) - slack, logs.max(axis=0) + slack)
        return np.asarray(np.clip(np.exp(here) - 1, 0, 255))


def _bent(colours: Bytes | Floats, bend: float) -> Floats:
    return np.asarray(linear_to_srgb(srgb_to_linear(colours) ** bend))


def _plane_at(places: Floats, values: Floats, weight: Floats) -> Floats:
    """Return the value at (0, 0) of the plane through `values` at `places`, near ones first."""
    terms = np.column_stack([np.ones(len(places)), places])
    # Slopes are held down: five squares in a row say nothing about the other direction.
    normal = (
        terms.T @ (terms * weight[:, None]) + np.diag([0, 1, 1]) * weight.sum() * tuning.FLAT_LIGHT
    )
    flat = values.reshape(len(values), -1)
    return np.asarray(
        np.linalg.solve(normal, terms.T @ (flat * weight[:, None]))[0].reshape(values.shape[1:])
    )


def read_grey_reference(
    pixels: Bytes, view: View, pose: CameraPose, squares: SquareSet, side: float
) -> GreyReference:
    """Return the patches beside the squares; without patches, the white paper round them."""
    lightness = None
    if squares.patches:
        boxes = [[(p.left, p.bottom, p.right, p.top)] for p in squares.patches]
        lightness = np.array([float(srgb_to_lab((p.grey,) * 3)[0]) for p in squares.patches])
    else:
        near, far = (0.5 + part * squares.quiet for part in tuning.QUIET_BAND)
        boxes = [[(-near, near, near, far), (-near, -far, near, -near)]]  # above and below

    def colour(place: Floats, parts: list[tuple[float, float, float, float]]) -> Floats:
        return np.median(
            [_median(pixels, view, box_at(place, *(np.array(b) * side))) for b in parts], 0
        )

    seen = np.array([[colour(place, parts) for parts in boxes] for place in pose.places])
    return GreyReference(pose.places[:, :2], seen, lightness)


def _median(pixels: Bytes, view: View, box: Floats) -> Floats:
    """Median colour in the inner part of a box on the table."""
    shares = np.linspace(*tuning.PATCH_INNER)
    u, v = np.meshgrid(shares, shares)
    inside = box[0] + u[..., None] * (box[1] - box[0]) + v[..., None] * (box[3] - box[0])
    imaged = view.to_image(inside.reshape(-1, 2)).reshape(inside.shape)
    values = sample(pixels, imaged).reshape(-1, 3).astype(np.float64)
    return np.asarray(np.median(values, axis=0))
