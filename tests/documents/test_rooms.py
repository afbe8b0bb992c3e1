"""The developers' page names files that are there, and `actions` holds what commands call."""

import ast
import re
from pathlib import Path

import scrapstore

PACKAGE = Path(scrapstore.__file__).parent
DEVELOPERS = PACKAGE.parent / "DEVELOPERS.md"


def _imported(file: Path) -> set[str]:
    """Return the dotted names of modules that a file imports, also inside functions."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{name.name}" for name in node.names)}
        elif isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
    return found


def test_every_file_that_the_developers_page_names_is_there() -> None:
    named = set(re.findall(r"`((?:[a-z_]+/)*[a-z_]+\.py)`", DEVELOPERS.read_text(encoding="utf-8")))
    assert len(named) > 40
    there = [f"/{file.as_posix()}" for file in PACKAGE.parent.rglob("*.py")]
    missing = [n for n in sorted(named) if not any(one.endswith(f"/{n}") for one in there)]
    assert missing == []


def test_each_action_is_a_command_that_calls_it_and_no_helper_stands_beside_them() -> None:
    """A helper lives in the room of its subject."""
    called = {file.stem: _imported(file) for file in (PACKAGE / "cli").glob("*.py")}
    actions = sorted(file.stem for file in (PACKAGE / "actions").glob("[a-z]*.py"))
    assert "match" in actions
    uncalled = [
        name for name in actions if f"scrapstore.actions.{name}" not in called.get(name, ())
    ]
    # The command hands its options to one file for both commands that match.
    assert uncalled == ["match"]
    assert "scrapstore.actions.match" in called["match_options"]


def test_no_two_public_classes_have_one_name() -> None:
    named: dict[str, list[str]] = {}
    for file in PACKAGE.rglob("*.py"):
        for node in ast.parse(file.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                named.setdefault(node.name, []).append(file.relative_to(PACKAGE).as_posix())
    assert len(named) > 200
    assert {name: files for name, files in named.items() if len(files) > 1} == {}
