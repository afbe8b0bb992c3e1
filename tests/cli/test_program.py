"""What holds for every command."""

import importlib
import json
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
import typer

from scrapstore import __version__
from scrapstore.cli.app import COMMANDS, build_app, command_of
from scrapstore.errors import StoreError
from scrapstore.store import Store, keep_lens, open_store
from tests.support.program import Program
from tests.support.stores import a_fabric, a_length, a_lens, a_photo, a_scrap, a_strip, some_pieces


def _all_commands() -> Iterator[tuple[str, ...]]:
    """Every command of the program by its words, such as (scrap, add)."""

    def walk(command: object, words: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
        inner = getattr(command, "commands", None)
        if inner is None:
            yield words
        else:
            for name, one in inner.items():
                yield from walk(one, (*words, name))

    yield from walk(typer.main.get_command(build_app()), ())


EVERY_COMMAND = tuple(_all_commands())


@pytest.mark.parametrize("words", EVERY_COMMAND, ids=" ".join)
def test_every_command_has_help_and_the_shared_options(
    scrapstore: Program, words: tuple[str, ...]
) -> None:
    """A sentence of help within eighty columns, and --json, --store and --units."""
    said = scrapstore(*words, "--help")
    lines = said.out.splitlines()
    assert max(len(line) for line in lines) <= 80
    assert lines[2].strip().endswith((".", ",")) or lines[2].strip()
    assert {"--json", "--store", "--units"} <= {word for line in lines for word in line.split()}


# Every command once, on a store with one of everything; `status` 0.
CALLS: dict[tuple[str, ...], tuple[str, ...]] = {
    ("scrap", "add"): ("--size", "9 x 22"),
    ("scrap", "list"): (),
    ("scrap", "show"): ("1",),
    ("scrap", "edit"): ("1", "--place", "bin 2"),
    ("scrap", "retire"): ("1",),
    ("scrap", "reinstate"): ("1",),
    ("fabric", "add"): ("Deck stripe",),
    ("fabric", "list"): (),
    ("fabric", "show"): ("Navy dot",),
    ("fabric", "edit"): ("Navy dot", "--washed"),
    ("fabric", "retire"): ("Navy dot",),
    ("fabric", "reinstate"): ("Navy dot",),
    ("yardage", "add"): ("--fabric", "Navy dot", "--length", "1/2 yd"),
    ("yardage", "list"): (),
    ("yardage", "show"): ("1",),
    ("yardage", "edit"): ("1", "--length", "9"),
    ("yardage", "retire"): ("1",),
    ("yardage", "reinstate"): ("1",),
    ("ready", "add"): ("--count", "12", "--size", "5 x 5"),
    ("ready", "list"): (),
    ("ready", "show"): ("1",),
    ("ready", "edit"): ("1", "--count", "9"),
    ("ready", "retire"): ("1",),
    ("ready", "reinstate"): ("1",),
    ("binding", "add"): ("--size", "2 1/2 x 40"),
    ("binding", "list"): (),
    ("binding", "show"): ("1",),
    ("binding", "edit"): ("1", "--end", "/"),
    ("binding", "retire"): ("1",),
    ("binding", "reinstate"): ("1",),
    ("lens", "list"): (),
    ("lens", "forget"): ("1",),
    ("history",): (),
    ("store", "info"): (),
    ("store", "backup"): (),
    ("settings", "show"): (),
    ("settings", "set"): ("margin", "1/4"),
    ("settings", "path"): (),
}


@pytest.mark.parametrize("words", CALLS, ids=" ".join)
def test_json_is_one_document(
    scrapstore: Program, filled: Path, tmp_path: Path, words: tuple[str, ...]
) -> None:
    """With --json before or after the command: the same keys, nothing else on standard output."""
    shutil.copytree(filled, tmp_path / "store")
    after = scrapstore(*words, *CALLS[words], "--json").json
    # What is added or let go once is not there to be added or let go again.
    once: dict[tuple[str, ...], tuple[str, ...]] = {
        ("fabric", "add"): ("Other",),
        ("lens", "forget"): ("2",),
    }
    others = once.get(words, CALLS[words])
    before = scrapstore("--json", *words, *others).json
    assert isinstance(after, dict)
    assert after.keys() == before.keys()


@pytest.mark.parametrize("words", CALLS, ids=" ".join)
def test_text_fits_eighty_columns(
    scrapstore: Program, filled: Path, tmp_path: Path, words: tuple[str, ...]
) -> None:
    """And holds no escape codes: nothing is told by colour."""
    shutil.copytree(filled, tmp_path / "store")
    said = scrapstore(*words, *CALLS[words], "--units", "cm")
    assert "\x1b" not in said.out
    if words not in {("store", "backup"), ("settings", "path")}:  # they answer with a path
        assert max(len(line) for line in said.out.splitlines()) <= 80


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with one of everything, with long names."""
    folder = tmp_path_factory.mktemp("filled")
    long = "in the third basket from the left under the ticket window"
    with open_store(folder) as store, store.change("fill") as writer:
        fabric = writer.add_fabric(a_fabric())
        name = store.keep_photo(b"picture", ".jpg")
        photo = writer.add_photo(replace(a_photo(), file_name=name))
        writer.add_scrap(replace(a_scrap(fabric), place=long))
        writer.add_yardage(replace(a_length(fabric), place=long))
        writer.add_ready_cut(replace(some_pieces(fabric), place=long))
        writer.add_binding_strip(replace(a_strip(fabric), place=long))
        keep_lens(writer, a_lens(photo))
        keep_lens(writer, replace(a_lens(), name="Other Camera, 2.20 mm, 1.78:1"))
    return folder


def test_each_of_our_commands_is_called_above() -> None:
    """A command added to one of these modules is called here too."""
    ours = {
        "scrap",
        "fabric",
        "yardage",
        "ready",
        "binding",
        "history",
        "store",
        "settings",
        "lens",
    }
    assert {words for words in EVERY_COMMAND if words[0] in ours} == set(CALLS)
    assert {words[0] for words in EVERY_COMMAND} == set(COMMANDS)


def test_one_file_for_each_command() -> None:
    """Each has its commands in an ``app``."""
    for name in COMMANDS:
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
    """As COMMANDS has them, and all of them."""
    listing = scrapstore("--help").out.partition("Commands:\n")[2].partition("\n\n")[0]
    names = [line.split()[0] for line in listing.splitlines() if line[:3].strip()]
    assert names == list(COMMANDS)


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
