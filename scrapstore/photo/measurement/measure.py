"""One photo of several scraps beside a printed scale becomes several measured scraps."""

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Final, Literal

import numpy as np
from shapely import affinity
from shapely.geometry import Polygon
from threadpoolctl import threadpool_limits

from scrapstore.colour import Swatch, dominant_colours
from scrapstore.photo.arrays import Bytes, Floats
from scrapstore.photo.forms import LensProfile, Refusal, RefusedError
from scrapstore.photo.measurement import tuning
from scrapstore.photo.measurement.doubts import Doubt, said_of_doubts
from scrapstore.photo.measurement.left_out import most_helpful_first
from scrapstore.photo.outline import (
    TracedScrap,
    edge_signs,
    outline_uncertainty,
    sign_uncertainty,
    trace_scraps,
)
from scrapstore.photo.picture import Photo, decode_photo, is_greyscale, is_toned, to_srgb
from scrapstore.photo.scale import (
    GreyReference,
    TableScale,
    View,
    box_at,
    lens_key,
    read_scale,
    sample,
)
from scrapstore.photo.segmentation import segment_scraps
from scrapstore.photo.squares import OUR_PRINT, SquareSet

__all__ = ["MeasuredScrap", "Measurement", "PlacedSquare", "measure"]


@dataclass(frozen=True, eq=False)
class MeasuredScrap:
    """A scrap as the photo shows it.

    `outline`: its own frame, inches, y up as in the photo, lower left corner of its bounds at
    (0, 0); true holes are holes. `on_table`: the same on the table's frame, which all scraps and
    squares of the photo share. `uncertainty`: inches by which the outline's shape may be wrong
    anywhere (about two standard deviations). `swatches`: dominant colours, light taken out.
    `grain_suggestion_deg`: the direction in the scrap's frame, 0 to 180, that most of its straight
    edges lie along or across; a guess for the person to confirm. `in_picture`: the rings in pixels,
    each n × 2, outer first.
    """

    outline: Polygon
    on_table: Polygon
    uncertainty: float
    swatches: tuple[Swatch, ...]
    grain_suggestion_deg: float | None
    in_picture: tuple[Floats, ...]


@dataclass(frozen=True, eq=False)
class PlacedSquare:
    """A square of the scale.

    `corners`: 4 × 2 table inches, clockwise from the code's own top left; `in_picture`: the same
    in pixels.
    """

    id: int
    corners: Floats
    in_picture: Floats


@dataclass(frozen=True, eq=False)
class Measurement:
    """What one photo says; true as a value.

    `scraps`: row by row, as one reads. `left_out`: why other things in the picture were not
    measured; what to act on first comes first. `lens`: the lens as this photo teaches it, to be
    kept; None when it teaches nothing new or the file does not name the camera. `on_photo`:
    sentences for the person on the whole photo; `doubts`: on single scraps. `squares`: the scale's
    squares. `card`: the scale was one uncut card. `lens_known`: a kept lens was used. `photo`: the
    decoded picture (pixels in the space of `photo.icc_profile`). `residual`: of the squares'
    corners, pixels, root mean square. `view`: camera and lens over the table. `grey_reference`: the
    light, as the neutral patches show it.
    """

    photo: Photo
    scraps: tuple[MeasuredScrap, ...]
    left_out: tuple[Refusal, ...]
    lens: LensProfile | None
    on_photo: tuple[str, ...]
    doubts: tuple[Doubt, ...]
    squares: tuple[PlacedSquare, ...]
    card: bool
    lens_known: bool
    residual: float
    pixels_per_inch: float
    tilt_deg: float
    view: View
    grey_reference: GreyReference

    def __bool__(self) -> Literal[True]:
        return True

    @property
    def notes(self) -> tuple[str, ...]:
        """All sentences for the person."""
        return self.notes_on(range(1, len(self.scraps) + 1))

    def notes_on(self, scraps: Collection[int]) -> tuple[str, ...]:
        """Return the sentences on the photo and on those of its scraps, by their numbers."""
        return (*self.on_photo, *said_of_doubts(self.doubts, scraps))

    @property
    def sha256(self) -> str:
        """Of the file's bytes."""
        return self.photo.sha256

    @property
    def taken(self) -> datetime | None:
        """When the photo was taken."""
        return self.photo.taken


def measure(
    path: Path | str,
    *,
    squares: SquareSet = OUR_PRINT,
    lens: LensProfile | Iterable[LensProfile] | None = None,
    printed_scale: float = 1.0,
) -> Measurement | Refusal:
    """Measure the scraps in the photo at `path`.

    `squares`: the fiducial squares that lie beside them. `lens`: lenses learned from earlier
    photos; one that matches this photo's camera and focal length is used. `printed_scale`: true
    length of the print's check line divided by its nominal length.

    Returns a Measurement, or a Refusal, which is false and says why not and what to do. Bad
    arguments raise PhotoError.
    """
    if not 0.5 <= printed_scale <= 2:
        msg = f"printed scale: {printed_scale!r} will not do; give true length / printed length"
        raise RefusedError(str(path), Refusal("no scale", msg, "for example 0.97"))
    try:
        photo = decode_photo(path)
    except RefusedError as error:
        return error.refusal
    return _measure(photo, squares, squares.side * printed_scale, lens)


def _measure(
    photo: Photo, squares: SquareSet, side: float, lens: LensProfile | Iterable[LensProfile] | None
) -> Measurement | Refusal:
    scale = read_scale(photo, squares, side, lens)
    if isinstance(scale, Refusal):
        return scale
    if is_greyscale(photo.pixels) or is_toned(photo.pixels):
        return _NO_COLOUR
    traced, refused = trace_scraps(segment_scraps(photo.pixels, scale))
    left_out = most_helpful_first(refused)
    traced = _in_reading_order(traced)
    grey_reference = scale.grey_reference(_srgb_pixels(photo))
    # For so few pixels starting threads takes longer than the work.
    with threadpool_limits(1):
        scraps = tuple(_measured_scrap(one, photo, scale, grey_reference) for one in traced)
    if not scraps:
        return replace(left_out[0], others=tuple(left_out[1:])) if left_out else _NO_SCRAP
    pose = scale.pose
    return Measurement(
        photo=photo,
        scraps=scraps,
        left_out=tuple(left_out),
        lens=_learned_lens(photo, scale),
        on_photo=_notes(scale, photo),
        doubts=tuple(doubt for doubt in _doubts(traced) if doubt.scraps),
        squares=tuple(_placed_squares(scale)),
        card=pose.card,
        lens_known=scale.lens_known,
        residual=pose.residual,
        pixels_per_inch=scale.pixels_per_inch,
        tilt_deg=pose.view.tilt_deg,
        view=pose.view,
        grey_reference=grey_reference,
    )


_NO_SCRAP: Final = Refusal(
    "no scrap",
    "nothing that stands out from the surface lies in the picture",
    "use a surface of another colour, or type the sizes",
)
_NO_COLOUR: Final = Refusal(
    "no colour",
    "the picture has no colour in it, by which cloth is told from table",
    "take one in colour, or type the sizes",
)


def _srgb_pixels(photo: Photo) -> Bytes:
    return photo.pixels if photo.icc_profile is None else to_srgb(photo.pixels, photo.icc_profile)


def _in_reading_order(candidates: list[TracedScrap]) -> list[TracedScrap]:
    """Return them row by row; a row is what has its middle beside the row's highest one."""
    rows: list[list[TracedScrap]] = []
    for candidate in sorted(candidates, key=lambda each: -each.outline.centroid.y):
        if rows and candidate.outline.centroid.y > rows[-1][0].outline.bounds[1]:
            rows[-1].append(candidate)
        else:
            rows.append([candidate])
    return [
        candidate for row in rows for candidate in sorted(row, key=lambda e: e.outline.centroid.x)
    ]


def _measured_scrap(
    traced: TracedScrap, photo: Photo, scale: TableScale, grey_reference: GreyReference
) -> MeasuredScrap:
    view = scale.pose.view
    ring = np.asarray(traced.outline.exterior.coords)[:-1]
    centre = np.array(traced.outline.centroid.coords[0])
    colours = _scrap_colours(traced, photo, scale)
    colours = grey_reference.corrected(to_srgb(colours[None], photo.icc_profile)[0], centre)
    left, bottom, _, _ = traced.outline.bounds
    return MeasuredScrap(
        outline=affinity.translate(traced.outline, -left, -bottom),
        on_table=traced.outline,
        uncertainty=outline_uncertainty(
            ring,
            scale.pose,
            float(view.pixels_per_inch(centre[None])[0]),
            _by_signs(traced),
        ),
        swatches=dominant_colours(colours),
        grain_suggestion_deg=suggest_grain(ring),
        in_picture=tuple(
            view.to_image(np.asarray(r.coords)[:-1])
            for r in (traced.outline.exterior, *traced.outline.interiors)
        ),
    )


def _scrap_colours(traced: TracedScrap, photo: Photo, scale: TableScale) -> Bytes:
    """Return colours (n × 3) from all over the scrap.

    They come from the full picture: the flat one blends the colours of a fine print. So does the
    lens where two colours meet: a place that differs more from its neighbours than most takes the
    colour of the lightest or the darkest of them, whichever is more like its own.
    """
    rows, columns = traced.segment.core.places(tuning.COLOUR_SAMPLES)
    places = scale.rectified.to_table(np.column_stack([columns, rows]).astype(np.float64))
    around = np.array([(0, 0), (1, 0), (-1, 0), (0, 1), (0, -1)]) * tuning.NEIGHBOUR
    seen = sample(photo.pixels, scale.pose.view.to_image(places)[None] + around[:, None])
    light = seen.astype(np.float32) @ np.array([0.3, 0.59, 0.11], np.float32)
    darkest, lightest = light.argmin(axis=0), light.argmax(axis=0)
    each = np.arange(seen.shape[1])
    low, high = light[darkest, each], light[lightest, each]
    nearer = np.where(high - light[0] < light[0] - low, lightest, darkest)
    times, percent = tuning.BLENDED
    blended = high - low > max(tuning.EVEN, times * float(np.percentile(high - low, percent)))
    return np.asarray(seen[np.where(blended, nearer, 0), each])


def suggest_grain(ring: Floats) -> float | None:
    """Return the direction that most of the straight edge lies along or across, if any is plain.

    Scraps are mostly left over from cutting along and across the threads; so of a right triangle
    this is a leg, not the long edge on the bias. The longest of those edges gives the direction.
    """
    ways = np.roll(ring, -1, axis=0) - ring
    lengths = np.linalg.norm(ways, axis=1)
    angles = np.degrees(np.arctan2(ways[:, 1], ways[:, 0]))
    straight = lengths >= tuning.STRAIGHT
    between = np.abs((angles[:, None] - angles[None] + 45) % 90 - 45)
    total = np.where((between < tuning.SQUARE) & straight, lengths, 0).sum(axis=1)
    best = int(np.argmax(np.where(straight, total, 0)))
    along = (between[best] < tuning.SQUARE) & straight
    longest = int(np.argmax(np.where(along, lengths, 0)))
    if (
        lengths[longest] < tuning.NAMED_EDGE
        or lengths[longest] < tuning.NAMED_SHARE * lengths.sum()
    ):
        return None
    return float(angles[longest] % 180)


def _learned_lens(photo: Photo, scale: TableScale) -> LensProfile | None:
    key, pose, view = _key(photo), scale.pose, scale.pose.view
    sigma = np.sqrt(np.sum(pose.principal_errors**2, axis=0))
    few = len(pose.squares) < tuning.TAUGHT_SQUARES
    if scale.lens_known or key is None or pose.card or few or sigma[7] > tuning.TAUGHT_K1:
        return None
    return LensProfile(
        key,
        view.focal / max(photo.pixels.shape[:2]),
        view.k1,
        float(sigma[6]),
        float(max(sigma[7], tuning.LEAST_K1)),
    )


def _key(photo: Photo) -> str | None:
    height, width = photo.pixels.shape[:2]
    return lens_key(photo.shot, width, height)


def _notes(scale: TableScale, photo: Photo) -> tuple[str, ...]:
    notes, pose = [], scale.pose
    height, width = photo.pixels.shape[:2]
    if scale.dark:
        notes.append(
            "the picture is very dark, so edges may be farther off than said: look at the preview, "
            "and take it again in more light if a line is not right"
        )
    if not scale.squares.patches:
        notes.append(
            "these squares have no grey patches, so colours are left as the camera took them, or "
            "as near to it as their white paper allows; with the printed scale beside the scraps "
            "they are truer"
        )
    if scale.unread == 1 and not pose.card:
        notes.append(
            "one of the printed squares is not in view or was not read; if a scrap covers it, the "
            "paper is measured as part of that scrap"
        )
    if pose.dropped:
        notes.append(
            f"{pose.dropped} of the printed squares did not lie flat and "
            f"{'was' if pose.dropped == 1 else 'were'} not used"
        )
    if photo.shot.cropped(width, height):
        notes.append(
            "the picture was cropped after it was taken, so its lens cannot be known and lengths "
            "away from the scale are less certain than said; measure it as the camera wrote it"
        )
    elif (pose.card or len(pose.squares) < tuning.FEW_SQUARES) and not scale.lens_known:
        remedy = (
            "one photo of this camera with the squares cut apart and spread round the scraps "
            "teaches it"
            if _key(photo) is not None
            else "the file does not name its camera, so take it as the camera wrote it, or cut the "
            "squares apart and spread them round the scraps"
        )
        notes.append(
            "the lens is not known, so outlines far from the scale are less certain; " + remedy
        )
    return tuple(notes)


def _doubts(candidates: list[TracedScrap]) -> Iterable[Doubt]:
    """Yield what of the scraps the person is to look at."""

    def numbers(which: Callable[[TracedScrap], bool]) -> tuple[int, ...]:
        return tuple(number for number, one in enumerate(candidates, start=1) if which(one))

    yield Doubt(
        "part of the edge of {} was guessed, as the surface there looks much like it: see in the "
        "preview whether the line is right; if not, use another surface or type the size",
        numbers(lambda one: _by_signs(one) > tuning.UNSURE),
    )
    yield Doubt(
        "a narrow part of {} was left out: see in the preview whether you want to keep it; if so, "
        "cut it off and lay it apart, or type the size",
        numbers(lambda one: one.stalked),
    )
    for number in numbers(lambda one: one.segment.may_be_several):
        yield Doubt(
            "{} may be several that lie edge to edge; if so, lay them a finger's breadth apart",
            (number,),
        )


def _by_signs(traced: TracedScrap) -> float:
    """Return how far the edge may be off by what is seen of it, inches."""
    segment = traced.segment
    return sign_uncertainty(
        edge_signs(
            traced.outline, traced.edge, traced.contrast,
            apart=segment.apart, patch=segment.widest_patch,
        )
    )  # fmt: skip


def _placed_squares(scale: TableScale) -> list[PlacedSquare]:
    half = scale.side / 2
    return [
        # Clockwise from the top left.
        PlacedSquare(square.id, box_at(place, -half, -half, half, half)[::-1], square.corners)
        for square, place in zip(scale.pose.squares, scale.pose.places, strict=True)
    ]
