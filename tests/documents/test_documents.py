"""The documents say what the program does: README commands run, the reference is the program's."""

import re
import shlex
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

from scrapstore.cli.reference import reference_file, reference_text
from scrapstore.designs import make_design
from scrapstore.guide import page, topics
from scrapstore.report.design_picture import write_design
from tests.support.program import Program

TOP = Path(__file__).parents[2]
README = (TOP / "README.md").read_text(encoding="utf-8")


def tour() -> list[list[str]]:
    """Return the words of every command of the README's tour, in order."""
    blocks = re.findall(r"<!-- tour -->\n```sh\n(.*?)```", README, re.DOTALL)
    return [shlex.split(line) for block in blocks for line in block.strip().splitlines()]


def test_the_command_reference_is_what_the_program_says() -> None:
    """If this fails: python -m scrapstore.cli.reference."""
    assert reference_file().read_text(encoding="utf-8") == reference_text()


def test_the_command_reference_leaves_out_what_only_old_habits_find() -> None:
    assert "plan release" in reference_text()
    assert "plan drop" not in reference_text()
    assert "`--apply`" in reference_text()
    assert "`--keep`" not in reference_text()


@pytest.mark.slow
def test_the_commands_of_the_readme_run_in_order(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """In this process; that commands start by themselves is tested elsewhere."""
    shutil.copytree(TOP / "sample_photos", tmp_path / "sample_photos")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SCRAPSTORE_CONFIG", str(tmp_path / "settings.toml"))
    monkeypatch.setattr("scrapstore.workers._cores", lambda: 1)
    scrapstore = Program(capsys, monkeypatch)
    commands = tour()
    assert len(commands) > 8
    for words in commands:
        assert words[0] == "scrapstore"
        scrapstore(*words[1:])
    assert (tmp_path / "tour-sheets" / "index.html").stat().st_size > 10_000


def test_every_page_of_the_guide_has_a_title_and_no_broken_link() -> None:
    assert {"colours", "commands", "logging", "projects", "sheets", "store"} <= dict(
        topics()
    ).keys()
    names = dict(topics())
    for topic, title in topics():
        text = page(topic)
        assert text is not None
        assert text.startswith(f"# {title}\n")
        for target in re.findall(r"\]\(([a-z-]+)\.md\)", text):
            assert target in names, f"{topic}: {target}"


def test_files_that_the_readme_names_are_there() -> None:
    links = re.findall(r"\]\(([^)#:]+)\)", README)
    assert links
    for link in links:
        assert (TOP / link).is_file(), link


def test_the_top_level_holds_what_belongs_there() -> None:
    listed = subprocess.run(
        ["git", "ls-files"], cwd=TOP, capture_output=True, text=True, check=False
    ).stdout.split("\n")
    if not any(listed):
        pytest.skip("not a git checkout")
    seen = {name.split("/")[0] for name in listed if name}
    belongs = {"README.md", "DEVELOPERS.md", "pyproject.toml", "scrapstore", "migrations", "tests",
               "sample_photos"}  # fmt: skip
    assert {name for name in seen if not name.startswith(".")} <= belongs


@pytest.mark.parametrize(
    ("name", "asked"),
    [
        ("star", {}),
        ("eight-point-star", {"a_side": 2, "fill": "split"}),
        ("half-squares", {"layout": "concentric", "border": 1.5, "border_corners": "mitred"}),
    ],
)
def test_pictures_of_designs_are_what_the_program_draws(
    name: str, asked: dict[str, Any], tmp_path: Path
) -> None:
    """If this fails: scrapstore design show NAME … --picture scrapstore/guide/design-NAME.svg."""
    star = make_design(name, size=18, seam=1 / 4, mark=1 / 8, **asked)
    drawn = write_design(star, tmp_path / "drawn.svg")
    kept = TOP / "scrapstore" / "guide" / f"design-{name}.svg"
    assert drawn.read_bytes() == kept.read_bytes()
