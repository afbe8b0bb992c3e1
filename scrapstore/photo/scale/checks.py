"""Whether a picture and the scale in it will do, and if not, why not and what to do."""

import numpy as np

from scrapstore.photo.forms import Refusal
from scrapstore.photo.scale import tuning
from scrapstore.photo.scale.detect import FoundSquare
from scrapstore.photo.scale.paper import card_places
from scrapstore.photo.scale.pose import CameraPose
from scrapstore.photo.squares import SquareSet

__all__ = ["is_trustworthy", "refuse_no_fit", "refuse_pose", "refuse_size"]


def refuse_size(height: int, width: int) -> Refusal | None:
    """Return why a picture of so many pixels is not measured, or None."""
    if min(height, width) >= tuning.SMALLEST_PICTURE:
        return None
    return Refusal(
        "too small",
        f"the picture has only {width} × {height} pixels",
        f"send the original; {tuning.SMALLEST_PICTURE} on the shorter side is the least",
    )


def is_trustworthy(found: tuple[FoundSquare, ...], squares: SquareSet) -> bool:
    """Say whether the squares found can be trusted to be a scale.

    In the small families a few of 65,536 patterns count as a code, and a printed cloth has many
    quadrangles; two squares of nearly one size are no accident.
    """
    if not found:
        return False
    if squares.family.startswith(("4x4", "5x5", "apriltag_16h5", "aruco_original")):
        return len(found) >= 2 or len(squares.ids) == 1
    return True


def refuse_no_fit() -> Refusal:
    """Return the refusal for squares from which no camera can be worked out."""
    return Refusal(
        "residual",
        "the printed squares do not fit together on one flat table",
        "lay them flat and take the photo again",
    )


def refuse_pose(
    pose: CameraPose, squares: SquareSet, side: float, shape: tuple[int, int]
) -> Refusal | None:
    """Return why the scale does not serve, or None when it does."""
    view = pose.view
    middle = pose.places[:, :2].mean(axis=0)
    native = float(view.pixels_per_inch(middle[None])[0])
    pixels, part = tuning.MOST_RESIDUAL
    unfit = pose.residual > max(pixels, part * native * side) or view.tilt_deg > tuning.MOST_TILT
    # By the squares' own sides: from blurred ones a camera may be worked out that never was.
    spread = float(np.median([square.blur / square.side for square in pose.squares]))
    unsharp = np.median([square.blur for square in pose.squares]) > tuning.CODE_SHARP
    # Before blur: from so far away, edges are soft in inches however sharp the picture is.
    if native < tuning.COARSEST and not unfit:
        return Refusal(
            "too small",
            f"the picture has only {native:.0f} pixels to the inch of table",
            f"go nearer, or send the original; {tuning.COARSEST:.0f} are the least",
        )
    if spread * side > tuning.MOST_BLUR or (unfit and unsharp and spread > tuning.CODE_SOFT):
        return Refusal(
            "too blurred",
            f"the picture is blurred over {spread * side * 4:.2f} in of table",
            "hold the camera still, let it focus, and give it more light",
        )
    if pose.residual > max(pixels, part * native * side):
        return Refusal(
            "residual",
            f"the printed squares fit one flat table only to {pose.residual:.1f} pixels",
            "lay them flat, all on the table, and take the photo again",
        )
    if view.tilt_deg > tuning.MOST_TILT:
        return Refusal(
            "too tilted",
            f"the camera was held {view.tilt_deg:.0f}° off looking straight down",
            f"hold it more from above; {tuning.MOST_TILT:.0f}° is the most",
        )
    if pose.card and _mostly_outside(pose, squares, side, shape):
        return Refusal(
            "scale cut off",
            "more than half of the card lies beyond the edge of the picture",
            "move it, or the camera, until all of it is in view",
        )
    return None


def _mostly_outside(
    pose: CameraPose, squares: SquareSet, side: float, shape: tuple[int, int]
) -> bool:
    imaged = pose.view.to_image(card_places(pose, squares, side)[:, :2])
    outside = np.any((imaged < 0) | (imaged > np.array([shape[1] - 1, shape[0] - 1])), axis=1)
    return bool(np.mean(outside) > tuning.MOST_OUTSIDE)
