"""Matching a project against a store: stock on offer, frames, yardage, the answer's form."""

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from shapely import Polygon, box

from scrapstore.actions.match import match_project
from scrapstore.actions.sheets import cutting_report, make_sheets
from scrapstore.errors import PlanError, ProjectError
from scrapstore.json_output.match import match_out
from scrapstore.planning.strip_cuts import strip_cuttings
from scrapstore.report.yardage_text import buy_text, letters, role_words
from scrapstore.settings import Settings, overridden
from scrapstore.shapes import cut_shape, make_shape
from scrapstore.store import NewFabric, NewReadyCut, NewScrap, NewYardage, Store, open_store, plans
from scrapstore.units import parse_length
from tests.support.kept_plans import keep

PROJECT = """
format = 1
name = "Bench pad"

[roles.top]
families = ["blue"]

[[pieces]]
name = "square"
shape = "square"
side = "2"
count = {count}
role = "top"
{more}
"""
SETTINGS = Settings()


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "store") as store:
        yield store


def project(folder: Path, count: int = 6, more: str = "") -> Path:
    file = folder / "pad.toml"
    file.write_text(PROJECT.format(count=count, more=more), encoding="utf-8")
    return file


def blue(outline: Polygon, **more: object) -> NewScrap:
    return NewScrap(outline=outline, family="blue", value="dark", **more)  # type: ignore[arg-type]


def test_pieces_lie_inside_the_scrap_in_its_own_inches_along_its_own_grain(
    store: Store, tmp_path: Path
) -> None:
    """Squares of 2 1/2 in cut on a scrap whose grain runs at 30° stand at 30° on the drawing."""
    outline = Polygon([(0, 0), (9, 1), (10, 7), (2, 8)])
    with store.change("test") as writer:
        writer.add_scrap(blue(outline, grain_deg=30.0, margin=0.125))
    result = match_project(store, project(tmp_path), settings=SETTINGS)
    (cut,) = result.cuts
    assert cut.placements
    for placement in cut.placements:
        assert placement.outline.area == pytest.approx(2.5**2)
        assert outline.buffer(-0.125 + 1e-6, join_style="mitre").contains(placement.outline)
        (x0, y0), (x1, y1) = placement.outline.exterior.coords[:2]
        tangent = (y1 - y0) / (x1 - x0)
        assert min(abs(tangent - 3**-0.5), abs(tangent + 3**0.5)) < 1e-9


def test_only_what_is_available_and_keeps_the_role_is_used(store: Store, tmp_path: Path) -> None:
    with store.change("test") as writer:
        taken = writer.add_scrap(blue(box(0, 0, 6, 6)))
        writer.add_scrap(blue(box(0, 0, 9, 9), status="set aside", set_aside_for="another"))
        writer.add_scrap(blue(box(0, 0, 9, 9), status="used up"))
        writer.add_scrap(NewScrap(outline=box(0, 0, 9, 9), family="red", value="dark"))
    result = match_project(store, project(tmp_path), settings=SETTINGS)
    assert [cut.scrap.id for cut in result.cuts] == [taken.id]
    assert result.scraps_in_store == 2


def test_uncertainty_and_flaws_keep_pieces_away(store: Store, tmp_path: Path) -> None:
    """A 5 × 5 in scrap gives four squares of 2 1/2 in; with any loss at the edge just one row."""
    with store.change("test") as writer:
        scrap = writer.add_scrap(blue(box(0, 0, 5, 5)))
    assert match_project(store, project(tmp_path), settings=SETTINGS).supplies[0].scraps == 4
    with store.change("test") as writer:
        writer.update_scrap(replace(scrap, uncertainty=0.05))
    assert match_project(store, project(tmp_path), settings=SETTINGS).supplies[0].scraps == 1
    with store.change("test") as writer:
        writer.update_scrap(replace(scrap, flaws=(box(2.4, 2.4, 2.6, 2.6),)))
    assert match_project(store, project(tmp_path), settings=SETTINGS).supplies[0].scraps < 4


def test_ready_cut_pieces_come_first(store: Store, tmp_path: Path) -> None:
    shape = make_shape("square", side=2)
    with store.change("test") as writer:
        writer.add_scrap(blue(box(0, 0, 9, 9)))
        lot = writer.add_ready_cut(
            NewReadyCut(kind="square", label=shape.label, cut=cut_shape(shape, 0.25), count=4,
                        family="blue")
        )  # fmt: skip
    result = match_project(store, project(tmp_path), settings=SETTINGS)
    assert [(use.lot.id, use.count) for use in result.ready] == [(lot.id, 4)]
    assert result.supplies[0].scraps == 2


def test_what_is_short_becomes_strips_and_a_length_to_buy(store: Store, tmp_path: Path) -> None:
    """40 squares of 2 1/2 in from 40 in: 16 to a strip, so 3 strips, 7 1/2 in of fabric."""
    result = match_project(store, project(tmp_path, 40), settings=SETTINGS)
    (shortage,) = result.shortages
    assert [(s.width, s.times) for s in shortage.plan.strips] == [(2.5, 2), (2.5, 1)]
    assert shortage.plan.length == 7.5
    assert buy_text(shortage, "in") == "1/4 yd"
    assert buy_text(shortage, "cm") == "30 cm"


def test_a_length_at_hand_that_is_enough_need_not_be_bought(store: Store, tmp_path: Path) -> None:
    with store.change("test") as writer:
        cloth = writer.add_fabric(NewFabric(name="blue drill", family="blue", usable_width=40.0))
        other = writer.add_fabric(NewFabric(name="red drill", family="red", usable_width=40.0))
        writer.add_yardage(NewYardage(fabric=cloth, length=8.0))
        writer.add_yardage(NewYardage(fabric=cloth, length=9.0, place="shelf"))
        writer.add_yardage(NewYardage(fabric=other, length=99.0))
    result = match_project(store, project(tmp_path, 40), settings=SETTINGS)
    (shortage,) = result.shortages
    assert [(h.yardage.length, h.takes) for h in shortage.on_hand] == [(9.0, 8.5)]
    assert not shortage.buy
    assert buy_text(shortage, "in") == "nothing: what you have is enough"
    assert role_words(shortage, letters(result), "in", strip_cuttings(result)[0])[0] == (
        "You have 9 in of blue drill (length 2, kept in shelf): it covers 40 A and takes 8 1/2 in, "
        "1 in of it for straightening the end."
    )


def test_the_same_question_gives_the_same_answer(store: Store, tmp_path: Path) -> None:
    with store.change("test") as writer:
        for size in (4.0, 5.5, 7.0):
            writer.add_scrap(blue(Polygon([(0, 0), (size, 0.4), (size - 1, size), (0.3, size)])))
    answers = [
        match_out(match_project(store, project(tmp_path, 9), settings=SETTINGS)) for _ in range(2)
    ]
    assert answers[0].model_dump_json() == answers[1].model_dump_json()


def test_the_json_adds_up_and_names_everything(store: Store, tmp_path: Path) -> None:
    with store.change("test") as writer:
        writer.add_scrap(blue(box(0, 0, 5, 5), place="tin"))
    out = json.loads(
        match_out(match_project(store, project(tmp_path, 9), settings=SETTINGS)).model_dump_json()
    )
    (piece,) = out["pieces"]
    assert piece["wanted"] == piece["ready"] + piece["scraps"] + piece["yardage"] == 9
    assert piece["scraps"] <= piece["at_most"] <= 9
    (scrap,) = out["scraps"]
    assert scrap["place"] == "tin"
    assert scrap["grain_assumed"] is True
    assert len(scrap["placements"]) == scrap["counts"]["square"] == 4
    assert sum(len(p["outline"]) for p in scrap["placements"]) == 16
    assert out["yardage"][0]["pieces"] == {"square": 5}


def test_sheets_show_the_place_the_cut_size_and_the_warning_about_grain(
    store: Store, tmp_path: Path
) -> None:
    with store.change("test") as writer:
        writer.add_scrap(blue(box(0, 0, 5, 5), place="tin under the bench", name="apron"))
    result = match_project(store, project(tmp_path, 9), settings=SETTINGS)
    report = cutting_report(store, result, SETTINGS)
    assert report.lines[0].cut_size == ("side 2 1/2 in",)
    files = make_sheets(store, result, SETTINGS, tmp_path / "sheets")
    page = files[0].read_text(encoding="utf-8")
    for text in (
        "tin under the bench",
        "apron",
        "grain of this scrap is not known",
        "A4",
        "1/8 yd",
    ):
        assert text in page


def test_paper_has_words_for_lengths_between_marks(store: Store, tmp_path: Path) -> None:
    """A seam allowance of 1/4 in on a ruler in millimetres."""
    result = match_project(store, project(tmp_path, 9), settings=SETTINGS)
    report = cutting_report(store, result, overridden(SETTINGS, {"units": "cm"}))
    told = [report.finished, *(line.label for line in report.lines)]
    told += [source.text for role in report.short for source in role.sources]
    assert "seam allowance 1/4 in" in report.finished
    assert not any("~" in text for text in told)


def test_a_faulty_project_file_is_refused_with_its_line(store: Store, tmp_path: Path) -> None:
    file = project(tmp_path, more='grian = "free"')
    with pytest.raises(ProjectError, match=r"pad\.toml.*grian") as caught:
        match_project(store, file, settings=SETTINGS)
    assert "grain" in str(caught.value)
    assert "14" in str(caught.value)


TRIMMED = """
format = 1
name = "Bench pad"
tips = "trimmed"
[roles.top]
[[pieces]]
name = "half"
shape = "half triangle, right"
height = "3 3/4"
count = 1
role = "top"
[[pieces]]
name = "corner"
shape = "half-square triangle"
short_side = "3"
count = 1
role = "top"
[[pieces]]
name = "square"
shape = "square"
side = "2"
count = 1
role = "top"
"""


def test_printed_cut_sizes_are_those_of_the_drawn_pieces(store: Store, tmp_path: Path) -> None:
    """Trimmed tips make a piece smaller; the table must not tell the size with its tips on.

    The drawn outline is measured here by its bounds as the shape library draws it: the height of
    the half triangle upright, the short sides of the half-square triangle level and upright.
    """
    file = tmp_path / "trimmed.toml"
    file.write_text(TRIMMED, encoding="utf-8")
    with store.change("test") as writer:
        writer.add_scrap(blue(box(0, 0, 20, 9)))
    result = match_project(store, file, settings=SETTINGS)
    lines = {line.name: line for line in cutting_report(store, result, SETTINGS).lines}
    drawn = {piece.name: piece.cut.bounds for piece in result.project.pieces}
    for name, measure in (("half", "height"), ("corner", "trimmed short side"), ("square", "side")):
        shown = next(text for text in lines[name].cut_size if text.startswith(measure))
        _, low, _, high = drawn[name]
        told = shown.removeprefix(measure).partition("(")[0].removesuffix(" in ").strip()
        mark = parse_length(told)
        assert high - low - 1e-9 <= mark < high - low + 1 / 8
    assert lines["half"].label.endswith("tips trimmed")
    assert not lines["square"].label.endswith("tips trimmed")


def test_the_length_to_buy_follows_the_width_of_the_named_fabric(
    store: Store, tmp_path: Path
) -> None:
    """30 squares of 4 in from 36 in: 9 a strip, 4 strips, 16 in and 1 in to straighten: 1/2 yd."""
    file = tmp_path / "rose.toml"
    text = PROJECT.format(count=30, more="").replace('side = "2"', 'side = "3 1/2"')
    file.write_text(text.replace('families = ["blue"]', 'fabrics = ["rose"]'), encoding="utf-8")
    with store.change("test") as writer:
        writer.add_fabric(NewFabric(name="rose", usable_width=36.0))
    (shortage,) = match_project(store, file, settings=SETTINGS).shortages
    assert shortage.plan.usable_width == 36.0
    assert shortage.plan.length == 16.0
    assert buy_text(shortage, "in") == "1/2 yd"


TWO_ROLES = """
format = 1
name = "Bench pad"
[roles.top]
[roles.edge]
[[pieces]]
name = "square"
shape = "square"
side = "4 1/2"
count = 24
role = "top"
[[pieces]]
name = "band"
shape = "square"
side = "2"
count = 16
role = "edge"
"""


def test_what_is_at_hand_covers_a_part_and_the_rest_is_bought(store: Store, tmp_path: Path) -> None:
    """24 squares of 5 in want three strips; 11 1/2 in straightened is two: 16 squares, 8 to buy."""
    with store.change("test") as writer:
        cloth = writer.add_fabric(NewFabric(name="blue drill", family="blue", usable_width=40.0))
        writer.add_yardage(NewYardage(fabric=cloth, length=12.5))
    file = project(tmp_path, 24)
    file.write_text(file.read_text("utf-8").replace('"2"', '"4 1/2"'), encoding="utf-8")
    result = match_project(store, file, settings=SETTINGS)
    (shortage,) = result.shortages
    (hand,) = shortage.on_hand
    assert hand.plan.pieces == {"square": 16}
    assert shortage.plan.pieces == {"square": 8}
    assert buy_text(shortage, "in") == "1/4 yd"
    said = role_words(shortage, letters(result), "in", strip_cuttings(result)[0])
    assert said[0].startswith("You have 12 1/2 in of blue drill (length 1): it covers 16 A")
    assert said[2].startswith("Buy 1/4 yd for the rest, 8 A:")
    assert said[3] == (
        "Cut 1 strip 5 in × WOF, and straighten the left end: it gives 8 A square. "
        "Cut 1: 5 in right of the left end: gives A17. Cut 2 to 7: Each 5 in right of the cut "
        "before: gives A18 to A24."
    )
    out = match_out(result).yardage[0]
    assert (out.pieces, out.buy, out.on_hand[0].covers) == (
        {"square": 24}, {"square": 8}, {"square": 16},
    )  # fmt: skip
    assert out.must_buy
    assert not out.on_hand[0].enough
    assert out.instructions == list(said)


def test_no_length_is_promised_twice(store: Store, tmp_path: Path) -> None:
    """16 in: three strips of 5 in for the one role leave none of 2 1/2 in for the other."""
    file = tmp_path / "two.toml"
    file.write_text(TWO_ROLES, encoding="utf-8")
    with store.change("test") as writer:
        cloth = writer.add_fabric(NewFabric(name="blue drill", family="blue", usable_width=40.0))
        length = writer.add_yardage(NewYardage(fabric=cloth, length=16.0))
    top, edge = match_project(store, file, settings=SETTINGS).shortages
    assert (top.buy, edge.buy) == (False, True)
    assert not edge.on_hand
    with store.change("test") as writer:
        writer.update_yardage(replace(length, length=18.5))
    top, edge = match_project(store, file, settings=SETTINGS).shortages
    assert (top.buy, edge.buy) == (False, False)
    assert (top.on_hand[0].takes, edge.on_hand[0].before, edge.on_hand[0].takes) == (16, 16, 2.5)


def test_lengths_keep_the_conditions_of_a_role(store: Store, tmp_path: Path) -> None:
    """At most ten of one fabric, in sets of five: two lengths of it still give ten together."""
    file = project(tmp_path, 20)
    rules = 'families = ["blue"]\nmax_per_fabric = 10\nsame_fabric_sets = 5'
    text = file.read_text("utf-8").replace('families = ["blue"]', rules)
    file.write_text(text, encoding="utf-8")
    with store.change("test") as writer:
        for name, long in (("drill", 5.0), ("drill", 5.0), ("duck", 3.6)):
            known = [fabric for fabric in writer.fabrics() if fabric.name == name]
            cloth = known[0] if known else writer.add_fabric(
                NewFabric(name=name, family="blue", usable_width=20.0)
            )  # fmt: skip
            writer.add_yardage(NewYardage(fabric=cloth, length=long))
    (shortage,) = match_project(store, file, settings=SETTINGS).shortages
    given = {"drill": 0, "duck": 0}
    for hand in shortage.on_hand:
        given[hand.yardage.fabric.name] += hand.plan.pieces["square"]
    assert given == {"drill": 10, "duck": 5}
    assert shortage.plan.pieces == {"square": 5}


def test_a_named_fabric_is_found_in_any_capitals_and_one_misspelt_is_told(
    store: Store, tmp_path: Path
) -> None:
    file = project(tmp_path)
    text = file.read_text("utf-8").replace('families = ["blue"]', 'fabrics = ["Blue SHIRT"]')
    file.write_text(text, encoding="utf-8")
    with store.change("test") as writer:
        cloth = writer.add_fabric(NewFabric(name="blue shirt", family="blue"))
        writer.add_scrap(blue(box(0, 0, 12, 12), fabric=cloth))
    found = match_project(store, file, settings=SETTINGS)
    assert found.cuts
    assert found.notes == ()
    file.write_text(text.replace("SHIRT", "shrit"), encoding="utf-8")
    (note,) = match_project(store, file, settings=SETTINGS).notes
    assert "no fabric is called 'Blue shrit'; did you mean 'blue shirt'?" in note


def test_a_plan_that_takes_nothing_is_not_kept(store: Store, tmp_path: Path) -> None:
    with pytest.raises(PlanError, match="no plan to keep"):
        keep(store, match_project(store, project(tmp_path), settings=SETTINGS))
    with store.read() as reader:
        assert plans(reader) == ()


def test_the_piece_that_would_cost_a_strip_of_its_own_is_cut_first(
    store: Store, tmp_path: Path
) -> None:
    """4 × 4 in of cloth: four squares of 2 in, or one rectangle of 4 × 3 3/4 in, an inch less.

    With the straightening a strip of 3 3/4 in is more than an eighth of a yard, one of 2 in is not.
    """
    file = tmp_path / "strips.toml"
    file.write_text(
        """
format = 1
name = "Strips"
seam_allowance = "0"
[roles.top]
[[pieces]]
name = "large"
shape = "rectangle"
width = "4"
height = "3 3/4"
count = 1
role = "top"
[[pieces]]
name = "small"
shape = "square"
side = "2"
count = 4
role = "top"
""",
        encoding="utf-8",
    )
    with store.change("test") as writer:
        writer.add_scrap(blue(box(0, 0, 4, 4)))
    result = match_project(store, file, settings=SETTINGS)
    assert {supply.need: supply.short for supply in result.supplies} == {"large": 0, "small": 4}
    (shortage,) = result.shortages
    assert shortage.plan.buy_yards == 1 / 8
