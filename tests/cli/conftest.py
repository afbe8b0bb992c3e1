"""A program with a store and settings of its own for each test."""

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from scrapstore.actions.store import back_up_store
from scrapstore.cli import main
from scrapstore.store import keep_lens, open_store
from tests.support.pad import write_pad
from tests.support.program import Program
from tests.support.stores import (
    a_fabric,
    a_form,
    a_length,
    a_lens,
    a_scrap,
    a_strip,
    some_crumbs,
    some_pieces,
)


@pytest.fixture
def scrapstore(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Program:
    """The program at eighty columns, its store and settings in this test's folder."""
    monkeypatch.setenv("SCRAPSTORE_STORE", str(tmp_path / "store"))
    monkeypatch.setenv("SCRAPSTORE_CONFIG", str(tmp_path / "settings.toml"))
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("TERMINAL_WIDTH", "80")
    return Program(capsys, monkeypatch)


@pytest.fixture
def empty_store(tmp_path: Path) -> Path:
    """The folder of the store that `scrapstore` uses, made and with nothing in it."""
    with open_store(tmp_path / "store") as store:
        return store.folder


@pytest.fixture(autouse=True)
def one_process(monkeypatch: pytest.MonkeyPatch) -> None:
    """Match in this process; what worker processes do is tested where they are the matter."""
    monkeypatch.setattr("scrapstore.workers._cores", lambda: 1)


@pytest.fixture(scope="package")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a store that has one of everything, photos and a project file."""
    folder = tmp_path_factory.mktemp("furnished")
    sample = Path(__file__).parents[2] / "sample_photos" / "tea-towel-green.jpg"
    shutil.copy(sample, folder / "photo.jpg")
    shutil.copy(sample, folder / "other.jpg")
    write_pad(folder, 2, name="pad", rows=1)
    place = ("--place", "in the third basket from the left under the ticket window")
    linen = ("--fabric", "linen", "--new-fabrics")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        patch.setattr("scrapstore.workers._cores", lambda: 1)
        patch.setenv("SCRAPSTORE_STORE", str(folder / "store"))
        patch.setenv("SCRAPSTORE_CONFIG", str(folder / "settings.toml"))
        for call in (
            ("scrap", "add", "--size", "9 x 6", "--family", "blue", *place),
            ("scrap", "add", "--size", "1 x 1", "--family", "red", *place),
            ("yardage", "add", "--length", "1 yd", *linen, *place),
            ("ready", "add", "--size", "1 x 1", *place),
            ("binding", "add", "--size", "2 x 40", *place),
            ("batting", "add", "--size", "22 x 22", *place),
            ("form", "add", "--size", "18 x 18", "--count", "2", *place),
            ("zip", "add", "--length", "16", *place),
            ("plan", "keep", "pad.toml", "--name", "first"),
            ("design", "start", "squares", "squares.toml", "--rows", "2", "--columns", "3"),
            ("scrap", "add", "--size", "9 x 6", "--family", "blue", *place),
            ("plan", "keep", "pad.toml", "--name", "sewn"),
            ("cut", "sewn", "--yes"),
        ):
            patch.setattr("sys.argv", ["scrapstore", *call])
            with pytest.raises(SystemExit) as ended:
                main()
            assert not ended.value.code, call
    with open_store(folder / "store") as store, store.change("fill every field") as writer:
        fabric = writer.add_fabric(a_fabric())
        writer.add_scrap(a_scrap(fabric))
        writer.add_yardage(a_length(fabric))
        writer.add_ready_cut(some_pieces(fabric))
        writer.add_binding_strip(a_strip(fabric))
        writer.add_notion(a_form(fabric))
        writer.add_crumbs(some_crumbs(fabric))
        keep_lens(writer, a_lens())
        keep_lens(writer, replace(a_lens(), name="Other Camera, 2.20 mm, 1.78:1"))
    with open_store(folder / "store") as store:
        back_up_store(store, folder / "copy")
        store.export(folder / "store.zip")
    return folder


@pytest.fixture
def here(furnished: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A copy of that folder, and the test in it; nobody sits at a terminal."""
    shutil.copytree(furnished, tmp_path, dirs_exist_ok=True)
    monkeypatch.chdir(tmp_path)
