"""The tour in the guide's page on arranging runs, and what the page says is so."""

import re
import shlex
from pathlib import Path

import pytest

from scrapstore.designs.arranging import SCHEMES
from scrapstore.guide import page
from tests.support.program import Program

PAGE = page("arranging") or ""


def test_the_star_is_arranged_kept_and_cut_from_its_six_scraps(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SCRAPSTORE_CONFIG", str(tmp_path / "settings.toml"))
    monkeypatch.setenv("SCRAPSTORE_STORE", str(tmp_path / "store"))
    monkeypatch.setattr("scrapstore.workers._cores", lambda: 1)
    scrapstore = Program(capsys, monkeypatch)
    calls = [
        shlex.split(line)
        for block in re.findall(r"<!-- tour -->\n```sh\n(.*?)```", PAGE, re.DOTALL)
        for line in block.strip().splitlines()
    ]
    said = {
        " ".join(words[1:]): scrapstore(*words[1:], *(["--no-sheets"] if "match" in words else []))
        for words in calls
    }
    ways = said["arrange star.toml --scheme rounds"].out
    assert ways.startswith("4 ways can be cut without buying, and no others")
    assert "11 of 12" in ways
    (match,) = (one for words, one in said.items() if words.startswith("match"))
    assert "54 of 66 pieces are covered" in " ".join(match.out.split())


def test_the_page_names_every_scheme() -> None:
    named = re.findall(r"^\| `([a-z][a-z-]+)` \|", PAGE, re.MULTILINE)
    assert [name.replace("-", " ") for name in named] == list(SCHEMES)
