"""``finish`` of a project file or a kept plan."""

import re
import shutil
from contextlib import nullcontext
from dataclasses import replace
from pathlib import Path

import pytest
from shapely import box

from scrapstore.actions.finish import BindingAsked, TopAsked, keep_strips, plan_finish
from scrapstore.actions.match import match_project
from scrapstore.actions.plan import project_or_plan
from scrapstore.errors import PlanError
from scrapstore.planning.finish_needs import project_sizes
from scrapstore.settings import Settings
from scrapstore.store import NewBindingStrip, NewNotion, NewScrap, StockFilter, open_store
from tests.support.kept_plans import keep
from tests.support.pad import write_pad
from tests.support.pdf_reading import page_words
from tests.support.program import Program

CUSHION = """[cushion]
width = "6"
height = "6"
[quilting]
[back]
kind = "envelope"
overlap = "2"
"""
BOUND = f'{CUSHION}[binding]\nstrip_width = "2 1/4"\n'


def _words(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a store that keeps the plan of a bound cushion of nine squares.

    Its back comes from scraps 2 and 3.
    """
    folder = tmp_path_factory.mktemp("kept")
    file = write_pad(folder, 9, top=BOUND)
    with open_store(folder / "store") as store:
        with store.change("test") as writer:
            for width, height in ((9, 9), (5, 7), (5, 7)):
                writer.add_scrap(NewScrap(outline=box(0, 0, width, height)))
            for length in (30.0, 12.0):
                writer.add_binding_strip(NewBindingStrip(width=2.25, length=length))
            writer.add_notion(NewNotion(kind="form", width=7, length=7, place="shelf"))
            writer.add_notion(NewNotion(kind="batting", width=6, length=12, count=2))
        keep(store, match_project(store, file, settings=Settings(), why=False), "bench")
    return folder


@pytest.fixture
def bench(kept: Path, scrapstore: Program, tmp_path: Path) -> Path:
    """A copy of that store for `scrapstore`; the project file."""
    shutil.copytree(kept, tmp_path, dirs_exist_ok=True)
    return tmp_path / "Bench-pad.toml"


@pytest.mark.usefixtures("bench")
def test_the_first_lines_of_a_kept_plan(scrapstore: Program) -> None:
    """What to measure, whether the binding reaches, where the back comes from."""
    said = _words(scrapstore("finish", "bench").out)
    expected = [
        "Measure the quilted top now (planned 6 1/2 × 6 1/2 in): finish bench --measured 'W x H'.",
        "Trim it to 6 1/2 × 6 1/2 in: 1/4 in outside the outermost points.",
        "The binding reaches 37.50 and needs 26.00 in: 11.50 to spare.",
        "Back left and back right, each 4 3/4 × 6 1/2 in: from scraps 2 and 3.",
        "Hemmed they overlap by 2 in.",
        "Form: 7 × 7 in suits it; form 1 (shelf) is 7 × 7 in, 1 in larger than the pocket.",
        "Batting: 10 1/2 × 10 1/2 in; two of batting 2 will do: butt the edges",
    ]
    places = [said.find(one) for one in expected]
    assert -1 not in places, expected[places.index(-1)]
    assert places == sorted(places)


@pytest.mark.usefixtures("bench")
def test_after_cutting_the_back_is_among_the_ready_cut_pieces(scrapstore: Program) -> None:
    """B is the left piece, from one of scraps 2 and 3; the right one is spoilt."""
    scrapstore("cut", "bench", "--yes", "--spoilt", "C1")
    back = scrapstore("finish", "bench", "--json").json["top"]["back"]
    assert (back["scraps"], back["lost"], len(back["ready"])) == ([], ["C1"], 1)
    said = _words(scrapstore("finish", "bench").out)
    assert "C1 spoilt or not cut, to be cut once more." in said


@pytest.mark.usefixtures("bench")
def test_joins_keep_off_the_hems_of_the_back(scrapstore: Program) -> None:
    """2 in in the middle of sides 1 and 3, which are 6 1/2 in."""
    found = scrapstore("finish", "bench", "--json").json
    (first, second) = found["binding"]["hems"]
    assert [*first, *second] == pytest.approx([2.25, 4.25, 15.25, 17.25])
    assert found["binding"]["hem_clearance"] > 2
    assert found["top"]["back"]["scraps"] == [2, 3]
    assert found["top"]["form"] == 1
    assert found["top"]["plan"] == "bench"


def test_a_measured_top_is_worked_with(scrapstore: Program, bench: Path) -> None:
    said = _words(scrapstore("finish", str(bench), "--measured", "6 1/4 x 6 1/8").out)
    assert said.startswith("Measured 6 1/4 × 6 1/8 in (planned 6 1/2 × 6 1/2 in).")
    assert "needs 24.75 in" in said
    assert "cut with the top's pieces (match" in said
    trimmed = _words(scrapstore("finish", "bench", "--trim", "6 1/4 x 6 1/4").out)
    assert "This cuts the points: the seam of 1/4 in lies 1/8 in inside them." in trimmed
    assert (
        "larger than the quilted top"
        in scrapstore("finish", "bench", "--trim", "9 x 9", status=2).err
    )


def test_a_turned_cover_has_no_binding(scrapstore: Program, tmp_path: Path) -> None:
    """Its pocket is what its seams leave: 6 1/2 less twice 1/2."""
    file = write_pad(tmp_path, 9, top=CUSHION + 'seam = "1/2"\n')
    scrapstore("scrap", "add", "--size", "9 x 9")
    found = scrapstore("finish", str(file), "--json").json
    assert found["binding"] is None
    assert found["top"]["pocket"]["measures"] == pytest.approx([5.5, 5.5])
    said = _words(scrapstore("finish", str(file)).out)
    assert "the seam of 1/2 in lies 1/4 in inside them. Even untrimmed it lacks 1/4 in" in said
    for binding in (("--start", "1, 3"), ("--bias",)):
        assert "this cover is turned" in scrapstore("finish", str(file), *binding, status=2).err


@pytest.mark.usefixtures("bench")
def test_strips_are_set_aside_used_up_and_taken_back(scrapstore: Program) -> None:
    """By hand: of the strip of 30 in, crossed with itself, 27 3/4 reach, so 1 3/4 come off."""
    kept = scrapstore("finish", "bench", "--set-aside")
    assert "Set aside for 'bench': binding strip 1." in kept.err
    assert "binding strip 1" in scrapstore("plan", "show", "bench").out
    listed = scrapstore("binding", "list", "--json").json["binding"]
    assert [strip["id"] for strip in listed] == [2]
    again = scrapstore("finish", "bench", "--json").json["binding"]
    assert [strip["strip"] for strip in again["strips"]] == [1]
    before = scrapstore("store", "info").out
    said = scrapstore("finish", "bench", "--done").out
    assert _words(said) == (
        "Used up for 'bench': binding strip 1. Left of them, and in the store: 3 (1 3/4 in)."
    )
    assert scrapstore("binding", "show", "3", "--json").json["binding"][0][
        "length"
    ] == pytest.approx(1.75)
    scrapstore("undo", "--yes")
    listed = scrapstore("binding", "list", "--json").json["binding"]
    assert [strip["id"] for strip in listed] == [2]
    assert "binding strip 1" in scrapstore("plan", "show", "bench").out
    assert "whole" in before
    scrapstore("plan", "release", "bench")
    assert "no kept plan is called" in scrapstore("finish", "bench", "--done", status=1).err


def test_without_strips_set_aside_nothing_is_used_up(scrapstore: Program, bench: Path) -> None:
    assert "holds no binding strips" in scrapstore("finish", "bench", "--done", status=1).err
    assert (
        "plan keep PROJECT makes one"
        in scrapstore("finish", str(bench), "--set-aside", status=1).err
    )
    assert (
        "strips that reach"
        in scrapstore("finish", "bench", "--set-aside", "--strip", "2", status=1).err
    )
    assert "name the kept plan" in scrapstore("finish", "--done", status=2).err


@pytest.mark.usefixtures("bench")
@pytest.mark.parametrize(
    "option", [("--strip", "2"), ("--size", "18 x 18"), ("--clearance", "2 in"), ("--bias",),
               ("--set-aside",), ("--fabric", "ticking"), ("--sheet", "work.html")],
)  # fmt: skip
def test_done_refuses_what_it_would_pass_over(scrapstore: Program, option: tuple[str, ...]) -> None:
    """Else strip 2 would be thought used up, or a sheet written; --json and --units it heeds."""
    said = scrapstore("finish", "bench", "--done", *option, status=2).err
    assert f"leave out {option[0]}" in said
    assert "holds no binding strips" in (
        scrapstore("finish", "bench", "--done", "--json", "--units", "cm", status=1).err
    )


@pytest.mark.usefixtures("bench")
def test_a_start_is_rated(scrapstore: Program) -> None:
    said = _words(scrapstore("finish", "bench", "--start", "side 2, 0").out)
    assert "Start 6 1/2 in after corner 1: there the ends meet." in said
    assert "Better: start" in said
    assert "A join comes as near as 0 in to a corner or a lapped hem: you asked for 2 in." in said
    over = _words(scrapstore("finish", "bench", "--start", "side 1, 3").out)
    assert "or to a lapped hem than 0 in" in over
    best = scrapstore("finish", "bench", "--json").json["binding"]["joins"][0]["at"]
    side, along = divmod(best, 6.5)
    same = scrapstore("finish", "bench", "--start", f"{side + 1:.0f}, {along}").out
    assert "No better start was found." in same


def test_strips_that_lack_come_from_lengths_too(scrapstore: Program, tmp_path: Path) -> None:
    file = write_pad(tmp_path, 9, top=BOUND)
    scrapstore("yardage", "add", "--fabric", "calico", "--new-fabrics", "--length", "5")
    said = _words(scrapstore("finish", str(file)).out)
    # 26 in and a width of 2 1/4: one strip, crossed with itself.
    assert "Cut one strip, 2 1/4 in wide, 28 1/4 in or longer, square ends." in said
    assert "Length 1, calico, gives it across the width: takes 2 1/4 in of it." in said
    bias = _words(scrapstore("finish", str(file), "--bias").out)
    assert "square ends, on the bias." in bias
    assert "on the bias: takes" not in bias  # 5 in of length are too short for that


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (("bench", "--size", "9 x 9"), "name a project file or a kept plan, or give"),
        (("--size", "9 x 9", "--measured", "9 x 9"), "go with a project"),
        (("--size", "9 x 9", "--start", "side 5, 3"), "there is no side 5"),
        (("--size", "9 x 9", "--start", "left"), "write the side and how far"),
        (("--size", "9 x 9", "--start", "1, 12"), "side 1 is 9 in long"),
        (("bench", "--measured", "9"), "width and height"),
    ],
)
@pytest.mark.usefixtures("bench")
def test_slips(scrapstore: Program, typed: tuple[str, ...], said: str) -> None:
    assert said in scrapstore("finish", *typed, status=2).err


def test_story_c_from_its_design_to_the_binding(scrapstore: Program, tmp_path: Path) -> None:
    """A star of finished height 1 1/2, three a side, filled with split triangles."""
    file = tmp_path / "star.toml"
    scrapstore("design", "start", "star", str(file), "--piece", "1 1/2")
    text = file.read_text(encoding="utf-8")
    file.write_text(f"{text}\n[binding]\n", encoding="utf-8")
    scrapstore("binding", "add", "--size", "2 1/4 x 30", "--count", "2")
    short = scrapstore("finish", str(file), "--json").json
    assert short["top"]["trimmed"]["sides"] == pytest.approx([9.2887] * 6, abs=5e-5)
    assert short["top"]["trimmed"]["measures"] == pytest.approx([16.0885], abs=5e-5)
    assert short["binding"]["needed"] == pytest.approx(55.7321, abs=5e-5)
    assert short["binding"]["stops"] == pytest.approx([0.1443] * 6, abs=5e-5)
    assert (short["binding"]["available"], short["top"]["cut_points"]) == (55.5, 0)
    assert short["binding"]["short"] == pytest.approx(0.2321, abs=5e-5)
    scrapstore("binding", "edit", "1-2", "--size", "2 1/4 x 31")
    found = scrapstore("finish", str(file), "--json").json["binding"]
    assert found["available"] == 57.5
    assert found["spare"] == pytest.approx(1.7679, abs=5e-5)
    assert [strip["taken_off"] for strip in found["strips"]] == pytest.approx(
        [0.8840] * 2, abs=5e-5
    )
    assert found["clearance"] == pytest.approx(4.6443, abs=5e-5)
    said = _words(scrapstore("finish", str(file), "--measured", "16").out)
    assert "Measured 16 in from side 1 to side 4 (planned about 16 1/16 in" in said


@pytest.mark.usefixtures("bench")
@pytest.mark.parametrize("name", ["work.html", "work.pdf"])
def test_a_sheet_with_the_order_of_work(scrapstore: Program, tmp_path: Path, name: str) -> None:
    file = tmp_path / name
    said = scrapstore("finish", "bench", "--sheet", str(file))
    assert f"Sheet: {file}" in said.err
    if name.endswith("html"):
        page = file.read_text(encoding="utf-8")
        text = _words(re.sub(r"<[^>]+>", " ", page))
    else:
        text = " ".join(page_words(file))
    for words in (
        "from scraps 2 and 3",
        "fold 1/4 in, fold 1/4 in again, press, top-stitch",
        "baste it on 1/8 in from the edge with 4.0 mm stitches",
        "and 2.5 mm stitches",
        "A rotary cutter is a razor",
        "do not belong near small children",
        "start and end",
    ):
        assert words in text, words


def test_a_sheet_of_another_kind(scrapstore: Program, bench: Path) -> None:
    said = scrapstore("finish", str(bench), "--sheet", "work.doc", status=2)
    assert "end it with .html or .pdf" in said.err


def test_a_strip_that_was_changed_meanwhile_is_not_set_aside(bench: Path) -> None:
    """What is left of it would be another length."""
    settings = Settings()
    with open_store(bench.parent / "store") as store:
        named = project_or_plan(lambda: nullcontext(store), "bench", settings)
        sizes = project_sizes(named.project, settings)
        asked = BindingAsked(outline=sizes.trimmed, seam=0.25, finished_width=0.25, clearance=2,
                             strip_width=2.25)  # fmt: skip
        top = TopAsked(project=named.project, named=named, sizes=sizes)
        seen = plan_finish(store, asked, top, StockFilter(), (), settings)
        with store.change("edit") as writer:
            writer.update_binding_strip(replace(writer.binding_strip(1), length=29.0))
        with pytest.raises(PlanError, match="changed meanwhile"):
            keep_strips(store, seen, settings)
        with store.read() as reader:
            assert reader.binding_strip(1).status == "available"


STORY_A = """[cushion]
width = "18"
height = "18"
[quilting]
[back]
kind = "envelope"
[binding]
"""


def test_story_a_at_the_mat(scrapstore: Program, tmp_path: Path) -> None:
    """What to measure, that the binding is short and what gives the rest, where the back is from.

    A top of 18 1/2, trimmed to 18 x 18 through its points.
    """
    file = tmp_path / "cushion.toml"
    pad = write_pad(tmp_path, 9, top=STORY_A).read_text(encoding="utf-8")
    file.write_text(pad.replace('side = "2"', 'side = "6"'), encoding="utf-8")
    with open_store(tmp_path / "store") as store:
        with store.change("test") as writer:
            for width, height in ((7, 21), (7, 21), (19, 12), (7, 21), (2.5, 7), (19, 12)):
                writer.add_scrap(NewScrap(outline=box(0, 0, width, height)))
            for length, start, end in ((30, 45, 45), (24, 45, -45), (21.5, -45, -45)):
                writer.add_binding_strip(NewBindingStrip(
                    width=2.5, length=length, start_slope_deg=start, end_slope_deg=end
                ))  # fmt: skip
        keep(store, match_project(store, file, settings=Settings(), why=False), "bench")
    said = _words(scrapstore("finish", "bench", "--trim", "18 x 18").out)
    expected = [
        "Measure the quilted top now (planned 18 1/2 × 18 1/2 in)",
        "The binding reaches 70.88 and needs 72.00 in: short 1.12, do not sew.",
        "Cut one more strip, 2 1/2 in wide, 3 5/8 in or longer, square ends.",
        "Long enough: scrap 5, no name.",
        "Back left and back right, each 11 3/4 × 18 1/2 in: from scraps 3 and 6.",
    ]
    places = [said.find(words) for words in expected]
    assert -1 not in places, expected[places.index(-1)]
    assert places == sorted(places)
