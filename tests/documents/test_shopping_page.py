"""The tour of the shopping list in the guide: it runs, and what it says is so."""

import re
import shlex
from pathlib import Path

import pytest

from scrapstore.guide import page
from tests.support.program import Program


def test_two_projects_share_a_length(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """By hand: 13 1/2 in of strips and 1 in are 1/2 yd; apart they would be 3/8 and 1/4 yd."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SCRAPSTORE_CONFIG", str(tmp_path / "settings.toml"))
    monkeypatch.setattr("scrapstore.workers._cores", lambda: 1)
    scrapstore = Program(capsys, monkeypatch)
    text = page("shopping")
    assert text is not None
    blocks = re.findall(r"<!-- (file|tour)(?:: (\S+))? -->\n```\w+\n(.*?)```", text, re.DOTALL)
    assert [kind for kind, _, _ in blocks] == ["file", "file", "tour", "tour"]
    for kind, name, content in blocks:
        if kind == "file":
            (tmp_path / name).write_text(content, encoding="utf-8")
        for line in content.strip().splitlines() if kind == "tour" else ():
            words = shlex.split(line)
            assert words[0] == "scrapstore"
            scrapstore(*words[1:])
    assert (tmp_path / "list.pdf").read_bytes().startswith(b"%PDF")
    store = ("--store", "shop")
    found = scrapstore(*store, "shopping", "mats.toml", "runner", "--json").json
    (cream,) = found["fabrics"]
    assert [one["purchases"][0]["buy_yards"] for one in cream["parts"]] == [1 / 4, 3 / 8]
    assert cream["together"] == {"used": 13.5, "needed": 14.5, "buy_yards": 0.5, "buy_cm": 40}
    assert [(one["word"], one["scrap"]) for one in cream["match"]] == [("Cream linen", 1)]
    assert "3 1/2 in to spare" in " ".join(found["words"]["Buy"])
    binding = next(one for one in found["finishing"] if one["kind"] == "binding")
    assert binding["on_hand"] == 30 - 2.25
    assert found["on_hand"][1]["lengths"] == {"1": 10.0}
