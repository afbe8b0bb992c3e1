"""Texts that are no letters, and interrupts: told, and nothing reaches the terminal or is lost."""

import os
import sqlite3
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from shapely import box

from scrapstore.actions import log as log_module
from scrapstore.errors import StoreError
from scrapstore.store import NewScrap, open_store
from tests.support.program import Said

Scrapstore = Callable[..., Said]

RED = "\x1b[31mred\x1b]0;title\x07"
NO_LETTERS = "caf\udce9"  # Latin-1 bytes, as the command line hands them on

linux = pytest.mark.skipif(sys.platform != "linux", reason="file names are Unicode elsewhere")


def picture(path: Path, shade: int = 160) -> Path:
    pixels = np.full((48, 64, 3), (200, 180, 150), dtype=np.uint8)
    pixels[12:36, 16:48] = (40, 70, shade)
    Image.fromarray(pixels).save(path)
    return path


@pytest.mark.parametrize("text", [RED, NO_LETTERS, "a\x9bb", "a\u202eb", "a\rb"])
def test_typed_texts_that_are_no_letters_are_refused(
    scrapstore: Scrapstore, empty_store: Path, text: str
) -> None:
    for command in (
        ("scrap", "add", "--size", "9 x 6", "--name", text),
        ("scrap", "list", "--place", text),
        ("fabric", "add", text),
        ("plan", "show", text),
        ("find", "--like", text),
        ("scrap", "list", "--set", f"ruler_step={text}"),
        ("scrap", "list", f"--{text}"),
        (text,),
    ):
        said = scrapstore(*command, status=2)
        assert said.out == ""
        assert text not in said.err
        assert not set("\x1b\x07\x9b\u202e\r\udce9") & set(said.err)
    with open_store(empty_store) as store, store.read() as reader:
        assert reader.scraps() == ()


def test_the_store_keeps_no_such_text_whoever_asks(tmp_path: Path) -> None:
    with (
        open_store(tmp_path) as store,
        pytest.raises(StoreError, match=r"place: .*no letters"),
        store.change("test") as writer,
    ):
        writer.add_scrap(NewScrap(outline=box(0, 0, 4, 4), place=RED))


def test_escapes_in_a_borrowed_store_are_not_shown(
    scrapstore: Scrapstore, empty_store: Path, tmp_path: Path
) -> None:
    with open_store(empty_store) as store, store.change("test") as writer:
        writer.add_scrap(NewScrap(outline=box(0, 0, 4, 4), place="bin", name="odd", family="red"))
    with closing(sqlite3.connect(empty_store / "store.db")) as connection, connection:
        connection.execute("UPDATE scraps SET place = ?, name = ?", (RED, f"{RED}\x00\x9b"))
        connection.execute("UPDATE changes SET what = ?", (RED,))
    for command in (
        ("scrap", "list"),
        ("scrap", "show", "1"),
        ("history",),
        ("families", "--scraps"),
    ):
        said = scrapstore(*command)
        assert "\x1b" not in said.out
        assert "�" in said.out
    shown = scrapstore("scrap", "list", "--json")
    assert "\x1b" not in shown.out
    assert shown.json["scraps"][0]["place"] == RED


@linux
def test_a_file_name_that_is_not_utf8(scrapstore: Scrapstore, tmp_path: Path) -> None:
    """It goes in like the others, or is refused by name; the others go on."""
    photos = tmp_path / "photos"
    photos.mkdir()
    picture(photos / "plain.png")
    picture(photos / "x.png", 120).rename(photos / os.fsdecode(b"caf\xe9.png"))
    (photos / os.fsdecode(b"broken\xff.png")).write_bytes(b"no picture")
    said = scrapstore("log", str(photos), "--size", "9 x 6", status=1)
    assert "2 logged" in said.out
    assert "caf�.png" in said.out
    assert "broken�.png" in said.err
    shown = scrapstore("log", str(photos), "--size", "9 x 6", "--json", status=1).json
    assert [one["file"].rpartition("/")[2] for one in shown["skipped"]] == ["caf�.png", "plain.png"]
    assert scrapstore("history").out


@linux
def test_a_store_whose_name_is_not_utf8(scrapstore: Scrapstore, tmp_path: Path) -> None:
    folder = str(tmp_path / NO_LETTERS)
    scrapstore("--store", folder, "scrap", "add", "--size", "4 x 4")
    assert len(scrapstore("--store", folder, "scrap", "list", "--json").json["scraps"]) == 1
    assert "caf�" in scrapstore("--store", folder, "store", "info").out
    copy = scrapstore("--store", folder, "store", "backup", folder + "2", "--json").json
    assert copy["path"].endswith("caf�2")


@pytest.mark.parametrize("after", [False, True])
def test_an_interrupted_log_says_how_many_went_in(
    scrapstore: Scrapstore, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, after: bool
) -> None:
    """Whether the interrupt comes before a photo is in the store, or just after."""
    photos = [str(picture(tmp_path / f"{name}.png", 20 * at)) for at, name in enumerate("abc", 1)]
    whole = log_module._log_one

    def interrupted(store: Any, path: Path, how: Any) -> Any:
        if path.name == "b.png":
            if after:
                whole(store, path, how)
            raise KeyboardInterrupt
        return whole(store, path, how)

    monkeypatch.setattr(log_module, "_log_one", interrupted)
    said = scrapstore("log", *photos, "--size", "9 x 6", "--json", status=1)
    went_in = 2 if after else 1
    assert f"of the photos {went_in} went in" in said.err
    assert "Nothing is half written" in said.err
    assert len(said.json["logged"]) == went_in
    assert len(said.json["left"]) == 3 - went_in
    monkeypatch.undo()
    monkeypatch.setenv("SCRAPSTORE_STORE", str(tmp_path / "store"))
    shown = scrapstore("log", *photos, "--size", "9 x 6", "--json").json
    assert (len(shown["logged"]), len(shown["skipped"])) == (3 - went_in, went_in)


@pytest.mark.parametrize("command", [("plan", "keep"), ("match", "--no-sheets", "--keep", "bench")])
def test_an_interrupted_plan_is_not_kept(
    scrapstore: Scrapstore,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    command: tuple[str, ...],
) -> None:
    """Half-found, nobody has seen it; no cloth is set aside for it."""
    from scrapstore.actions import match as match_module

    (tmp_path / "pad.toml").write_text(
        'format = 1\nname = "Pad"\n[roles.top]\n[[pieces]]\nname = "square"\nshape = "square"\n'
        'side = "2"\ncount = 2\nrole = "top"\n'
    )
    with open_store(tmp_path / "store") as store, store.change("test") as writer:
        writer.add_scrap(NewScrap(outline=box(0, 0, 9, 9)))
    whole = match_module.project_answers

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(
        match_module, "project_answers", lambda *a, **k: whole(*a, **{**k, "progress": stop})
    )
    said = scrapstore(*command, str(tmp_path / "pad.toml"), status=130)
    assert said.err == "scrapstore: stopped; what was not finished was not kept\n"
    assert scrapstore("plan", "list", "--json").json["plans"] == []
    assert len(scrapstore("scrap", "list", "--json").json["scraps"]) == 1
