"""A folder of sheets: nobody's files are overwritten or removed, and nothing is half written."""

import hashlib
import json
from pathlib import Path

import pytest

from scrapstore.errors import SheetError
from scrapstore.report.folder import LIST_NAME, check_folder, write_folder

OLD = {"index.html": "one", "scrap-1.svg": "<svg/>", "scrap-2.svg": "<svg/>"}
NEW = {"index.html": "two", "scrap-2.svg": "<svg />", "scrap-3.svg": "<svg/>"}


def held(folder: Path) -> dict[str, str]:
    """What is in the folder, but for the program's own list."""
    return {f.name: f.read_text() for f in folder.iterdir() if f.name != LIST_NAME}


def test_sheets_of_an_earlier_match_do_not_stay_behind(tmp_path: Path) -> None:
    folder = tmp_path / "new" / "sheets"
    write_folder(folder, OLD)
    (folder / "mine.txt").write_text("keep me")
    (folder / "scrap-99.svg").write_text("drawn by hand")
    written = write_folder(folder, NEW)
    assert [file.name for file in written] == list(NEW)
    assert held(folder) == {**NEW, "mine.txt": "keep me", "scrap-99.svg": "drawn by hand"}


@pytest.mark.parametrize("name", ["index.html", "scrap-3.svg"])
def test_a_foreign_file_is_never_overwritten_and_nothing_else_is_written(
    tmp_path: Path, name: str
) -> None:
    (tmp_path / name).write_text("mine")
    with pytest.raises(
        SheetError, match=rf"{name} was not written as a sheet.*name another folder"
    ):
        write_folder(tmp_path, NEW)
    assert {f.name: f.read_text() for f in tmp_path.iterdir()} == {name: "mine"}


@pytest.mark.parametrize("name", ["cutting-sheets.pdf", "templates.pdf"])
def test_a_pdf_is_a_sheet_like_any_other(tmp_path: Path, name: str) -> None:
    """Removed when the next plan has none; kept, and said so, when it is somebody's."""
    write_folder(tmp_path, {**OLD, name: b"%PDF"})
    assert (tmp_path / name).read_bytes() == b"%PDF"
    write_folder(tmp_path, NEW)
    assert not (tmp_path / name).exists()
    (tmp_path / name).write_bytes(b"mine")
    with pytest.raises(SheetError, match="was not written as a sheet"):
        write_folder(tmp_path, {**NEW, name: b"%PDF"})
    assert (tmp_path / name).read_bytes() == b"mine"


def test_a_foreign_page_is_told_before_the_search(tmp_path: Path) -> None:
    check_folder(tmp_path / "not made yet")
    write_folder(tmp_path, OLD)
    check_folder(tmp_path)
    (tmp_path / "index.html").write_text("mine")
    with pytest.raises(SheetError, match=r"index\.html was changed since.*move it away"):
        check_folder(tmp_path)


def test_a_sheet_that_was_changed_since_stays_as_it_is(tmp_path: Path) -> None:
    """Notes written into a sheet are the quilter's."""
    write_folder(tmp_path, OLD)
    (tmp_path / "scrap-2.svg").write_text("<svg>with a note</svg>")
    with pytest.raises(SheetError, match=r"scrap-2\.svg was changed since"):
        write_folder(tmp_path, NEW)
    assert held(tmp_path) == {**OLD, "scrap-2.svg": "<svg>with a note</svg>"}
    (tmp_path / "scrap-2.svg").rename(tmp_path / "noted.svg")
    (tmp_path / "scrap-1.svg").write_text("<svg>noted too</svg>")
    write_folder(tmp_path, NEW)
    assert held(tmp_path) == {
        **NEW,
        "noted.svg": "<svg>with a note</svg>",
        "scrap-1.svg": "<svg>noted too</svg>",
    }


def test_a_list_that_names_other_files_removes_none(tmp_path: Path) -> None:
    """A folder that was passed on may hold anything, also in the list."""
    folder = tmp_path / "sheets"
    write_folder(folder, OLD)
    (tmp_path / "precious").write_text("mine")
    (folder / "photo.jpg").write_text("mine")
    listed = json.loads((folder / LIST_NAME).read_text())
    mine = hashlib.sha256(b"mine").hexdigest()
    for name in ("../precious", "photo.jpg"):
        listed[name] = [mine]
    (folder / LIST_NAME).write_text(json.dumps(listed))
    write_folder(folder, {"index.html": "three"})
    assert held(folder) == {"index.html": "three", "photo.jpg": "mine"}
    assert (tmp_path / "precious").read_text() == "mine"


@pytest.mark.parametrize("text", ["", "no list", "[1, 2]", '{"index.html": 5}'])
def test_without_its_list_the_program_knows_no_file_as_its_own(tmp_path: Path, text: str) -> None:
    write_folder(tmp_path, OLD)
    (tmp_path / LIST_NAME).write_text(text)
    with pytest.raises(SheetError, match="was not written as a sheet"):
        write_folder(tmp_path, NEW)
    assert held(tmp_path) == OLD


def test_a_link_is_not_followed(tmp_path: Path) -> None:
    target = tmp_path / "elsewhere.html"
    target.write_text("mine")
    folder = tmp_path / "sheets"
    folder.mkdir()
    (folder / "index.html").symlink_to(target)
    with pytest.raises(SheetError, match="was not written as a sheet"):
        write_folder(folder, NEW)
    assert target.read_text() == "mine"


def test_a_write_that_fails_leaves_the_earlier_sheets_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk at the last of the new files."""
    write_folder(tmp_path, OLD)
    write_bytes = Path.write_bytes

    def full(self: Path, data: bytes) -> int:
        if self.name.endswith("scrap-3.svg"):
            raise OSError(28, "No space left on device")
        return write_bytes(self, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(SheetError, match=r"No space left on device.*name another"):
        write_folder(tmp_path, NEW)
    assert held(tmp_path) == OLD
    monkeypatch.undo()
    write_folder(tmp_path, NEW)
    assert held(tmp_path) == NEW


def test_a_file_in_the_place_of_the_folder_is_told(tmp_path: Path) -> None:
    (tmp_path / "sheets").write_text("mine")
    with pytest.raises(SheetError, match="cannot be written"):
        write_folder(tmp_path / "sheets", NEW)
