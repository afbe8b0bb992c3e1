"""Squares as people write them: family, identities, side."""

import cv2
import pytest

from scrapstore.errors import SettingsError
from scrapstore.photo.typed_squares import EXAMPLE, FAMILIES, TypedSquares, parse_squares


@pytest.mark.parametrize(
    ("text", "family", "ids", "side"),
    [
        (EXAMPLE, "4x4_50", tuple(range(10)), 30 / 25.4),
        ("DICT_6X6_250: 0, 3 ,7 : 2 in", "6x6_250", (0, 3, 7), 2.0),
        ("Aruco 4x4_50:7-9,1:1 1/4 in", "4x4_50", (1, 7, 8, 9), 1.25),
        ("AprilTag 36h11:586:4 cm", "apriltag_36h11", (586,), 4 / 2.54),
        ("april_tags 36h11:0:4 cm", "apriltag_36h11", (0,), 4 / 2.54),
        ("tag16h5:all:3 in", "apriltag_16h5", tuple(range(30)), 3.0),
        ("aruco original:1 - 3:1 in", "aruco_original", (1, 2, 3), 1.0),
        ("aruco_mip_36h12:5 9:1in", "aruco_mip_36h12", (5, 9), 1.0),
    ],
)
def test_read(text: str, family: str, ids: tuple[int, ...], side: float) -> None:
    found = parse_squares(text)
    assert found == TypedSquares(family, ids, pytest.approx(side))  # type: ignore[arg-type]


@pytest.mark.parametrize("text", ["print", " Print "])
def test_our_own_print(text: str) -> None:
    assert parse_squares(text) is None


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "write family, identities and side with colons between"),
        ("4x4_50:0-9", "cannot read '4x4_50:0-9'"),
        ("4x4_50::1 in", "with colons between"),
        ("barcode:0-9:1 in", "no family 'barcode'; use one of 4x4_50"),
        ("apriltag_36h12:0:1 in", "did you mean apriltag_36h1"),
        ("4x4_50:two:1 in", "cannot read the identities 'two'; write for example 0-9"),
        ("4x4_50:9-0:1 in", "cannot read the identities '9-0'"),
        ("4x4_50:-1:1 in", "cannot read the identities"),
        ("4x4_50:0-60:1 in", "4x4_50 has the identities 0 to 49, not 60"),
        ("4x4_50:0-9:30", "give the side '30' with its unit"),
        ("4x4_50:0-9:thirty", "squares: "),
        ("4x4_50:0-9:1 mm", "a side of 1 mm will not do"),
        ("4x4_50:0-9:3 yd", "measure the outer side of the black square"),
    ],
)
def test_refused(text: str, why: str) -> None:
    with pytest.raises(SettingsError) as told:
        parse_squares(text)
    assert why in str(told.value)


def test_families_are_those_of_opencv() -> None:
    """Every predefined dictionary, and as many codes as it has."""
    theirs = {
        name.removeprefix("DICT_").lower(): getattr(cv2.aruco, name)
        for name in dir(cv2.aruco)
        if name.startswith("DICT_")
    }
    counts = {
        name: cv2.aruco.getPredefinedDictionary(number).bytesList.shape[0]
        for name, number in theirs.items()
    }
    assert counts == dict(FAMILIES)
