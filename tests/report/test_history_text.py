"""The history in a quilter's words: a sentence for each visit."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from scrapstore.report.history_text import is_cutting, taken_back, thing_words, visit_words
from scrapstore.store import Change, ChangedRow

Row = dict[str, Any] | None
HELD = {"status": "set aside", "set_aside_for": "bench"}
USED = {"status": "used up", "set_aside_for": None}


def row(kind: str, number: int, before: Row, after: Row) -> ChangedRow:
    return ChangedRow(kind=kind, row_id=number, before=before, after=after)


def change(what: str, *rows: ChangedRow, more: int = 0) -> Change:
    return Change(id=41, at=datetime(2026, 3, 1, tzinfo=UTC), what=what, rows=rows, more=more)


def piece(label: str, state: str, **more: int) -> ChangedRow:
    return row("plan-piece", 1, None, {"plan_id": 1, "label": label, "state": state} | more)


SCRAP_4 = row("scrap", 4, {"id": 4} | HELD, {"id": 4} | USED)
LOT_9 = row("ready-cut", 9, None, {"count": 12} | HELD)
CUT = change(
    "cut",
    row("plan-stock", 1, {"plan_id": 1, "scrap_id": 4}, None),
    SCRAP_4,
    LOT_9,
    *(piece(f"C{n}", "cut", ready_cut_id=9) for n in range(12)),
    row("scrap", 31, None, {"parent_id": 4, "status": "available"}),
    row("scrap", 32, None, {"parent_id": 4, "status": "available"}),
)


def test_a_cut() -> None:
    words = "Cut scrap 4 for 'bench': 12 pieces (ready-cut pieces no. 9); offcuts 31-32"
    assert visit_words(CUT) == words
    assert is_cutting(CUT)


def test_a_cut_as_it_really_went() -> None:
    """A lot that was there got more, twice; one piece was spoilt and two were left."""
    rows = (
        SCRAP_4,
        row("ready-cut", 9, {"count": 3} | HELD, {"count": 5} | HELD),
        row("ready-cut", 9, {"count": 5} | HELD, {"count": 6} | HELD),
        row("scrap", 31, None, {"parent_id": 4, "status": "available"}),
        piece("A3", "spoilt", scrap_id=31),
        piece("C2", "not cut"),
        piece("C5", "not cut"),
    )
    assert visit_words(change("cut", *rows)) == (
        "Cut scrap 4 for 'bench': 3 pieces (ready-cut pieces no. 9); spoilt A3, now scrap 31; "
        "not cut C2, C5"
    )


def test_a_cut_of_lengths() -> None:
    free = {"status": "available", "set_aside_for": None}
    rows = (
        row("yardage", 1, {"length": 36.0} | free, {"length": 18.0} | free),
        row("yardage", 2, {"length": 9.0} | free, {"length": 9.0} | USED),
        row("ready-cut", 9, None, {"count": 1} | HELD),
    )
    assert visit_words(change("cut", *rows)) == (
        "Cut length 1 (18 in left) and length 2 (none left) for 'bench': "
        "1 piece (ready-cut pieces no. 9)"
    )


def test_what_was_not_read_of_a_large_cut_is_counted() -> None:
    words = visit_words(change("cut", SCRAP_4, LOT_9, more=200))
    assert words.endswith("12 pieces (ready-cut pieces no. 9); 200 more records")


def test_an_undo_says_what_it_took_back() -> None:
    """Its rows are those of the other change from the other side, in the other order."""
    rows = tuple(replace(one, before=one.after, after=one.before) for one in reversed(CUT.rows))
    undo = replace(CUT, id=42, what="undo cut", rows=rows, undoes=41)
    assert visit_words(undo) == f"Took back no. 41: {visit_words(CUT)}"
    assert not is_cutting(undo)
    edit = change("scrap edit", row("scrap", 1, {"place": "tin"}, {"place": "bin"}))
    undone = change("undo scrap edit", row("scrap", 1, {"place": "bin"}, {"place": "tin"}))
    words = visit_words(replace(undone, undoes=41))
    assert (
        words
        == f"Took back no. 41: {visit_words(edit)}"
        == ("Took back no. 41: Changed scrap 1 (place bin)")
    )


def test_what_was_taken_back_is_marked() -> None:
    assert taken_back(CUT) == ""
    assert taken_back(replace(CUT, undone_by=43)) == " (taken back by no. 43)"


def test_things() -> None:
    assert thing_words(piece("A3", "cut")) == "piece A3 of a plan"
    assert thing_words(SCRAP_4) == "scrap 4"


def test_batting_forms_and_zips_by_their_own_names() -> None:
    two = [row("notion", number, None, {"kind": "zip"}) for number in (4, 5)]
    assert [thing_words(one) for one in two] == ["zip 4", "zip 5"]
    words = visit_words(change("zip add", *two, row("notion", 7, None, {"kind": "form"})))
    assert words == "Added zip 4-5 and form 7"


def test_binding_strips_of_a_plan() -> None:
    free = {"status": "available", "set_aside_for": None}
    held = [row("binding", number, free, HELD) for number in (1, 2)]
    assert visit_words(change("finish set aside", *held)) == (
        "Set aside for 'bench': binding strips 1-2"
    )
    used = [row("binding", number, HELD, USED) for number in (1, 2)]
    done = change("finish done", *used, row("binding", 3, None, free))
    assert visit_words(done) == (
        "Used up for 'bench': binding strips 1-2; left of them: binding strip 3"
    )
