"""``log --squares``: squares of one's own instead of our print."""

from pathlib import Path

import pytest

from scrapstore.photo import SquareSet
from tests.render.arrange import Options, render_scene
from tests.support.program import Program

OWN = SquareSet("5x5_100", (3, 4, 5, 6, 7, 8), 1.5)
SCENE = Options(scraps=2, width=2016, height=1512, camera_height=20, tilt_deg=5, k1=0.0,
                table="plain", cloths=("solid",), squares=OWN, count=5)  # fmt: skip


@pytest.fixture(scope="module")
def photo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[float]]:
    rendered = render_scene(11, SCENE)
    path = tmp_path_factory.mktemp("photo") / "table.jpg"
    rendered.save_jpeg(path)
    return path, sorted(scrap.outline.area for scrap in rendered.truth.scraps)


def test_own_squares_on_the_call_or_set(
    scrapstore: Program, photo: tuple[Path, list[float]]
) -> None:
    """Sizes follow their side; the check line of our print has no say in them."""
    path, true = photo
    scrapstore("settings", "set", "check_line", "6 1/2")
    said = scrapstore("log", str(path), "--yes", "--squares", "5x5_100:3-8:1 1/2 in", "--json")
    areas = sorted(scrap["area"] for scrap in said.json["logged"][0]["scraps"])
    assert areas == pytest.approx(true, rel=0.02)
    scrapstore("settings", "set", "squares", "5x5_100:3-8:3 in")
    said = scrapstore("log", str(path), "--yes", "--again", "--json")
    doubled = sorted(scrap["area"] for scrap in said.json["logged"][0]["scraps"])
    # Twice the side is four times the area; fray is then taken for twice as wide, too.
    assert doubled == pytest.approx([4 * area for area in areas], rel=0.05)


def test_other_squares_are_no_scale(scrapstore: Program, photo: tuple[Path, list[float]]) -> None:
    """Ours are looked for unless others are named; identities not named do not count."""
    path, _ = photo
    none = "printed squares lie in the picture, but none that is looked for"
    assert none in scrapstore("log", str(path), "--yes", status=1).err
    said = scrapstore("log", str(path), "--yes", "--squares", "5x5_100:20-30:1 1/2 in", status=1)
    assert none in said.err
    said = scrapstore("log", str(path), "--yes", "--squares", "5x5_100:3-8:1.5", status=2)
    assert "give the side '1.5' with its unit" in said.err
    assert scrapstore("scrap", "list", "--json").json["scraps"] == []
