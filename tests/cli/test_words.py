"""What a quilter reads first: the greeting, the first line of an answer, slips, progress."""

from pathlib import Path

import pytest
from shapely import box

from scrapstore.cli.progress import progress_line
from scrapstore.store import NewFabric, NewScrap, NewYardage, open_store
from tests.support.pad import write_pad
from tests.support.program import Program


def matched(scrapstore: Program, folder: Path, count: int, *, with_scrap: bool = True) -> list[str]:
    """The first lines of what match says of a scrap of four squares, and 4 in of linen."""
    with open_store(folder / "store") as store, store.change("test") as writer:
        if with_scrap:
            writer.add_scrap(NewScrap(outline=box(0, 0, 5, 5)))
        linen = writer.add_fabric(NewFabric(name="linen", usable_width=40.0))
        writer.add_yardage(NewYardage(fabric=linen, length=4.0))
    said = scrapstore("match", str(write_pad(folder, count)), "--no-sheets").out
    return [line.strip() for line in said.splitlines()]


@pytest.mark.parametrize(
    ("count", "first"),
    [
        (1, "You can make this now: the one piece comes from what you have."),
        (4, "You can make this now: all 4 pieces come from what you have."),
        (10, "You can make this now: 4 of 10 pieces from scraps and ready-cut pieces, 6 from"),
        (40, "4 of 40 pieces are covered by scraps and ready-cut pieces, 16 by yardage you"),
    ],
)
def test_the_first_line_says_what_can_be_made(
    scrapstore: Program, tmp_path: Path, count: int, first: str
) -> None:
    """Five by five gives four squares of 2 1/2 in, 4 in of 40 in wide linen one strip of 16."""
    lines = matched(scrapstore, tmp_path, count)
    assert lines[:2] == ["Bench pad", first]


def test_what_is_to_be_bought_stands_in_the_first_sentence(
    scrapstore: Program, tmp_path: Path
) -> None:
    """And the limit in one plain sentence; no column of limits whose sum is another number."""
    lines = matched(scrapstore, tmp_path, 40)
    text = " ".join(lines)
    assert "have (linen); 20 to cut from new fabric: buy 1 fat eighth for top." in text
    assert "your scraps and ready-cut pieces cannot cover more (proven)." in text
    assert "at most" not in text


def test_bare_it_says_what_to_do_first(scrapstore: Program) -> None:
    said = scrapstore()
    assert "scrapstore scrap add --size" in said.out
    assert "Missing" not in said.out + said.err
    assert scrapstore("--units", "in").out == said.out


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("scrap", "show", "abc"), "NUMBER: 'abc' will not do; give a whole number of 1 or more"),
        (("scrap", "add", "--size", "9 x 6", "--count", "two"), "give a whole number"),
        (("match", "x.toml", "--try-harder", "much"), "give a number from 0 to 1000"),
        (("match", "x.toml", "--answers", "9"), "give a whole number from 1 to 3"),
        (("match", "x.toml", "--variant", "-1"), "give a whole number of 0 or more"),
    ],
)
def test_a_wrong_value_is_told_in_our_own_words(
    scrapstore: Program, arguments: tuple[str, ...], told: str
) -> None:
    said = scrapstore(*arguments, status=2)
    assert told in said.err
    assert "Input should" not in said.err


def test_the_cut_size_of_ready_cut_pieces_was_an_option_of_its_own(scrapstore: Program) -> None:
    """And their count a word before it, which is told."""
    assert "5 × 5 in" in scrapstore("ready", "add", "--cut", "5 x 5").out
    told = scrapstore("ready", "add", "12", "--cut", "5 x 5", status=2).err
    assert "ready add has no use for '12'" in told


def test_other_names_are_understood(scrapstore: Program) -> None:
    """--colour for --family, and what options and commands were called before."""
    scrapstore("scrap", "add", "--size", "9 x 6", "--colour", "navy")
    assert "9 × 6 in" in scrapstore("scrap", "list", "--color", "blue").out
    scrapstore("scrap", "retire", "1")
    scrapstore("scrap", "restore", "1")
    assert scrapstore("scrap", "list", "--json").json["scraps"][0]["status"] == "available"
    assert "restore" not in scrapstore("scrap", "--help").out


def test_an_aim_that_is_none_is_told(scrapstore: Program, tmp_path: Path) -> None:
    assert "did you mean cover?" in scrapstore("match", "x", "--aims", "cover,cver", status=2).err
    for earlier in ("whole", "keep"):
        said = scrapstore("match", "x", "--aims", f"{earlier},cover", status=2)
        assert "'whole' before 'cover'" in said.err


def test_a_photo_that_is_not_there_is_told_before_the_terminal(scrapstore: Program) -> None:
    said = scrapstore("log", "nosuch.jpg", status=1)
    assert "nosuch.jpg" in said.err
    assert "terminal" not in said.err


def test_a_typed_scrap_says_how_it_counts(scrapstore: Program) -> None:
    scrapstore("scrap", "add", "--size", "9 x 6", "--family", "orange")
    scrapstore("scrap", "add", "--size", "8 x 6", "--family", "blue")
    said = scrapstore("find", "--goes-with", "1").out
    assert "It has no photo: it counts with the usual colour of its family." in said
    assert "8 × 6 in" in said
    assert "By the family you typed, for there is no photo: 1, 2." in scrapstore("piles", "2").out


@pytest.mark.parametrize(("done", "sewn"), [(0, 0), (1, 4), (4, 16)])
def test_progress_is_a_seam_as_long_as_the_work_done(done: int, sewn: int) -> None:
    line = progress_line(done, 4, "photos")
    assert line.count("-") == sewn
    assert line.endswith(f"| {done} of 4 photos")
    assert len(line) == len(progress_line(2, 4, "photos"))


def test_progress_is_silent_where_nobody_looks(scrapstore: Program, tmp_path: Path) -> None:
    matched(scrapstore, tmp_path, 4)
    assert scrapstore("match", str(tmp_path / "Bench-pad.toml"), "--no-sheets").err == ""


def test_a_list_at_sixty_columns_breaks_no_word(
    scrapstore: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Compared line by line."""
    scrapstore("scrap", "add", "--size", "9 x 6", "--fabric", "waiting room curtain",
               "--new-fabrics", "--family", "blue", "--value", "medium",
               "--place", "basket under the ticket window")  # fmt: skip
    monkeypatch.setenv("COLUMNS", "60")
    lines = [line.rstrip() for line in scrapstore("scrap", "list").out.splitlines()]
    assert lines == [
        "no.     size family value  fabric or name   place",
        "─" * 60,
        "  1 9 × 6 in blue   medium waiting room     basket under the",
        "                           curtain          ticket window",
        "1 scrap, together 54 sq in",
    ]


def test_a_visit_is_a_line_of_the_history(scrapstore: Program, tmp_path: Path) -> None:
    """A plan that holds scraps too; --details has every row."""
    matched(scrapstore, tmp_path, 4)
    scrapstore("plan", "keep", str(tmp_path / "Bench-pad.toml"), "--name", "bench")
    lines = scrapstore("history").out.splitlines()[2:]
    told = [" ".join(line.split()[3:]) for line in lines]
    assert told == ["Kept plan 'bench': scrap 1", "Test: scrap 1, length 1 and fabric linen"]
    details = scrapstore("history", "--details").out
    assert "set aside" in details
    assert "plan-stock" not in details


def test_rank_begins_with_what_can_be_made(scrapstore: Program, tmp_path: Path) -> None:
    matched(scrapstore, tmp_path, 4)
    lines = scrapstore("rank", str(tmp_path)).out.splitlines()
    assert lines[0] == "You can make now: Bench pad."
    write_pad(tmp_path, 400)
    lines = scrapstore("rank", str(tmp_path)).out.splitlines()
    assert lines[0] == "None can be made without buying."


@pytest.mark.parametrize("typed", ["half yard", "1/2 yd", "half a metre"])
def test_a_length_typed_as_a_size_is_told_to_be_yardage(scrapstore: Program, typed: str) -> None:
    said = scrapstore("scrap", "add", "--size", typed, status=2)
    assert f"add it as yardage: yardage add --fabric NAME --length '{typed}'" in said.err


def test_a_colour_word_is_looked_for_as_its_family(scrapstore: Program) -> None:
    scrapstore("scrap", "add", "--size", "9 x 6")
    said = scrapstore("find", "--like", "sage")
    assert "Like sage (green 100%)" in said.out


def test_a_visit_is_told_with_units_and_without_signs_of_the_table(scrapstore: Program) -> None:
    scrapstore("fabric", "add", "linen")
    scrapstore("fabric", "edit", "linen", "--width", "42")
    scrapstore("scrap", "add", "--size", "9 x 6", "--grain", "first")
    scrapstore("scrap", "edit", "1", "--grain", "second")
    scrapstore("fabric", "retire", "linen")
    lines = scrapstore("history").out.splitlines()[2:]
    told = [" ".join(line.split()[3:]) for line in lines]
    assert told[0] == "Took off the list fabric linen"
    assert told[1] == "Changed scrap 1 (grain 90°)"
    assert told[3] == "Changed fabric linen (usable width 42 in)"


def test_where_no_scrap_can_serve_it_is_said(scrapstore: Program, tmp_path: Path) -> None:
    """Not that so many were looked at, "enough to choose from"."""
    scrapstore("scrap", "add", "--size", "2 x 2")
    file = tmp_path / "big.toml"
    file.write_text(
        'format = 1\nname = "Big"\n[roles.any]\n[[pieces]]\nname = "square"\nshape = "square"\n'
        'side = "6"\ncount = 1\nrole = "any"\n'
    )
    said = scrapstore("match", str(file), "--no-sheets").out
    assert "No scrap can serve" in said
    assert "enough to choose" not in said
    assert said.splitlines()[1].startswith("0 of 1 piece is covered by scraps")


def test_what_comes_from_yardage_alone_is_said_so(scrapstore: Program, tmp_path: Path) -> None:
    lines = matched(scrapstore, tmp_path, 4, with_scrap=False)
    assert lines[1] == "You can make this now: all 4 pieces come from yardage you have (linen)."


TWO_KINDS = """
format = 1
name = "Two kinds"
[roles.any]
[[pieces]]
name = "square"
shape = "square"
side = "2"
count = {count}
role = "any"
[[pieces]]
name = "bar"
shape = "rectangle"
width = "2"
height = "1"
count = 1
role = "any"
"""


def test_pieces_of_a_scrap_are_in_the_order_of_their_letters(
    scrapstore: Program, tmp_path: Path
) -> None:
    scrapstore("scrap", "add", "--size", "9 x 6")
    file = tmp_path / "two.toml"
    file.write_text(TWO_KINDS.format(count=1), encoding="utf-8")
    assert "1 A, 1 B" in scrapstore("match", str(file), "--no-sheets").out


def test_what_lacks_is_said_to_be_counted_inside_the_margin(
    scrapstore: Program, tmp_path: Path
) -> None:
    """A strip as wide as the piece puzzles who is told that it is 1/4 in too narrow."""
    scrapstore("scrap", "add", "--size", "2 1/2 x 10")
    file = tmp_path / "two.toml"
    squares = TWO_KINDS.format(count=2).rpartition("[[pieces]]")[0]
    file.write_text(squares, encoding="utf-8")
    said = scrapstore("match", str(file), "--no-sheets").out
    assert "A: scrap 1 is 1/4 in too narrow." in said
    assert "Only what lies inside a scrap's margin counts." in said
