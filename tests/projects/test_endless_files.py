"""Files without end: refused at once, by project, settings and list of photos alike."""

import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from scrapstore.errors import ProjectError, ScrapstoreError, SettingsError, StoreError
from scrapstore.projects import load_project, read_project
from scrapstore.settings import Settings, load_settings, overridden, save_setting
from scrapstore.stock_entry.size_list import read_size_list
from scrapstore.toml_files import NotTomlError, parsed_toml

READERS: list[tuple[Callable[[Path], Any], type[ScrapstoreError]]] = [
    (load_project, ProjectError),
    (load_settings, SettingsError),
    (lambda file: save_setting("margin", "1/4", file), SettingsError),
    (lambda file: read_size_list(file, Settings()), StoreError),
]
TEXTS = {
    "3,000 dotted keys": ".".join("a" * 3000) + " = 1",
    "3,000 keys in a table's name": f"[{'.'.join('a' * 3000)}]\nb = 1",
    "3,000 lists": f"a = {'[' * 3000}{']' * 3000}",
    "5,001 digits": f"format = {'9' * 5001}",
    "5,001 digits in a list": f"a = [1, {'9' * 5001}]",
}


@pytest.mark.parametrize(("read", "error"), READERS)
@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS)
def test_endless_toml(
    tmp_path: Path, text: str, read: Callable[[Path], Any], error: type[ScrapstoreError]
) -> None:
    file = tmp_path / "file.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(error, match=r"file\.toml, line 1: .*: (nested|a number)") as told:
        read(file)
    assert len(str(told.value)) < 400


@pytest.mark.skipif(sys.platform == "win32", reason="no pipes with names, no devices in folders")
@pytest.mark.parametrize(("read", "error"), READERS)
@pytest.mark.parametrize("what", ["pipe", "device", "folder", "long"])
def test_what_is_no_text_file(
    tmp_path: Path, what: str, read: Callable[[Path], Any], error: type[ScrapstoreError]
) -> None:
    file = tmp_path / "file.toml"
    if what == "pipe":
        os.mkfifo(file)
    elif what == "device":
        file.symlink_to("/dev/zero")
    elif what == "folder":
        file.mkdir()
    else:
        file.write_text(f"a = '{'x' * 1_000_000}'")
    with pytest.raises(error, match=r"file\.toml: it (is|has).*name (a text|another) file"):
        read(file)


def test_numbers_and_levels_that_are_enough() -> None:
    assert parsed_toml(f"a = {'[' * 19}{']' * 19}")
    with pytest.raises(NotTomlError, match="nested"):
        parsed_toml(f"a = {'[' * 20}{']' * 20}")
    assert parsed_toml(f"a = {'9' * 4000}")


def project(kinds: int, count: int) -> str:
    piece = '[[pieces]]\nname = "p{}"\nshape = "square"\nside = "2"\ncount = {}\nrole = "top"\n'
    pieces = "".join(piece.format(number, count) for number in range(kinds))
    return f'format = 1\nname = "Pad"\n[roles.top]\n{pieces}'


def test_more_than_anyone_can_sew() -> None:
    assert len(read_project(project(500, 40)).pieces) == 500
    with pytest.raises(ProjectError, match=r"from 1 to 500 of them"):
        read_project(project(501, 1))
    with pytest.raises(ProjectError, match=r"20,500 pieces in all are too many; .* 20,000"):
        read_project(project(500, 41))


@pytest.mark.parametrize("name", ['"\\u001b[31mred"', '"a\\u0000b"', '"a\\u202eb"'])
def test_names_that_are_no_letters(name: str) -> None:
    with pytest.raises(ProjectError) as told:
        read_project(project(1, 1).replace('"Pad"', name))
    assert "line 2, name" in str(told.value)
    assert "\x1b" not in str(told.value)


@pytest.mark.parametrize("step", ["0.00001", "1/128", "0.1 mm"])
def test_a_ruler_nobody_has(step: str) -> None:
    with pytest.raises(SettingsError, match=r"ruler_step.*from 1/64 to 1 in"):
        overridden(Settings(), {"ruler_step": step})
    assert overridden(Settings(), {"ruler_step": "1/64"}).ruler_step == 1 / 64
    assert overridden(Settings(), {"ruler_step": "0.5 mm"}).ruler_step < 0.02


def test_the_null_device_is_an_empty_file() -> None:
    assert load_settings(Path(os.devnull)) == Settings()


def test_settings_of_nobody(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SCRAPSTORE_CONFIG", "~nobody-of-that-name/settings.toml")
    with pytest.raises(SettingsError, match="there is no such user"):
        load_settings()
