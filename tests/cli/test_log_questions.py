"""``log`` at a terminal: what it shows, what it asks, and what becomes of the answers."""

import os
import select
import signal
import subprocess
from pathlib import Path
from typing import NoReturn

import pytest

from scrapstore.store import StockFilter, open_store
from tests.render.arrange import Options, render_scene
from tests.support.processes import LONGEST_WAIT, PROGRAM

pty = pytest.importorskip("pty", reason="Windows has no terminals to make")

pytestmark = pytest.mark.slow

SCENE = Options(scraps=3, width=2016, height=1512, camera_height=20, tilt_deg=5, k1=0.0,
                table="plain", cloths=("solid",))  # fmt: skip
PROMPT = "Keep all, none, or leave out which"


class Terminal:
    """``scrapstore log`` with somebody at the terminal, its store in `folder`."""

    def __init__(self, folder: Path, *arguments: str) -> None:
        self._ours, theirs = pty.openpty()
        settings = {"COLUMNS": "100", "SCRAPSTORE_CONFIG": str(folder / "settings.toml")}
        self._process = subprocess.Popen(
            [*PROGRAM, "--store", str(folder / "store"), "log", *arguments],
            stdin=theirs, stdout=theirs, stderr=theirs, env=os.environ | settings,
        )  # fmt: skip
        os.close(theirs)
        self._text = ""

    def answer(self, text: str) -> str:
        """Wait to be asked, answer, and return what was shown up to the question."""
        shown = self._asked()
        os.write(self._ours, text.encode())
        return shown

    def interrupt(self) -> None:
        """Wait to be asked, and press Ctrl-C until it is heard.

        A signal that lands after the question and before the line editor waits for keys is not
        looked at until something else happens.
        """
        self._asked()
        for _ in range(30):
            self._process.send_signal(signal.SIGINT)
            while (more := self._read(seconds=10.0)) is not None:
                if not more:
                    return
        self._give_up("thirty interrupts were not heard")

    def _give_up(self, why: str) -> NoReturn:
        self._process.kill()
        self._process.wait()
        pytest.fail(f"{why}: {self._text}")

    def end(self) -> tuple[int, str]:
        """Return the exit status, and what was shown after the last answer."""
        shown = self._shown_until(None)
        os.close(self._ours)
        return self._process.wait(timeout=LONGEST_WAIT), shown

    def _asked(self) -> str:
        # Only with the space after the colon does the program listen: a Ctrl-D typed earlier is
        # lost when the line editor takes over the terminal.
        shown = self._shown_until(PROMPT)
        self._shown_until("]: ")
        return shown

    def _shown_until(self, words: str | None) -> str:
        while words is None or words not in self._text:
            more = self._read(LONGEST_WAIT)
            if more is None:
                self._give_up("nothing more was shown")
            if not more:
                assert words is None, f"it ended without asking: {self._text}"
                break
        before, _, self._text = self._text.partition(words) if words else (self._text, "", "")
        return before

    def _read(self, seconds: float) -> bytes | None:
        """Take up what is shown within `seconds`; nothing: None, and no bytes at the end."""
        if not select.select([self._ours], [], [], seconds)[0]:
            return None
        try:
            more = os.read(self._ours, 4096)
        except OSError:  # how Linux says that the other side has ended
            more = b""
        self._text += more.decode(errors="replace")
        return more


@pytest.fixture(scope="module")
def photo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("photo") / "table.jpg"
    render_scene(11, SCENE).save_jpeg(path)
    return path


def stored(folder: Path) -> list[tuple[str | None, float, float, float]]:
    """Name, sides and uncertainty of each scrap in the store."""
    with open_store(folder / "store") as store, store.read() as reader:
        assert len(reader.photos()) <= 1
        return [
            (scrap.name, scrap.long_side, scrap.short_side, scrap.uncertainty)
            for scrap in reader.scraps(StockFilter(statuses=()))
        ]


def test_asked_until_it_is_understood_then_kept(tmp_path: Path, photo: Path) -> None:
    """A table and a preview first; one left out, one of a typed size, one as measured."""
    terminal = Terminal(tmp_path, str(photo), "--typed", "2: 9 x 6", "--name", "bin")
    shown = terminal.answer("perhaps\n")
    for words in (
        "table.jpg:",
        "family",
        "9 × 6 in",
        "typed",
        "Outlines and numbers are drawn in",
    ):
        assert words in shown
    assert "cannot read 'perhaps'" in terminal.answer("7\n")
    assert "there is no number 7 to leave out" in terminal.answer("1\n")
    status, shown = terminal.end()
    assert status == 0
    assert "2 logged" in shown
    (typed, measured) = stored(tmp_path)
    assert typed == ("bin", 9.0, 6.0, 0.0)
    assert measured[3] > 0
    assert list((tmp_path / "store" / "previews").glob("table-*.jpg"))


def test_notes_by_number_from_the_list_beside_it(tmp_path: Path, photo: Path) -> None:
    """Names go to the scraps of those numbers; just Enter keeps all that are offered."""
    folder = tmp_path / "photos"
    folder.mkdir()
    (folder / "table.jpg").write_bytes(photo.read_bytes())
    (folder / "scraps.toml").write_text(
        '["table.jpg"]\nmeasure = true\nleave_out = "2"\n'
        '["table.jpg".scraps.1]\nname = "first"\n["table.jpg".scraps.3]\nname = "third"\n'
    )
    terminal = Terminal(tmp_path, str(folder))
    terminal.answer("\n")
    assert terminal.end()[0] == 0
    assert [name for name, *_ in stored(tmp_path)] == ["first", "third"]


def test_none_is_an_answer(tmp_path: Path, photo: Path) -> None:
    terminal = Terminal(tmp_path, str(photo))
    terminal.answer("none\n")
    status, shown = terminal.end()
    assert (status, stored(tmp_path)) == (0, [])
    assert "0 logged" in shown


@pytest.mark.parametrize("how", ["Ctrl-C", "Ctrl-D"])
def test_an_interrupted_answer_stores_nothing(tmp_path: Path, photo: Path, how: str) -> None:
    """Not a scrap, not the photo, and it does not end as if all were well."""
    terminal = Terminal(tmp_path, str(photo))
    if how == "Ctrl-C":
        terminal.interrupt()
    else:
        terminal.answer("\x04")
    status, shown = terminal.end()
    assert status != 0
    assert "Traceback" not in shown
    assert "nothing of table.jpg was logged" in shown
    assert stored(tmp_path) == []
    with open_store(tmp_path / "store") as store, store.read() as reader:
        assert reader.photos() == ()
