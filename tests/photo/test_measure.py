"""From a photo to measured scraps: rendered photos with known truth, and every refusal."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from shapely import affinity
from shapely.geometry import Polygon, box

from scrapstore.errors import PhotoError
from scrapstore.photo import OUR_PRINT, LensProfile, SquareSet, measure, preview
from tests.render.arrange import Options, render_no_scale, render_scene
from tests.render.printed import card, loose_cell
from tests.support.photographed import (
    HIGH,
    WIDE,
    camera,
    loose,
    photographed,
    reading,
    refusal,
    scrap,
    shape_error,
)

RECTANGLE = box(-3, -2, 3, 2)
TRIANGLE = Polygon([(-2, -2), (4, -1.5), (0, 3)])
RING = Polygon(box(-3, -2.5, 3, 2.5).exterior.coords, [box(-0.8, -0.6, 0.9, 0.8).exterior.coords])


@pytest.mark.parametrize("outline", [RECTANGLE, TRIANGLE, RING])
def test_sizes_are_true_to_a_thirty_second_of_an_inch(tmp_path: Path, outline: Polygon) -> None:
    found = reading(photographed(tmp_path, [scrap(outline)], loose()))
    assert len(found.scraps) == 1
    told = found.scraps[0].outline
    assert len(told.interiors) == len(outline.interiors)
    assert len(told.exterior.coords) == len(outline.exterior.coords), (
        "straight edges, sharp corners"
    )
    best = shape_error(told, outline)
    assert best < 1 / 32
    assert best < found.scraps[0].uncertainty
    assert told.area == pytest.approx(outline.area, rel=0.01)
    assert told.bounds[:2] == pytest.approx((0, 0), abs=1e-9)


def test_several_scraps_come_in_reading_order_with_colours_and_grain(tmp_path: Path) -> None:
    pieces = [
        scrap(affinity.translate(box(0, 0, 4, 2), 1, 1.5), colour=(40, 90, 150)),
        scrap(affinity.translate(box(0, 0, 4, 2), -5, 1.5), colour=(150, 40, 50)),
        scrap(affinity.translate(box(0, 0, 3, 2), -2, -4.2), colour=(70, 110, 60)),
    ]
    found = reading(photographed(tmp_path, pieces, loose()))
    shades = [s.swatches[0].rgb for s in found.scraps]
    expected = [(150, 40, 50), (40, 90, 150), (70, 110, 60)]
    for seen, true in zip(shades, expected, strict=True):
        assert np.abs(np.array(seen) - true).max() < 16
    grain = found.scraps[0].grain_suggestion_deg
    assert grain is not None
    assert min(grain, 180 - grain) < 8, "the long side lies along the picture"


@pytest.mark.parametrize("table", ["mat", "wood", "carpet", "cloth"])
def test_other_surfaces_do(tmp_path: Path, table: str) -> None:
    """A cutting mat's printed grid, grain, pile and a patterned cloth are not scraps."""
    pieces = [scrap(affinity.translate(RECTANGLE, -1, 0.5), "floral", (110, 30, 60))]
    found = reading(photographed(tmp_path, pieces, loose(), table=table, colour=None))
    assert len(found.scraps) == 1
    assert found.scraps[0].outline.area == pytest.approx(24, rel=0.02)


def test_a_bent_lens_is_learned_and_then_serves_a_card(tmp_path: Path) -> None:
    bent = camera(k1=-0.06)
    far = affinity.translate(RECTANGLE, -6, 0)
    teaches = reading(photographed(tmp_path, [scrap(RECTANGLE)], loose(), view=bent))
    assert teaches.lens is not None
    assert teaches.lens.k1 == pytest.approx(-0.06, abs=0.02)
    path = photographed(tmp_path, [scrap(far)], (card((6, 0), 80),), view=bent)
    knows, guesses = reading(path, lens=teaches.lens), reading(path)
    assert knows.card
    assert knows.lens_known
    assert knows.lens is None, "nothing new was learned"
    assert not guesses.lens_known
    assert any("lens is not known" in note for note in guesses.notes)
    assert knows.scraps[0].uncertainty < guesses.scraps[0].uncertainty
    assert knows.scraps[0].outline.area == pytest.approx(24, rel=0.015)


def test_a_lens_of_another_camera_is_not_used(tmp_path: Path) -> None:
    path = photographed(tmp_path, [scrap(RECTANGLE)], loose())
    assert not reading(path, lens=LensProfile("another", 0.7, 0.3, 0.01, 0.001)).lens_known


def test_the_printers_scale_counts(tmp_path: Path) -> None:
    path = photographed(tmp_path, [scrap(RECTANGLE)], loose())
    plain, shrunk = reading(path), reading(path, printed_scale=0.95)
    assert shrunk.scraps[0].outline.area == pytest.approx(
        plain.scraps[0].outline.area * 0.95**2, rel=1e-3
    )
    with pytest.raises(PhotoError, match="printed scale"):
        measure(path, printed_scale=9.0)


def test_squares_that_someone_already_owns_will_do(tmp_path: Path) -> None:
    squares = SquareSet("4x4_50", (0, 1, 2, 3), 0.8)
    photo = render_scene(
        3,
        Options(
            squares=squares, scraps=2, width=WIDE, height=HIGH, table="plain", k1=0.0, wear=0.0
        ),
    )
    photo.save_jpeg(tmp_path / "a.jpg")
    found = reading(tmp_path / "a.jpg", squares=squares)
    assert len(found.scraps) == 2


def test_the_same_file_gives_the_same_reading(tmp_path: Path) -> None:
    path = photographed(tmp_path, [scrap(TRIANGLE, "floral")], loose())
    first, second = reading(path), reading(path)
    assert first.scraps[0].outline.equals_exact(second.scraps[0].outline, 0)
    assert first.scraps[0].swatches == second.scraps[0].swatches


def test_the_preview_shows_every_scrap(tmp_path: Path) -> None:
    found = reading(photographed(tmp_path, [scrap(RECTANGLE)], loose()))
    plain = preview(replace(found, scraps=(), squares=()), long_side=800)
    drawn = preview(found, long_side=800)
    assert drawn.size == plain.size == (800, 600)
    changed = np.any(np.asarray(drawn) != np.asarray(plain), axis=2)
    corner = found.scraps[0].in_picture[0][0] / 2
    near = changed[int(corner[1]) - 4 : int(corner[1]) + 4, int(corner[0]) - 4 : int(corner[0]) + 4]
    assert near.any()


class TestRefusals:
    def test_no_scale(self, tmp_path: Path) -> None:
        path = photographed(tmp_path, [scrap(RECTANGLE)], ())
        assert refusal(path).code == "no scale"
        assert "type the sizes" in refusal(path).remedy

    def test_scale_cut_off(self, tmp_path: Path) -> None:
        path = photographed(tmp_path, [scrap(RECTANGLE)], (loose_cell(0, (-13.65, 0.0), 0.0),))
        assert refusal(path).code == "scale cut off"

    def test_most_of_the_card_cut_off(self, tmp_path: Path) -> None:
        path = photographed(tmp_path, [scrap(RECTANGLE)], (card((14.7, 0.0), 0.0),))
        assert refusal(path).code == "scale cut off"

    def test_too_tilted(self, tmp_path: Path) -> None:
        view = camera(56.0, 9.0)
        path = photographed(tmp_path, [scrap(RECTANGLE)], (card((1, -3), 0),), view=view)
        assert refusal(path).code == "too tilted"

    @pytest.mark.parametrize("sigma", [9.0, 40.0])
    def test_too_blurred(self, tmp_path: Path, sigma: float) -> None:
        import cv2

        path = photographed(
            tmp_path, [scrap(RECTANGLE)], loose(),
            change=lambda image: np.asarray(cv2.GaussianBlur(image, (0, 0), sigma)),
        )  # fmt: skip
        assert refusal(path).code == "too blurred"

    def test_residual(self, tmp_path: Path) -> None:
        """Squares of different sizes are not squares of one side."""
        path = photographed(tmp_path, [scrap(RECTANGLE)], loose())
        with Image.open(path) as image:
            pixels = np.asarray(image).copy()
        # Stretch the left half: its squares become oblong.
        half, more = WIDE // 2, HIGH // 6
        left = Image.fromarray(pixels[:, :half]).resize((half, HIGH + 2 * more))
        pixels[:, :half] = np.asarray(left.crop((0, more, half, more + HIGH)))
        Image.fromarray(pixels).save(path, quality=95)
        assert refusal(path).code == "residual"

    def test_scrap_leaves_the_picture(self, tmp_path: Path) -> None:
        path = photographed(tmp_path, [scrap(affinity.translate(RECTANGLE, -12.5, 0))], loose())
        assert refusal(path).code == "leaves the picture"

    def test_the_others_are_measured_all_the_same(self, tmp_path: Path) -> None:
        pieces = [
            scrap(affinity.translate(RECTANGLE, -12.5, 0)),
            scrap(affinity.translate(RECTANGLE, 2, 0)),
        ]
        found = reading(photographed(tmp_path, pieces, loose()))
        assert len(found.scraps) == 1
        assert [r.code for r in found.left_out] == ["leaves the picture"]
        ring = found.left_out[0].in_picture
        assert ring is not None
        assert ring[:, 0].min() < 12, "it reaches the picture's left edge"
        assert ring[:, 0].max() < min(r[:, 0].min() for r in found.scraps[0].in_picture)
        shown = np.asarray(preview(found, long_side=800)).astype(int)
        plain = np.asarray(preview(replace(found, left_out=()), long_side=800))
        x, y = np.rint(ring[len(ring) // 3] / 2).astype(int)
        assert np.any(shown[y - 3 : y + 4, x - 3 : x + 4] != plain[y - 3 : y + 4, x - 3 : x + 4])

    def test_scrap_over_the_scale(self, tmp_path: Path) -> None:
        path = photographed(tmp_path, [scrap(affinity.translate(RECTANGLE, -4.6, 4.6))], loose())
        assert refusal(path).code == "over the scale"

    def test_no_scrap(self, tmp_path: Path) -> None:
        assert refusal(photographed(tmp_path, [], loose())).code == "no scrap"

    def test_no_contrast(self, tmp_path: Path) -> None:
        """Cloth of nearly the table's colour: no outline is better than a wrong one."""
        path = photographed(tmp_path, [scrap(RECTANGLE, colour=(203, 200, 193))], loose())
        assert refusal(path).code in ("no contrast", "no scrap")

    def test_picture_too_small(self, tmp_path: Path) -> None:
        Image.new("RGB", (500, 400)).save(tmp_path / "a.png")
        assert refusal(tmp_path / "a.png").code == "too small"

    def test_bombs_and_broken_files(self, tmp_path: Path) -> None:
        Image.new("L", (12_000, 11_000)).save(tmp_path / "bomb.png")
        assert refusal(tmp_path / "bomb.png").code == "too large"
        path = photographed(tmp_path, [scrap(RECTANGLE)], loose())
        path.write_bytes(path.read_bytes()[:60_000])
        assert refusal(path).code == "unreadable"
        assert refusal(tmp_path / "nothing.jpg").code == "unreadable"


def test_random_scenes_without_a_scale_are_never_measured(tmp_path: Path) -> None:
    """A small form of the run in tests/benchmarks."""
    for seed in range(2):
        render_no_scale(seed, width=1200, height=900).save_jpeg(tmp_path / "a.jpg")
        assert not measure(tmp_path / "a.jpg")
        assert not measure(tmp_path / "a.jpg", squares=SquareSet("4x4_50", tuple(range(50)), 0.7))


def test_our_print_is_the_default() -> None:
    assert OUR_PRINT.family == "apriltag_36h11"
    assert OUR_PRINT.ids == (0, 1, 2, 3, 4, 5)
