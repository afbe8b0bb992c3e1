"""A program with a store and settings of its own for each test."""

from pathlib import Path

import pytest

from scrapstore.store import open_store
from tests.support.program import Program


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
