"""The guide's page on colours says what the program does: its numbers, its tables, its commands."""

import binascii
import re
import shlex
import shutil
from pathlib import Path

import pytest

from scrapstore.colour import ACCENT_SHARE, FAMILIES, MULTICOLOUR, corrections, reading, swatches
from scrapstore.colour.tints import CAST
from scrapstore.guide import page
from scrapstore.resources import resource_folder
from scrapstore.store import open_store, scrap_colours
from tests.support.colour_names import agreement_table, confusion_table, held_out, survey
from tests.support.coloured_store import add_cloths
from tests.support.program import Program
from tests.support.tinted_names import tint_table

PAGE = page("colours") or ""
WORDS = " ".join(PAGE.split())


def commands() -> list[list[str]]:
    blocks = re.findall(r"```text\n(.*?)```", PAGE, re.DOTALL)
    return [shlex.split(line) for block in blocks for line in block.strip().splitlines()]


@pytest.mark.parametrize("table", [agreement_table, lambda: confusion_table(survey()), tint_table])
def test_the_tables_are_what_the_code_gives(table: object) -> None:
    """If this fails: tests.benchmarks.colour_confusion and colour_tints print them anew."""
    assert callable(table)
    assert table() in PAGE


@pytest.mark.parametrize(
    "said",
    [
        ", ".join(FAMILIES) + ".",
        f"**{MULTICOLOUR}**",
        f"what covers less than {swatches._LEAST:.1%}".replace("%", " %"),
        f"chroma {reading._STRONG_CHROMA:g} counts double",
        f"A family leads with {100 * reading._LEADS:g} %",
        f"on at least {100 * ACCENT_SHARE:g} % of the cloth",
        f"Below {100 * scrap_colours._DOUBTFUL:g} % you see a question mark",
        f"are off by at most {CAST:g} units",
        f"a chroma below {2 * CAST:g} is no tint",
        f"dark below {reading._DARK_BELOW:g}, light from {reading._LIGHT_FROM:g} on",
    ],
)
def test_the_numbers_are_those_of_the_code(said: str) -> None:
    assert said in WORDS


def test_the_shares_told_in_words_are_those_of_the_code() -> None:
    assert "The look near by counts three quarters, the blur one quarter." in WORDS
    assert reading._BLUR == 0.25
    assert "nearest corrected neighbours, five at most" in WORDS
    assert corrections._NEIGHBOURS == 5
    assert "a print eight at most" in WORDS
    assert swatches.MOST == 8


def test_the_part_held_out_is_the_part_that_is_told() -> None:
    """The CRC-32 of zip files, whose published check value is CBF43926 for "123456789"."""
    assert "CRC-32 is divisible by 3" in WORDS
    assert binascii.crc32(b"123456789") == 0xCBF43926
    for colour in survey():
        assert held_out(colour) == (binascii.crc32(colour.name.encode()) % 3 == 0)


@pytest.mark.slow
def test_its_commands_run_in_order(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("SCRAPSTORE_STORE", str(tmp_path / "store"))
    monkeypatch.setenv("SCRAPSTORE_CONFIG", str(tmp_path / "settings.toml"))
    monkeypatch.chdir(tmp_path)
    shutil.copy(resource_folder("sample_photos") / "tea-towel-green.jpg", tmp_path / "photo.jpg")
    with open_store(tmp_path / "store") as store:
        add_cloths(store)
    scrapstore = Program(capsys, monkeypatch)
    called = commands()
    assert len(called) >= 10
    for words in called:
        assert words[0] == "scrapstore"
        scrapstore(*words[1:])
    for name in ("colours.html", "found.html", "together.html", "piles.html"):
        assert (tmp_path / name).stat().st_size > 1000
