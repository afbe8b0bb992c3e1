"""What new scraps give, said on the command line and after ``log``."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.support.pad import write_pad
from tests.support.program import Program


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    pixels = np.full((48, 64, 3), 200, dtype=np.uint8)
    pixels[12:36, 16:48] = (30, 50, 120)
    Image.fromarray(pixels).save(tmp_path / "navy.png")
    return tmp_path / "navy.png"


@pytest.fixture
def bench(scrapstore: Program, tmp_path: Path) -> Path:
    """A kept plan of twelve squares of 2 1/2 in: 5 × 5 in gives four, eight are to be bought."""
    file = write_pad(tmp_path, 12, name="bench")
    scrapstore("scrap", "add", "--size", "5 x 5", "--margin", "0")
    scrapstore("plan", "keep", str(file))
    return file


SIZE = ("--size", "7 1/2 x 2 1/2", "--margin", "0")


@pytest.mark.usefixtures("bench")
def test_the_first_line_says_it_and_a_table_follows(scrapstore: Program, tmp_path: Path) -> None:
    scrapstore("scrap", "add", *SIZE, "--place", "tin", "--name", "cuff")
    said = scrapstore("gives", "--sheets", str(tmp_path / "sheets"))
    lines = [line.rstrip() for line in said.out.splitlines()]
    assert lines[0] == "Scrap 2 gives 3 × square for 'bench'."
    assert lines[-1] == "    2   cuff   tin     3 × square   'bench'"
    page = (tmp_path / "sheets" / "index.html").read_text(encoding="utf-8")
    assert "square for bench" in page
    kept = scrapstore("gives", "2", "--keep", "now", "--json")
    assert "Kept as 'now'. Set aside for it: 1 scrap." in kept.err
    assert kept.json["open"] == [
        {"of": "plan", "name": "bench", "piece": "square", "wanted": 8, "given": 3}
    ]
    assert kept.json["answer"]["scraps"][0]["counts"] == {"square for bench": 3}
    again = scrapstore("gives", "2", status=1)
    assert "scrap 2 is set aside for 'now'; only available scraps are offered" in again.err


@pytest.mark.usefixtures("bench")
def test_after_log_it_is_said_in_brief(scrapstore: Program, photo: Path) -> None:
    said = scrapstore("log", str(photo), *SIZE)
    assert said.out.splitlines()[-1] == "1 logged, 0 there already, 0 refused"
    assert said.err.splitlines() == [
        "Scrap 2 gives 3 × square for 'bench'.",
        "More: scrapstore gives 2",
    ]


@pytest.mark.usefixtures("bench")
def test_after_log_nothing_is_said_when_not_wanted(scrapstore: Program, photo: Path) -> None:
    """With --no-gives, with --json, and when no new scrap went in."""
    assert scrapstore("log", str(photo), *SIZE, "--no-gives").err == ""
    assert "gives" not in scrapstore("log", str(photo), *SIZE).err
    said = scrapstore("log", str(photo), *SIZE, "--again", "--json")
    assert said.err == ""
    assert set(said.json) == {"logged", "skipped", "refused", "left"}


def test_after_log_nothing_is_said_when_nothing_is_open(
    scrapstore: Program, photo: Path, tmp_path: Path
) -> None:
    assert scrapstore("log", str(photo), *SIZE).err == f"made a new store in {tmp_path / 'store'}\n"
    refused = scrapstore("gives", status=1)
    assert "nothing is open: name a project with --for PROJECT.toml" in refused.err


def test_a_stock_list_from_the_starter_and_one_that_is_gone(
    scrapstore: Program, photo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Set by its name here, it is found from anywhere; gone, the photo goes in all the same."""
    monkeypatch.chdir(tmp_path)
    scrapstore("project", "new", "sizes.toml", "--stock-list")
    scrapstore("project", "check", "sizes.toml")
    shown = scrapstore("settings", "set", "stock_list", "sizes.toml", "--json")
    assert shown.json["stock_list"] == str(tmp_path / "sizes.toml")
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    said = scrapstore("log", str(photo), *SIZE)
    assert "Scrap 1 gives 3 × square 2 1/2 for stock." in said.err
    (tmp_path / "sizes.toml").unlink()
    said = scrapstore("log", str(photo), *SIZE, "--again")
    assert "What they give for what is open was not found out: " in said.err
    assert "sizes.toml" in said.err
    assert (
        scrapstore("settings", "set", "stock_list", "none", "--json").json["stock_list"] == "none"
    )


def test_a_project_that_is_named_needs_no_plan(scrapstore: Program, tmp_path: Path) -> None:
    file = write_pad(tmp_path, 2, name="tray")
    for width in ("7 1/2", "1", "1", "1"):
        scrapstore("scrap", "add", "--size", f"{width} x 2 1/2", "--margin", "0")
    said = scrapstore("gives", "--for", str(file), "1-4")
    assert said.out.splitlines()[0] == "Scrap 1 gives 2 × square for 'tray'."
    none = scrapstore("gives", "--for", str(file), "2-4")
    assert none.out == "None of the 3 scraps gives a piece for 'tray'.\n"
