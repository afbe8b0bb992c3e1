"""The scale from the command line."""

from pathlib import Path

import pytest

from scrapstore.photo import scale_pdf, scale_png
from tests.support.program import Program


def test_it_prints_on_both_papers(scrapstore: Program, tmp_path: Path) -> None:
    scrapstore("scale", str(tmp_path / "a.pdf"), "--paper", "a4")
    scrapstore("scale", str(tmp_path / "b.PNG"), "--paper", "Letter")
    assert (tmp_path / "a.pdf").read_bytes() == scale_pdf("a4")
    assert (tmp_path / "b.PNG").read_bytes() == scale_png(page="letter")


def test_the_paper_is_that_of_the_settings(scrapstore: Program, tmp_path: Path) -> None:
    """Letter with inches, A4 with centimetres; a setting says otherwise, and the call again."""
    file = tmp_path / "scale.pdf"
    scrapstore("scale", str(file))
    assert file.read_bytes() == scale_pdf("letter")
    scrapstore("scale", str(file), "--units", "cm")
    assert file.read_bytes() == scale_pdf("a4")
    scrapstore("settings", "set", "paper", "a4")
    scrapstore("scale", str(file))
    assert file.read_bytes() == scale_pdf("a4")
    scrapstore("scale", str(file), "--paper", "letter")
    assert file.read_bytes() == scale_pdf("letter")


@pytest.mark.parametrize(
    ("words", "why", "status"),
    [
        (["scale.doc"], "a PDF or a PNG", 2),
        (["scale.pdf", "--paper", "a7"], "cannot print on 'a7'", 2),
        (["missing/scale.pdf"], "cannot be written", 1),
    ],
)
def test_what_cannot_be_printed(
    scrapstore: Program, tmp_path: Path, words: list[str], why: str, status: int
) -> None:
    assert why in scrapstore("scale", str(tmp_path / words[0]), *words[1:], status=status).err
