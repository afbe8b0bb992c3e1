"""The commands of a page of the guide, run as they stand there."""

import re
import shlex
import shutil
from pathlib import Path

import pytest

from scrapstore.guide import page
from scrapstore.resources import resource_folder
from tests.support.program import Program

_BLOCK = re.compile(
    r"<!-- (?:(?P<tour>tour)|file: (?P<file>\S+)|at the end: (?P<end>\S+)"
    r"|below (?P<line>[^:]+): (?P<below>\S+)) -->\n```\w+\n(?P<text>.*?)```",
    re.DOTALL,
)


def run_tour(
    name: str, folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Program:
    """Run every marked block of the page `name` in `folder`, and return the program that did."""
    monkeypatch.chdir(folder)
    monkeypatch.setenv("SCRAPSTORE_CONFIG", str(folder / "settings.toml"))
    monkeypatch.setattr("scrapstore.workers._cores", lambda: 1)
    shutil.copytree(resource_folder("sample_photos"), folder / "sample_photos")
    scrapstore = Program(capsys, monkeypatch)
    text = page(name)
    assert text is not None
    blocks = list(_BLOCK.finditer(text))
    assert len(blocks) == text.count("<!-- ")  # no block is marked in a way that nothing reads
    for block in blocks:
        if block["tour"]:
            for line in block["text"].strip().splitlines():
                words = shlex.split(line)
                assert words[0] == "scrapstore"
                scrapstore(*words[1:])
        else:
            file = folder / (block["file"] or block["end"] or block["below"])
            old = "" if block["file"] else file.read_text(encoding="utf-8")
            if block["below"]:
                assert old.count(f"{block['line']}\n") == 1
                new = old.replace(f"{block['line']}\n", f"{block['line']}\n{block['text']}")
            else:
                new = old + block["text"]
            file.write_text(new, encoding="utf-8")
    return scrapstore
