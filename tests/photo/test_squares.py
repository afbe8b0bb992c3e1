"""The printed scale: what is printed is found, where it should be and as large as it should be."""

import base64
import io
import re
import zlib

import cv2
import numpy as np
import pytest
from PIL import Image

from scrapstore.errors import PhotoError
from scrapstore.photo import OUR_PRINT, SquareSet, scale_pdf, scale_png
from scrapstore.photo.scale.detect import find_squares
from scrapstore.units import PAPER_SIZES


def opened(data: bytes) -> np.ndarray:
    with Image.open(io.BytesIO(data)) as image:
        return np.asarray(image)


def test_the_card_shows_every_square_in_its_place() -> None:
    """At 300 dots an inch, corners lie within a tenth of a dot of where the layout says."""
    found = {square.id: square for square in find_squares(opened(scale_png(300)), OUR_PRINT)}
    assert sorted(found) == list(OUR_PRINT.ids)
    for number, (x, y) in OUR_PRINT.layout.items():
        middle = found[number].corners.mean(axis=0)
        assert middle == pytest.approx([x * 300 - 0.5, (4 - y) * 300 - 0.5], abs=0.1)
        assert found[number].side == pytest.approx(300, abs=0.2)
        assert found[number].corners[0][0] < middle[0], "codes stand upright"


def test_the_png_carries_its_resolution() -> None:
    with Image.open(io.BytesIO(scale_png(200))) as image:
        assert image.size == (1200, 800)
        assert image.info["dpi"] == pytest.approx((200, 200), abs=0.1)


@pytest.mark.parametrize("page", sorted(PAPER_SIZES))
def test_pages_hold_the_card_and_a_line_of_six_inches(page: str) -> None:
    sheet = opened(scale_png(150, page))
    width, height = PAPER_SIZES[page]
    assert sheet.shape == (round(height * 150), round(width * 150))
    assert len(find_squares(sheet, OUR_PRINT)) == 6
    longest = max(_longest_black_run(row) for row in sheet[round(5.5 * 150) :])
    assert longest == pytest.approx(6 * 150, abs=3)


def _longest_black_run(row: np.ndarray) -> int:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], (row < 100).astype(int), [0]])))
    return int(np.max(np.diff(edges)[::2], initial=0))


@pytest.mark.parametrize("page", sorted(PAPER_SIZES))
def test_the_pdf_draws_squares_of_one_inch_and_is_the_same_every_time(page: str) -> None:
    data = scale_pdf(page)
    assert data.startswith(b"%PDF")
    assert data == scale_pdf(page)
    width, _ = PAPER_SIZES[page]
    assert f"/MediaBox [ 0 0 {width * 72:.4f}".rstrip("0").rstrip(".").encode() in data
    # Boxes are written as "x y width height re", in points of 1/72 in: the scale's own line is 6 in
    # long, and the black of a square's frame runs along the whole of its inch.
    packed = re.search(rb"stream\n(.*?~>)", data, re.DOTALL)
    assert packed is not None
    drawn = zlib.decompress(base64.a85decode(b"<~" + packed[1], adobe=True))
    widths = {round(float(w), 2) for w in re.findall(rb"([-\d.]+) [-\d.]+ re", drawn)}
    assert {72.0, 432.0} <= widths


def test_unknown_pages_and_coarse_prints_are_refused() -> None:
    with pytest.raises(PhotoError, match="a4 or letter"):
        scale_pdf("a7")
    with pytest.raises(PhotoError, match="a4 or letter"):
        scale_png(300, "a7")
    with pytest.raises(PhotoError, match="100 to 1200"):
        scale_png(20)


@pytest.mark.parametrize(
    ("wrong", "word"),
    [
        ({"family": "barcode"}, "family"),
        ({"ids": ()}, "identities"),
        ({"side": 0.0}, "side"),
        ({"side": float("nan")}, "side"),
    ],
)
def test_impossible_square_sets_are_refused(wrong: dict[str, object], word: str) -> None:
    with pytest.raises(PhotoError, match=word):
        SquareSet(**wrong)  # type: ignore[arg-type]


def test_our_codes_differ_in_eleven_bits_or_more() -> None:
    """The reason for the family, checked on OpenCV's own table, over all four turns."""
    codes = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    bits = [codes.getBitsFromByteList(codes.bytesList[k : k + 1], 6) for k in OUR_PRINT.ids]
    for a in range(6):
        for b in range(6):
            for turn in range(1 if a != b else 0, 4 if a != b else 0):
                assert np.count_nonzero(bits[a] != np.rot90(bits[b], turn)) >= 11


@pytest.mark.parametrize(
    "family",
    [
        "4x4_50",
        "5x5_100",
        "6x6_250",
        "7x7_50",
        "aruco_original",
        "aruco_mip_36h12",
        "apriltag_36h11",
    ],
)
def test_any_open_family_will_do(family: str) -> None:
    from scrapstore.photo.scale.detect import dictionary

    picture = np.full((700, 900), 255, np.uint8)
    for k, number in enumerate((1, 3)):
        picture[250:450, 150 + 350 * k : 350 + 350 * k] = cv2.aruco.generateImageMarker(
            dictionary(family), number, 200
        )
    squares = SquareSet(family, (1, 3), 0.7)
    found = find_squares(picture, squares)
    assert sorted(square.id for square in found) == [1, 3]
    assert all(square.side == pytest.approx(200, abs=0.3) for square in found)


def test_blur_does_not_shrink_squares() -> None:
    """Light is what blurs, not its sRGB values: a blurred square keeps its side."""
    light = np.zeros((600, 600))
    light[:] = 0.8
    light[200:400, 200:400] = cv2.aruco.generateImageMarker(
        cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50), 0, 200
    ) / 255 * 0.77 + 0.03  # fmt: skip
    for sigma in (1.0, 2.0, 3.0):
        blurred = cv2.GaussianBlur(light, (0, 0), sigma)
        coded = np.where(
            blurred <= 0.0031308, blurred * 12.92, 1.055 * blurred ** (1 / 2.4) - 0.055
        )
        found = find_squares(np.rint(coded * 255).astype(np.uint8), SquareSet("4x4_50", (0,), 1.0))
        # Sought in sRGB values the sides would shrink by two thirds of sigma.
        assert found[0].side == pytest.approx(200, abs=0.25)
        assert found[0].blur == pytest.approx(sigma, rel=0.2, abs=0.15)
