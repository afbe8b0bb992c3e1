"""Small words: what is said of nothing, of several, of lengths of fabric and of typed figures."""

from pathlib import Path

import pytest
from shapely import box

from scrapstore.store import NewFabric, NewScrap, NewYardage, open_store
from tests.support.pad import write_pad
from tests.support.program import Program


@pytest.fixture
def pad(tmp_path: Path) -> str:
    """A project of sixteen squares, and a store with one scrap and 4 in of linen for it."""
    with open_store(tmp_path / "store") as store, store.change("test") as writer:
        linen = writer.add_fabric(NewFabric(name="linen", usable_width=40.0))
        writer.add_yardage(NewYardage(fabric=linen, length=4.0))
        writer.add_scrap(NewScrap(outline=box(0, 0, 3, 3)))
    return str(write_pad(tmp_path, 16, top='seam_allowance = "0.75 cm"'))


@pytest.mark.parametrize(
    ("command", "adds"),
    [
        ("scrap list", "scrap add"),
        ("yardage list", "yardage add"),
        ("ready list", "ready add"),
        ("binding list", "binding add"),
        ("fabric list", "fabric add"),
        ("plan list", "plan keep"),
        ("lens list", "log"),
        ("piles 3", "scrap add"),
        ("families", "scrap add"),
        ("families --scraps", "scrap add"),
        ("history", "scrap add"),
    ],
)
@pytest.mark.usefixtures("empty_store")
def test_a_list_of_nothing_is_a_sentence_that_names_a_command(
    scrapstore: Program, command: str, adds: str
) -> None:
    said = " ".join(scrapstore(*command.split()).out.split())
    assert "─" not in said
    assert adds in said
    assert said.endswith(".")


def test_an_area_is_told_without_in_twice(scrapstore: Program) -> None:
    scrapstore("scrap", "add", "--size", "9 x 6", "--family", "blue")
    for command in ("scrap list", "families"):
        said = scrapstore(*command.split()).out
        assert "1 scrap, together 54 sq in\n" in said


def test_the_history_tells_lengths_that_a_plan_takes(scrapstore: Program, pad: str) -> None:
    scrapstore("plan", "keep", pad, "--name", "one")
    scrapstore("plan", "release", "one")
    scrapstore("plan", "keep", pad, "--name", "two")
    scrapstore("cut", "two", "--yes")
    scrapstore("plan", "done", "two")
    told = [" ".join(line.split()[3:]) for line in scrapstore("history").out.splitlines()[2:]]
    kept = told.index("Kept plan 'two': scrap 1 and length 1")
    assert any(line.startswith("Closed plan 'two'") for line in told[:kept])
    assert told[kept : kept + 3] == [
        "Kept plan 'two': scrap 1 and length 1",
        "Released plan 'one': scrap 1 and length 1",
        "Kept plan 'one': scrap 1 and length 1",
    ]


def test_a_length_that_a_plan_used_up_does_not_come_back_whole(
    scrapstore: Program, pad: str, tmp_path: Path
) -> None:
    """Fifteen squares of 2.59 in are a strip of 2 5/8 in; an inch goes to squaring up."""
    scrapstore("yardage", "edit", "1", "--length", "3 11/16")
    scrapstore("plan", "keep", pad)
    scrapstore("cut", "1", "--yes")
    assert scrapstore("yardage", "show", "1", "--json").json["yardage"][0]["status"] == "used up"
    scrapstore("yardage", "edit", "1", "--place", "tin")
    for command in (("reinstate", "1"), ("edit", "1", "--status", "available")):
        said = scrapstore("yardage", *command, status=1)
        assert "length 1 was used up by a plan" in said.err
        assert "yardage edit 1 --length LENGTH --status available" in said.err
    scrapstore("yardage", "edit", "1", "--length", "1", "--status", "available")
    scrapstore("yardage", "retire", "1")
    scrapstore("yardage", "reinstate", "1")
    assert scrapstore("yardage", "show", "1", "--json").json["yardage"][0]["length"] == 1.0


def test_the_seam_allowance_is_told_as_it_was_typed(
    scrapstore: Program, tmp_path: Path, pad: str
) -> None:
    for units, seam, told in (
        ("cm", "0.75 cm", "0.75 cm"), ("in", "0.75 cm", "0.75 cm"), ("cm", "1/4 in", "1/4 in"),
        ("in", "1/4", "1/4 in"), ("cm", "6 mm", "0.6 cm"), ("in", "0.3 in", "0.3 in"),
    ):  # fmt: skip
        write_pad(tmp_path, 16, top=f'seam_allowance = "{seam}"')
        scrapstore("--units", units, "match", pad, "--sheets", str(tmp_path / "sheets"))
        page = (tmp_path / "sheets" / "index.html").read_text(encoding="utf-8")
        assert f"<p>seam allowance {told}</p>" in page
