"""A bin of scraps kept from the command line."""

import json
from pathlib import Path

import pytest

from scrapstore.units import parse_length
from tests.support.program import Program


def test_scraps_from_typed_sizes(scrapstore: Program) -> None:
    """The five kinds of size, with what each says of grain and margin."""
    for option, text in (
        ("--size", "9 x 22"),
        ("--strip", "2 1/2 x 40"),
        ("--triangle", "5 x 8"),
        ("--corners", "0,0 5,0 5 1/2,3 0,4"),
        ("--precut", "fat quarter"),
    ):
        scrapstore("scrap", "add", option, text)
    scraps = scrapstore("scrap", "list", "--json").json["scraps"]
    assert [(s["short_side"], s["long_side"]) for s in scraps] == [
        (9, 22), (2.5, 40), (5, 8), (4, 5.5), (17.5, 20),
    ]  # fmt: skip
    assert [s["margin"] for s in scraps] == [0.125] * 4 + [0]
    assert [s["grain_deg"] for s in scraps] == [None] * 4 + [0]
    assert scraps[2]["area"] == 20


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        ((), "no size was typed; give one of --size"),
        (("--size", "9 x 22", "--strip", "2 x 4"), "more than one size was typed"),
        (("--size", "9 x nine"), "size: cannot read 'nine' as a length"),
        (
            ("--size", "9 x 22", "--family", "bleu"),
            "'bleu' is no colour word; did you mean blue",
        ),
        (("--size", "9 x 22", "--value", "darkish"), "did you mean dark"),
        (("--size", "9 x 22", "--fabric", "Navy"), "no fabric is called 'Navy'"),
        (("--size", "9 x 22", "--grain", "up"), "grain: cannot read 'up'"),
        (("--size", "9 x 22", "--count", "0"), "--count: '0' will not do"),
    ],
)
def test_a_slip_is_told_and_nothing_is_added(
    scrapstore: Program, empty_store: Path, arguments: tuple[str, ...], why: str
) -> None:
    """One sentence; exit status 2, but 1 where the fabric is yet to be added."""
    status = 1 if "--fabric" in arguments else 2
    assert why in scrapstore("scrap", "add", *arguments, status=status).err
    assert scrapstore("scrap", "list", "--json").json == {"scraps": []}


def test_a_length_without_a_unit_is_in_the_units_shown(scrapstore: Program) -> None:
    """JSON stays in inches."""
    scrapstore("scrap", "add", "--size", "25.4 x 50.8", "--units", "cm", "--margin", "0")
    (scrap,) = scrapstore("scrap", "list", "--json", "--units", "cm").json["scraps"]
    assert (scrap["short_side"], scrap["long_side"], scrap["margin"]) == (10, 20, 0)
    assert "25.4 × 50.8 cm" in scrapstore("scrap", "list", "--units", "cm").out
    assert "10 × 20 in" in scrapstore("scrap", "list").out


@pytest.mark.parametrize(
    ("option", "typed", "size"),
    [
        ("--size", "9 x 6", "9 × 6 in"),
        ("--size", "6 x 9", "6 × 9 in"),
        ("--strip", "2 1/2 x 40", "2 1/2 × 40 in"),
        ("--strip", "40 x 2 1/2", "40 × 2 1/2 in"),
        ("--triangle", "8 x 6 1/2", "triangle in 8 × 6 1/2 in"),
        ("--corners", "0,0 5,0 5,3 0,3", "5 × 3 in"),
        ("--precut", "fat quarter", "17 1/2 × 20 in"),
    ],
)
def test_a_size_comes_back_in_the_order_it_was_typed(
    scrapstore: Program, option: str, typed: str, size: str
) -> None:
    """In every list, and in JSON; and ``first`` is the measure typed first."""
    scrapstore("scrap", "add", option, typed, "--family", "blue", "--grain", "first")
    (scrap,) = scrapstore("scrap", "list", "--json").json["scraps"]
    first, second = (part.strip() for part in size[:-3].rpartition("in ")[2].split("×"))
    assert scrap["size"] == [parse_length(first), parse_length(second)]
    assert scrap["grain_deg"] == 0
    assert scrap["outline"][1][0] == pytest.approx(parse_length(first))
    assert f" {size} " in scrapstore("scrap", "list").out
    for words in (("scrap", "show", "1"), ("families", "--scraps")):
        assert size.removeprefix("triangle in ") in scrapstore(*words).out, words


def test_ready_cut_pieces_keep_their_order_too(scrapstore: Program) -> None:
    said = scrapstore("ready", "add", "--count", "4", "--size", "6 x 3 1/2")
    assert "6 × 3 1/2 in" in said.out
    assert scrapstore("ready", "list", "--json").json["ready_cut"][0]["size"] == [6, 3.5]


def test_filters_combine(scrapstore: Program) -> None:
    """Family and place and size; one given twice lets either through."""
    for size, family, place in (
        ("9 x 22", "blue", "bin 2"),
        ("3 x 4", "blue", "bin 2"),
        ("9 x 22", "red", "bin 2"),
        ("9 x 22", "navy", "tin"),
    ):
        scrapstore("scrap", "add", "--size", size, "--family", family, "--place", place)

    def numbers(*filters: str) -> list[int]:
        return [s["id"] for s in scrapstore("scrap", "list", "--json", *filters).json["scraps"]]

    assert numbers("--family", "blue") == [1, 2, 4]
    assert numbers("--family", "blue", "--place", "Bin 2") == [1, 2]
    assert numbers("--family", "blue", "--place", "bin 2", "--at-least", "8 x 20") == [1]
    assert numbers("--family", "red", "--family", "blue", "--at-least", "20 x 9") == [1, 3, 4]
    scrapstore("scrap", "retire", "1")
    assert numbers() == [2, 3, 4]
    assert numbers("--status", "used up") == [1]
    assert numbers("--status", "all") == [1, 2, 3, 4]


def test_several_in_one_visit(scrapstore: Program) -> None:
    """Numbers and ranges; fields together; an empty text empties a field."""
    scrapstore("scrap", "add", "--size", "9 x 22", "--count", "6", "--place", "bin 2")
    said = scrapstore(
        "scrap", "edit", "1-3", "#5", "--place", "", "--from-project", "Star",
        "--fabric", "Navy dot", "--new-fabrics", "--accent", "pink", "--accent", "white", "--json",
    )  # fmt: skip
    edited = said.json["scraps"]
    assert [s["id"] for s in edited] == [1, 2, 3, 5]
    assert {
        json.dumps([s["place"], s["from_project"], s["fabric"], s["accents"]]) for s in edited
    } == {json.dumps([None, "Star", "Navy dot", ["pink", "white"]])}
    (change, _) = scrapstore("history", "--json").json["changes"]
    assert change["what"] == "scrap edit"
    assert len(change["rows"]) == 5  # the fabric and four scraps
    assert "number: cannot read 'x'" in scrapstore("scrap", "retire", "x", status=2).err
    assert "number: cannot read '7-3'" in scrapstore("scrap", "retire", "7-3", status=2).err


def test_a_scrap_gets_another_outline(scrapstore: Program) -> None:
    """Its sides, area and grain follow."""
    scrapstore("scrap", "add", "--size", "9 x 22", "--grain", "first")
    (scrap,) = scrapstore(
        "scrap", "edit", "1", "--strip", "2 x 22", "--grain", "second", "--json"
    ).json["scraps"]
    assert (scrap["short_side"], scrap["area"], scrap["grain_deg"]) == (2, 44, 90)
    (scrap,) = scrapstore("scrap", "edit", "1", "--grain", "30", "--margin", "1/4", "--json").json[
        "scraps"
    ]
    assert (scrap["area"], scrap["grain_deg"], scrap["margin"]) == (44, 30, 0.25)


def test_flaws_are_typed_by_their_corners(scrapstore: Program) -> None:
    """In the scrap's own frame; an empty text takes them away; beside the scrap: refused."""
    said = scrapstore("scrap", "add", "--size", "9 x 22", "--flaw", "1,1 2,1 2,2",
                      "--flaw", "8,20 9,20 9,22 8,22", "--json")  # fmt: skip
    (scrap,) = said.json["scraps"]
    assert scrap["flaws"][0] == [[1, 1], [2, 1], [2, 2]]
    assert len(scrap["flaws"]) == 2
    assert scrap["area"] == 198  # the true outline's
    why = scrapstore("scrap", "edit", "1", "--flaw", "30,1 31,1 31,2", status=2).err
    assert "lies beside the scrap" in why
    (scrap,) = scrapstore("scrap", "edit", "1", "--flaw", "", "--json").json["scraps"]
    assert scrap["flaws"] == []


def test_ready_cut_pieces_by_their_corners(scrapstore: Program) -> None:
    """As cut; two ways at once are refused."""
    said = scrapstore("ready", "add", "--count", "6", "--corners", "0,0 5,0 5,2 0,3", "--json")
    (pieces,) = said.json["ready_cut"]
    assert (pieces["kind"], pieces["count"], len(pieces["cut"])) == ("polygon", 6, 4)
    assert "which pieces?" in scrapstore("ready", "add", "--size", "5 x 5", "--shape",
                                         "square", status=2).err  # fmt: skip


def test_scrap_show_tells_everything(scrapstore: Program) -> None:
    """Compared line by line at eighty columns."""
    scrapstore("scrap", "add", "--triangle", "5 x 8", "--name", "sleeve", "--family", "blue",
               "--value", "dark", "--place", "bin 2", "--grain", "45",
               "--note", "ironed")  # fmt: skip
    scrapstore("scrap", "add", "--size", "2 x 2", "--parent", "1", "--parent-used-up")
    lines = [line.rstrip() for line in scrapstore("scrap", "show", "1").out.splitlines()]
    assert lines[:-1] == [
        "scrap    #1 sleeve",
        "size     triangle in 5 × 8 in",
        "area     20 sq in",
        "outline  3 corners",
        "grain    45° from the first measure, counter-clockwise",
        "margin   1/8 in",
        "family   blue",
        "value    dark",
        "place    bin 2",
        "status   used up",
        "offcuts  #2",
        "note     ironed",
    ]


def test_lists_read_like_this(scrapstore: Program) -> None:
    """The whole of a list, as printed."""
    scrapstore("fabric", "add", "Navy dot", "--fibre", "cotton", "--width", "42 1/2", "--washed",
               "--one-way", "--family", "blue", "--value", "dark")  # fmt: skip
    scrapstore("yardage", "add", "--fabric", "navy dot", "--length", "3/4 yd", "--place", "shelf")
    scrapstore("ready", "add", "--count", "40", "--size", "5 x 5", "--family", "red")
    scrapstore("binding", "add", "--size", "2 1/2 x 40", "--end", "/", "--fabric", "navy dot")
    scrapstore("scrap", "add", "--precut", "fat quarter", "--fabric", "navy dot")

    def listed(what: str) -> list[str]:
        return [line.rstrip() for line in scrapstore(what, "list").out.splitlines()]

    assert listed("fabric") == [
        "name       fibre        width   family   value   is",
        "────────────────────────────────────────────────────────────────",
        "Navy dot   cotton   42 1/2 in   blue     dark    washed, one-way",
    ]
    assert listed("yardage")[2] == "  1   Navy dot    27 in   42 1/2 in   shelf"
    assert listed("ready")[2] == "  1      40   square, 4 1/2 in      5 × 5 in   red"
    assert listed("binding")[2] == "  1   2 1/2 × 40 in   straight to /   Navy dot"
    assert listed("scrap")[2:] == [
        "  1   17 1/2 × 20 in   blue     dark    Navy dot",
        "1 scrap, together 350 sq in",
    ]


def test_fabrics_from_the_command_line(scrapstore: Program) -> None:
    """Added, edited together, shown with what there is, retired, brought back."""
    scrapstore("fabric", "add", "Navy dot", "--fibre", "cotton")
    scrapstore("fabric", "add", "Sail canvas")
    edited = scrapstore("fabric", "edit", "navy dot", "sail canvas", "--fibre", "", "--width",
                        "60 in", "--alike", "--unwashed", "--json").json["fabrics"]  # fmt: skip
    assert [(f["fibre"], f["usable_width"], f["alike"], f["washed"]) for f in edited] == [
        (None, 60, True, False)
    ] * 2
    scrapstore("scrap", "add", "--size", "9 x 22", "--fabric", "navy dot")
    shown = scrapstore("fabric", "show", "Navy dot", "--json").json
    assert [scrap["id"] for scrap in shown["scraps"]] == [1]
    scrapstore("fabric", "retire", "Navy dot")
    assert len(scrapstore("fabric", "list", "--json").json["fabrics"]) == 1
    assert len(scrapstore("fabric", "list", "--retired", "--json").json["fabrics"]) == 2
    assert (
        "is called 'Sail canvas' already"
        in scrapstore("fabric", "edit", "navy dot", "--name", "Sail canvas", status=1).err
    )


def test_history_tells_before_and_after(scrapstore: Program) -> None:
    """In words, for one thing or for all."""
    scrapstore("scrap", "add", "--size", "9 x 22", "--place", "tin")
    scrapstore("scrap", "edit", "1", "--place", "shelf", "--value", "dark")
    scrapstore("fabric", "add", "Navy dot")
    lines = [" ".join(line.split()[3:]) for line in scrapstore("history").out.splitlines()[2:]]
    assert lines == [
        "Added fabric Navy dot",
        "Changed scrap 1 (place shelf, value dark)",
        "Added scrap 1",
    ]
    text = " ".join(scrapstore("history", "--details").out.split())
    assert "fabric add fabric 1 added: Navy dot" in text
    assert "scrap edit scrap 1 place: tin → shelf; value: – → dark" in text
    assert "fabric" not in scrapstore("history", "scrap 1").out
    assert "cannot read 'sleeve 1'" in scrapstore("history", "sleeve 1", status=2).err


def test_a_store_that_is_not_whole_is_told(scrapstore: Program, tmp_path: Path) -> None:
    """store info ends with status 1 and says what to do."""
    from scrapstore.store import open_store
    from tests.support.stores import a_photo

    with open_store(tmp_path / "store") as store, store.change("test") as writer:
        writer.add_photo(a_photo())
    said = scrapstore("store", "info", "--json", status=1)
    assert len(said.json["faults"]) == 1
    assert "the store is not whole: photo file" in said.err


def test_a_newer_store_is_refused_in_one_sentence(scrapstore: Program, empty_store: Path) -> None:
    """And left alone."""
    import sqlite3
    from contextlib import closing

    with closing(sqlite3.connect(empty_store / "store.db", isolation_level=None)) as db:
        db.execute("UPDATE alembic_version SET version_num = '0999'")
    said = scrapstore("scrap", "list", status=1)
    assert said.out == ""
    assert "was written by a newer scrapstore" in said.err


def test_an_old_store_is_brought_up_to_date_and_says_so(
    scrapstore: Program, tmp_path: Path
) -> None:
    """On standard error, with the name of the copy."""
    from tests.support.stores import old_store

    old_store(tmp_path / "store")
    said = scrapstore("scrap", "list", "--json")
    assert len(said.json["scraps"]) == 3
    (backup,) = (tmp_path / "store" / "backups").iterdir()
    assert str(backup) in said.err


def test_a_size_typed_for_a_measured_scrap_is_questioned_too(
    scrapstore: Program, tmp_path: Path
) -> None:
    (tmp_path / "table.jpg").write_bytes(b"no picture")
    said = scrapstore(
        "log", str(tmp_path / "table.jpg"), "--typed", "1: 600 x 900", "--yes", status=2
    )
    assert "did you mean mm?" in said.err
