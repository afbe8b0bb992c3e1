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
    roots = (PACKAGE, PACKAGE / "photo", PACKAGE / "store", PACKAGE.parent)
    assert [name for name in sorted(named) if not any((r / name).is_file() for r in roots)] == []


def test_actions_hold_what_commands_call_and_no_helpers() -> None:
    """A helper lives in the room of its subject; who adds one to `actions` is told here."""
    called = set[str]().union(*(_imported(file) for file in (PACKAGE / "cli").glob("*.py")))
    actions = {file.stem for file in (PACKAGE / "actions").glob("[a-z]*.py")}
    assert actions
    assert [name for name in sorted(actions) if f"scrapstore.actions.{name}" not in called] == []
