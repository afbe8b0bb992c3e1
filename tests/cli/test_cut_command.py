"""``cut`` at the terminal and without one: what it asks, what it reads, what it refuses."""

import builtins
import io
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest
from shapely import Polygon, box

from scrapstore.store import NewFabric, NewScrap, StockFilter, open_store
from tests.actions.test_cut import kept, project
from tests.support.program import Program, Said

TRIANGLE = Polygon([(0, 0), (12, 0), (0, 12)])


@pytest.fixture
def planned(tmp_path: Path) -> Path:
    """A plan ``four`` of squares of 3 1/2 in: two from each of two red scraps 12 × 3 1/2."""
    with open_store(tmp_path / "store") as store:
        with store.change("test") as writer:
            drill = writer.add_fabric(NewFabric(name="red drill", family="red"))
            for _ in range(2):
                outline = box(0, 0, 9, 3.5)
                writer.add_scrap(NewScrap(outline=outline, fabric=drill, grain_deg=0.0))
        kept(store, project(tmp_path, "four", ("red", "3", "3", 4)), "four")
    return tmp_path


Answer = Callable[..., Said]


@pytest.fixture
def at_terminal(scrapstore: Program, monkeypatch: pytest.MonkeyPatch) -> Answer:
    """Call the program with somebody at the terminal, who types these lines."""
    monkeypatch.setattr("scrapstore.cli.confirm_measured.at_terminal", lambda: True)

    def call(lines: Sequence[str], *arguments: str, status: int = 0) -> Said:
        monkeypatch.setattr(sys, "stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
        return scrapstore(*arguments, status=status)

    return call


def stored(folder: Path) -> dict[str, Any]:
    """Sides of the scraps there are, and how many pieces are set aside."""
    with open_store(folder / "store") as store, store.read() as reader:
        return {
            "scraps": sorted((round(s.long_side, 4), round(s.short_side, 4))
                             for s in reader.scraps()),
            "pieces": sum(lot.count for lot in reader.ready_cut(StockFilter(statuses=()))),
        }  # fmt: skip


def test_what_was_booked_is_said_in_the_units_asked_for(scrapstore: Program, planned: Path) -> None:
    said = scrapstore(
        "--store", str(planned / "store"), "cut", "four", "--yes", "--units", "cm"
    ).out
    assert "4 × rectangle, ~7.6 × ~7.6 cm" in said


NOTHING: dict[str, Any] = {"scraps": [], "pieces": 0}


def test_yes_books_what_was_shown(at_terminal: Answer, scrapstore: Program, planned: Path) -> None:
    said = at_terminal(["yes"], "cut", "four")
    assert "To fetch for 'four'" in said.err
    assert "Is it cut so?" in said.err
    assert "Booked of 'four'" in said.out
    assert stored(planned) == {"scraps": [(3.5, 2.0)] * 2, "pieces": 4}
    assert (planned / "store" / "previews" / "cut-1.png").is_file()


@pytest.mark.parametrize(
    "answers",
    [
        ["no"],
        [""],
        ["perhaps", "spoilt", "only me", "no"],
        ["a: few x 2", "spoilt A3 some right", "no"],
    ],
)
def test_no_books_nothing(
    at_terminal: Answer, scrapstore: Program, planned: Path, answers: list[str]
) -> None:
    """Just Enter is a no; what cannot be read is asked once more."""
    said = at_terminal(answers, "cut", "four", status=1)
    assert said.err.count("cannot read") == len(answers) - 1
    assert "nothing is booked" in said.err
    assert stored(planned) == NOTHING


@pytest.mark.parametrize(
    ("answer", "scraps", "pieces"),
    [
        ("spoilt A3 1/4 right", [(3.5, 2.0), (3.5, 2.0), (3.5, 3.25)], 3),
        ("not A2", [(3.5, 2.0), (5.5, 3.5)], 3),
        ("only 2", [(3.5, 2.0)], 2),
        ("without a", [(3.5, 2.0)], 4),
        ("a: 3 1/2 x 1 3/4", [(3.5, 1.75), (3.5, 2.0)], 4),
        ("a: 0,0 3 1/2,0 0,2", [(3.5, 2.0), (3.5, 2.0)], 4),
        ("not A2; without a", [(3.5, 2.0)], 3),
    ],
)
def test_what_went_otherwise(
    at_terminal: Answer, scrapstore: Program, planned: Path, answer: str,
    scraps: list[tuple[float, float]], pieces: int,
) -> None:  # fmt: skip
    said = at_terminal([answer, "yes"], "cut", "four")
    assert said.err.count("To fetch for 'four'") == 2
    assert stored(planned) == {"scraps": scraps, "pieces": pieces}


def test_stopped_with_ctrl_c(
    at_terminal: Answer, scrapstore: Program, planned: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*_: object) -> str:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(builtins, "input", interrupted)
        patch.setattr("click.termui.visible_prompt_func", interrupted)
        said = at_terminal([], "cut", "four", status=130)
    assert "nothing is booked" in said.err
    assert stored(planned) == NOTHING


def test_the_end_of_what_is_typed_books_nothing(
    at_terminal: Answer, scrapstore: Program, planned: Path
) -> None:
    at_terminal(["not A2"], "cut", "four", status=130)
    assert stored(planned) == NOTHING


def test_without_a_terminal_only_yes_books(scrapstore: Program, planned: Path) -> None:
    looked = scrapstore("cut", "four", "--scrap", "2", "--json", status=1)
    assert looked.json["booked"] is False
    assert [cut["scrap"] for cut in looked.json["cuts"]] == [2]
    assert len(looked.json["later"]) == 2
    assert "give the same command with --yes" in looked.err
    assert stored(planned) == NOTHING
    booked = scrapstore("cut", "four", "--scrap", "2", "--json", "--yes").json
    assert booked["booked"] is True
    assert [one["parent"] for one in booked["offcuts"]] == [2]
    assert booked["cuts"] == looked.json["cuts"]
    assert stored(planned)["pieces"] == 2


def test_in_centimetres(scrapstore: Program, planned: Path) -> None:
    """8.9 cm squares; 5 mm lack at the right, and the offcut is typed in centimetres."""
    said = scrapstore("--units", "cm", "cut", "four", "--yes", "--spoilt", "A3 0.5 right",
                      "--offcut", "a: 8.9 x 5", "--json").json  # fmt: skip
    assert said["spoilt"]["A3"]["short_side"] == pytest.approx(3.5 - 0.5 / 2.54)
    assert [round(one["short_side"] * 2.54, 2) for one in said["offcuts"]] == [5.0, 5.08]


@pytest.mark.parametrize(
    ("options", "said", "status"),
    [
        (("--spoilt", "A3 -1/4 right"), "it is negative", 2),
        (("--spoilt", "A3 1/4"), "say at which edge", 2),
        (("--spoilt", "A3 4 right"), "nothing of it is left when 4 in is missing there", 2),
        (("--spoilt", "; drop"), "'drop' is no label", 2),
        (("--not", "A99"), "no piece that is still to be cut is called 'A99'", 2),
        (("--not", ", ".join(f"Q{n}" for n in range(10_000))), "is called 'Q0'", 2),
        (("--offcut", "a"), "cannot read 'a'", 2),
        (("--offcut", "a: 3 1/2"), "size", 2),
        (("--offcut", "q: 2 x 2"), "no offcut is called 'q'; there are a, b", 2),
        (("--offcut", "a: 12 x 2"), "offcut a: 12 × 2 in cannot be left of scrap 1, which was 9 "
         "× 3 1/2 in as drawn", 2),
        (("--offcut", "a: 3 1/2 x 3"), "cannot be left of scrap 1", 2),
        (("--leave-out", "a, q"), "no offcut is called 'q'", 2),
        (("--scrap", "7"), "scrap 7 is not still to be cut for this plan; of scraps: 1, 2", 2),
        (("--length", "1"), "of lengths: none", 2),
        (("--again",), "so none is cut once more", 1),
    ],
)  # fmt: skip
def test_odd_texts_are_refused_in_a_sentence(
    scrapstore: Program, planned: Path, options: tuple[str, ...], said: str, status: int
) -> None:
    answer = scrapstore("cut", "four", "--yes", *options, status=status)
    assert said in " ".join(answer.err.split())
    assert stored(planned) == NOTHING


def test_a_piece_spoilt_since_in_words_and_json(scrapstore: Program, planned: Path) -> None:
    scrapstore("cut", "four", "--yes")
    call = ("cut", "four", "--spoilt", "A3 1/4 right")
    looked = scrapstore(*call, status=1)
    assert "Of 'four', cut already: A3, 3 1/4 × 3 1/2 in: spoilt" in " ".join(looked.out.split())
    assert scrapstore(*call, "--json", status=1).json["spoilt"] == {}
    said = scrapstore(*call, "--yes", "--json").json
    assert (said["cuts"], said["picture"], list(said["spoilt"])) == ([], None, ["A3"])
    assert stored(planned)["pieces"] == 3
    assert "Cut for 'four': spoilt A3, now scrap 5" in " ".join(scrapstore("history").out.split())


def test_a_plan_says_what_became_of_its_pieces(scrapstore: Program, planned: Path) -> None:
    assert "Still to cut" not in scrapstore("plan", "show", "four").out
    scrapstore("cut", "four", "--yes", "--scrap", "1", "--spoilt", "A1", "--not", "A2")
    assert (
        "Spoilt: A1. Not cut: A2. Still to cut: A3, A4." in scrapstore("plan", "show", "four").out
    )
    became = scrapstore("plan", "show", "four", "--json").json["became"]
    assert {label: one["state"] for label, one in became.items()} == {
        "A1": "spoilt", "A2": "not cut",
    }  # fmt: skip
    assert became["A1"]["scrap"] == 3
    scrapstore("cut", "four", "--yes", "--scrap", "2")
    assert "2, 1 spoilt, 1 not cut" in " ".join(scrapstore("plan", "list").out.split())
    said = scrapstore("plan", "sheets", "four", str(planned / "sheets"))
    assert "Cut: A3, A4. Spoilt: A1. Not cut: A2." in said.err


@pytest.mark.parametrize("option", ["--spoilt", "--not", "--leave-out", "--strip"])
def test_an_empty_list_names_nothing(scrapstore: Program, planned: Path, option: str) -> None:
    scrapstore("cut", "four", "--yes", option, " , ")
    assert stored(planned) == {"scraps": [(3.5, 2.0)] * 2, "pieces": 4}


def test_a_store_that_cannot_be_written_says_so_before_a_picture(
    scrapstore: Program, planned: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    scrapstore("plan", "list")  # its log is folded in
    monkeypatch.setattr("scrapstore.store.opening._may_write", lambda _file: False)
    said = scrapstore("cut", "four", "--yes", status=1)
    assert "is read-only: it can be looked at, not changed" in said.err


def test_an_offcut_that_is_no_rectangle_says_so(
    scrapstore: Program, planned: Path, tmp_path: Path
) -> None:
    """Of a triangle a triangle is left, which is half of the cloth round it."""
    with open_store(tmp_path / "other") as store:
        with store.change("test") as writer:
            writer.add_scrap(NewScrap(outline=TRIANGLE, family="red", grain_deg=0.0))
        kept(store, project(tmp_path, "one", ("red", "3", "3", 1)), "one")
    booked = scrapstore("--store", str(tmp_path / "other"), "cut", "one", "--yes").out
    assert "triangle in" in booked
