"""What holds for every command."""

import importlib
import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import typer

from scrapstore import __version__
from scrapstore.cli.app import COMMANDS as NAMES
from scrapstore.cli.app import build_app, command_of
from scrapstore.errors import StoreError
from scrapstore.store import Store
from tests.support.commands import CALLS, COMMANDS, Words
from tests.support.program import Program


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_every_command_has_help_and_the_shared_options(scrapstore: Program, words: Words) -> None:
    """A sentence of help within eighty columns, and --json, --store and --units."""
    said = scrapstore(*words, "--help")
    lines = said.out.splitlines()
    assert max(len(line) for line in lines) <= 80
    assert lines[2].strip().endswith((".", ",")) or lines[2].strip()
    assert not [line for line in lines if re.search(r"[<{]", line)], "the library's own notation"
    assert {"--json", "--store", "--units"} <= {word for line in lines for word in line.split()}


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("words", CALLS, ids=" ".join)
def test_json_is_one_document(
    scrapstore: Program, furnished: Path, monkeypatch: pytest.MonkeyPatch, words: Words
) -> None:
    """With --json before or after the command: the same keys, nothing else on standard output."""
    after = scrapstore(*words, *CALLS[words], "--json").json
    again = shutil.copytree(furnished, "again")
    monkeypatch.chdir(again)
    before = scrapstore("--store", "store", "--json", *words, *CALLS[words]).json
    assert isinstance(after, dict)
    assert after.keys() == before.keys()


# Their answers are a path, which is as long as it is.
ANSWERS_WITH_A_PATH = {
    *(("store", name) for name in ("backup", "restore", "export", "import")),
    ("settings", "path"),
}


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("words", CALLS, ids=" ".join)
def test_text_fits_eighty_columns(scrapstore: Program, words: Words) -> None:
    """And holds no escape codes: no meaning is in a colour alone."""
    said = scrapstore(*words, *CALLS[words], "--units", "cm")
    assert "\x1b" not in said.out
    if words not in ANSWERS_WITH_A_PATH:
        assert max(len(line) for line in said.out.splitlines()) <= 80


def test_every_command_is_called() -> None:
    """But for the demo, which takes long."""
    assert {*CALLS, ("demo",)} == set(COMMANDS)
    assert {words[0] for words in COMMANDS} == set(NAMES)


def test_one_file_for_each_command() -> None:
    """Each has its commands in an ``app``."""
    for name in NAMES:
        assert importlib.import_module(f"scrapstore.cli.{name}").app.registered_commands


@pytest.mark.usefixtures("empty_store")
def test_exit_statuses(scrapstore: Program) -> None:
    """0 done; 1 the user must act, in one sentence; 2 wrong usage."""
    assert scrapstore("--version").out == f"scrapstore {__version__}\n"
    said = scrapstore("scrap", "show", "7", status=1)
    assert said.out == ""
    assert said.err.endswith(
        "scrapstore: no scrap has the number 7; the lists show the numbers there are\n"
    )
    assert "no option --shade" in scrapstore("scrap", "list", "--shade", "blue", status=2).err
    assert "did you mean scrap?" in scrapstore("scarp", "list", status=2).err
    scrapstore("scrap", "show", "seven", status=2)
    scrapstore("scrap", "show", status=2)


def test_an_error_says_nothing_on_standard_output(scrapstore: Program) -> None:
    """With --json too: a reader of JSON gets a document or nothing."""
    said = scrapstore("scrap", "add", "--size", "9", "--json", status=2)
    assert said.out == ""
    assert said.err.startswith("scrapstore: size: '9' is not two lengths")
    assert "--corners" not in said.err
    assert "--corners" in scrapstore("scrap", "add", "--size", "0,0 5,0 5,4", status=2).err


def test_where_the_store_is_told_in_either_place(scrapstore: Program, tmp_path: Path) -> None:
    """--store before or after the command; after wins."""
    scrapstore("--store", str(tmp_path / "a"), "scrap", "add", "--size", "9 x 22")
    scrapstore("scrap", "add", "--size", "3 x 3", "--count", "2", "--store", str(tmp_path / "b"))
    found = scrapstore(
        "--store", str(tmp_path / "b"), "scrap", "list", "--store", str(tmp_path / "a"), "--json"
    )
    assert len(found.json["scraps"]) == 1
    assert not (tmp_path / "store").exists()


def test_a_new_store_is_told_on_standard_error(scrapstore: Program, tmp_path: Path) -> None:
    """Once."""
    said = scrapstore("scrap", "add", "--size", "9 x 22", "--json")
    assert said.err == f"made a new store in {tmp_path / 'store'}\n"
    assert scrapstore("scrap", "list").err == ""


def test_faults_of_the_program_are_not_dressed_up(
    scrapstore: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only what the user can put right becomes a sentence."""

    def broken(*_: object, **__: object) -> Store:
        raise ZeroDivisionError

    monkeypatch.setattr("scrapstore.store.open_store", broken)
    with pytest.raises(ZeroDivisionError):
        scrapstore("scrap", "list")

    def refused(*_: object, **__: object) -> Store:
        raise StoreError("the cat sits on it")

    monkeypatch.setattr("scrapstore.store.open_store", refused)
    assert scrapstore("scrap", "list", status=1).err == "scrapstore: the cat sits on it\n"


def test_help_imports_nothing_heavy() -> None:
    """What makes `scrapstore --help` answer at once; its time is measured in the benchmarks."""
    heavy = ["sqlalchemy", "alembic", "sklearn", "scipy", "cv2", "numpy", "shapely", "pydantic",
             "rich", "PIL", "numba", "ortools"]  # fmt: skip
    program = (
        "import sys, json\n"
        "from scrapstore.cli.app import build_app\n"
        "try:\n    build_app()(['--help'])\nexcept SystemExit:\n    pass\n"
        f"print(json.dumps(sorted(set(sys.modules) & set({heavy}))), file=sys.stderr)\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True)
    assert json.loads(done.stderr.splitlines()[-1]) == []
    assert "scrap" in done.stdout


def test_installed_entry_point_runs() -> None:
    """`python -c` of the entry point that pyproject names, in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", "from scrapstore.cli import main; main()", "--version"],
        capture_output=True,
        text=True,
    )
    assert (done.returncode, done.stdout) == (0, f"scrapstore {__version__}\n")


def test_help_lists_commands_in_the_order_of_use(scrapstore: Program) -> None:
    """As `COMMANDS` has them, and all of them."""
    listing = scrapstore("--help").out.partition("Commands:\n")[2].partition("\n\n")[0]
    names = [line.split()[0] for line in listing.splitlines() if line[:3].strip()]
    assert names == list(NAMES)


@pytest.mark.parametrize(
    ("words", "command"),
    [
        ("match star.toml --help", "match"),
        ("--store scrap --json fabric list", "fabric"),
        ("--store=scrap --units cm --set margin=1 lens list", "lens"),
        ("--help match", None),
        ("mtach star.toml scrap", None),
        ("--json", None),
        ("", None),
    ],
)
def test_only_the_command_that_runs_is_made(words: str, command: str | None) -> None:
    """A folder may be called as a command is; help and slips need all of them."""
    assert command_of(words.split()) == command


def test_options_before_the_command_that_a_value_follows() -> None:
    """`command_of` skips the values of just those."""
    program = typer.main.get_command(build_app([]))
    with_value = {
        name
        for option in program.params
        if not getattr(option, "is_flag", False) and not getattr(option, "count", False)
        for name in option.opts
    }
    for name in with_value:
        assert command_of([name, "match", "scrap"]) == "scrap"
    assert with_value >= {"--store", "--units"}
