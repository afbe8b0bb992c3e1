"""Matching a project against a store: stock on offer, frames, yardage, the answer's form."""

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from shapely import Polygon, box

from scrapstore.actions.match import match_loaded, match_project
from scrapstore.actions.project import read_project_file
from scrapstore.designs import make_design
from scrapstore.errors import PlanError, ProjectError
from scrapstore.json_output.match import match_out
from scrapstore.projects import design_text
from scrapstore.report.cutting_report import cutting_report, make_sheets
from scrapstore.settings import Settings, overridden
from scrapstore.shapes import cut_shape, make_shape
from scrapstore.store import NewFabric, NewReadyCut, NewScrap, Store, open_store, plans
from scrapstore.units import parse_length
from tests.support.kept_plans import keep
from tests.support.pad import write_pad
from tests.support.pdf_reading import MM, page_sizes

SETTINGS = Settings()


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "store") as store:
        yield store


def pad(folder: Path, count: int = 6, more: str = "") -> Path:
    return write_pad(folder, count, rules='families = ["blue"]', more=more)


def blue(outline: Polygon, **more: object) -> NewScrap:
    return NewScrap(outline=outline, family="blue", value="dark", **more)  # type: ignore[arg-type]


def test_pieces_lie_inside_the_scrap_in_its_own_inches_along_its_own_grain(
    store: Store, tmp_path: Path
) -> None:
    """Squares of 2 1/2 in cut on a scrap whose grain runs at 30° stand at 30° on the drawing."""
    outline = Polygon([(0, 0), (9, 1), (10, 7), (2, 8)])
    with store.change("test") as writer:
        writer.add_scrap(blue(outline, grain_deg=30.0, margin=0.125))
    result = match_project(store, pad(tmp_path), settings=SETTINGS)
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
    result = match_project(store, pad(tmp_path), settings=SETTINGS)
    assert [cut.scrap.id for cut in result.cuts] == [taken.id]
    assert result.scraps_in_store == 2


def test_uncertainty_and_flaws_keep_pieces_away(store: Store, tmp_path: Path) -> None:
    """A 5 × 5 in scrap gives four squares of 2 1/2 in; with any loss at the edge just one row."""
    with store.change("test") as writer:
        scrap = writer.add_scrap(blue(box(0, 0, 5, 5)))
    assert match_project(store, pad(tmp_path), settings=SETTINGS).supplies[0].scraps == 4
    with store.change("test") as writer:
        writer.update_scrap(replace(scrap, uncertainty=0.05))
    assert match_project(store, pad(tmp_path), settings=SETTINGS).supplies[0].scraps == 1
    with store.change("test") as writer:
        writer.update_scrap(replace(scrap, flaws=(box(2.4, 2.4, 2.6, 2.6),)))
    assert match_project(store, pad(tmp_path), settings=SETTINGS).supplies[0].scraps < 4


def test_ready_cut_pieces_come_first(store: Store, tmp_path: Path) -> None:
    shape = make_shape("square", side=2)
    with store.change("test") as writer:
        writer.add_scrap(blue(box(0, 0, 9, 9)))
        lot = writer.add_ready_cut(
            NewReadyCut(kind="square", label=shape.label, cut=cut_shape(shape, 0.25), count=4,
                        family="blue")
        )  # fmt: skip
    result = match_project(store, pad(tmp_path), settings=SETTINGS)
    assert [(use.lot.id, use.count) for use in result.ready] == [(lot.id, 4)]
    assert result.supplies[0].scraps == 2


def test_a_project_in_hand_is_matched_on_the_scraps_it_is_limited_to(
    store: Store, tmp_path: Path
) -> None:
    """Four squares of 2 1/2 in fit on 5 × 5 in, one on 3 × 3; nine are wanted, five stay short."""
    shape = make_shape("square", side=2)
    with store.change("test") as writer:
        named = writer.add_scrap(blue(box(0, 0, 5, 5)))
        small = writer.add_scrap(blue(box(0, 0, 3, 3)))
        gone = writer.add_scrap(blue(box(0, 0, 9, 9), status="used up"))
        writer.add_scrap(blue(box(0, 0, 9, 9)))
        writer.add_ready_cut(
            NewReadyCut(kind="square", label=shape.label, cut=cut_shape(shape, 0.25), count=3,
                        family="blue")
        )  # fmt: skip
    project = read_project_file(pad(tmp_path, 9), SETTINGS)
    (result,) = match_loaded(
        store, project, 1, settings=SETTINGS, scrap_ids={named.id, gone.id}, with_ready=False,
        with_yardage=False,
    )  # fmt: skip
    assert [(cut.scrap.id, cut.counts) for cut in result.cuts] == [(named.id, {"square": 4})]
    assert (result.ready, result.shortages, result.scraps_in_store) == ((), (), 1)
    assert result.supplies[0].short == 5

    (more,) = match_loaded(
        store, project, 1, settings=SETTINGS, scrap_ids={named.id, small.id}, why=False
    )
    supply = more.supplies[0]
    assert (supply.ready, supply.scraps, supply.short) == (3, 5, 1)
    assert more.shortages[0].pieces == {"square": 1}


def test_the_same_question_gives_the_same_answer(store: Store, tmp_path: Path) -> None:
    with store.change("test") as writer:
        for size in (4.0, 5.5, 7.0):
            writer.add_scrap(blue(Polygon([(0, 0), (size, 0.4), (size - 1, size), (0.3, size)])))
    answers = [
        match_out(match_project(store, pad(tmp_path, 9), settings=SETTINGS)) for _ in range(2)
    ]
    assert answers[0].model_dump_json() == answers[1].model_dump_json()


def test_the_json_adds_up_and_names_everything(store: Store, tmp_path: Path) -> None:
    with store.change("test") as writer:
        writer.add_scrap(blue(box(0, 0, 5, 5), place="tin"))
    out = json.loads(
        match_out(match_project(store, pad(tmp_path, 9), settings=SETTINGS)).model_dump_json()
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
    result = match_project(store, pad(tmp_path, 9), settings=SETTINGS)
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


def test_what_a_design_says_of_its_borders_stands_on_the_sheets(
    store: Store, tmp_path: Path
) -> None:
    """A border is cut to the measured middle of the top (common practice), not with the rest."""
    design = make_design("squares", piece=2, rows=2, columns=2, border=1, seam=0.25, mark=0.125)
    file = tmp_path / "bordered.toml"
    file.write_text(design_text(design, 0.25), encoding="utf-8")
    result = match_project(store, file, settings=SETTINGS)
    page = make_sheets(store, result, SETTINGS, tmp_path / "sheets")[0]
    assert "measure the sewn top through its middle" in page.read_text("utf-8")


def test_paper_has_words_for_lengths_between_marks(store: Store, tmp_path: Path) -> None:
    """A seam allowance of 1/4 in on a ruler in millimetres."""
    result = match_project(store, pad(tmp_path, 9), settings=SETTINGS)
    report = cutting_report(store, result, overridden(SETTINGS, {"units": "cm"}))
    told = [report.finished, *(line.label for line in report.lines)]
    told += [source.text for role in report.short for source in role.sources]
    assert "seam allowance 1/4 in" in report.finished
    assert not any("~" in text for text in told)


def test_a_faulty_project_file_is_refused_with_its_line(store: Store, tmp_path: Path) -> None:
    file = pad(tmp_path, more='grian = "free"')
    with pytest.raises(ProjectError, match=r"pad\.toml.*grian") as caught:
        match_project(store, file, settings=SETTINGS)
    assert "grain" in str(caught.value)
    assert "line 13" in str(caught.value)


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


def test_what_to_fetch_is_in_the_order_of_places(store: Store, tmp_path: Path) -> None:
    """Small letters or capitals; at one place the larger scrap first; what has no place last."""
    with store.change("test") as writer:
        for side, place in ((5, None), (5, "tin"), (5, "Basket"), (7.75, "tin")):
            writer.add_scrap(blue(box(0, 0, side, 5), place=place))
    report = cutting_report(
        store, match_project(store, pad(tmp_path, 18), settings=SETTINGS), SETTINGS
    )
    assert [one.place for one in report.fetch] == ["Basket", "tin", "tin", ""]
    assert report.fetch[1].what.startswith("scrap 4: 7 3/4 × 5 in, ")
    assert all(one.cloth for one in report.fetch)


def test_templates_are_of_what_a_ruler_alone_does_not_cut(store: Store, tmp_path: Path) -> None:
    """Not of the square, whose cuts are all on marks; the page links them, on the paper set."""
    file = tmp_path / "trimmed.toml"
    file.write_text(TRIMMED, encoding="utf-8")
    with store.change("test") as writer:
        writer.add_scrap(blue(box(0, 0, 20, 9)))
    result = match_project(store, file, settings=SETTINGS)
    assert [one.names for one in cutting_report(store, result, SETTINGS).templates] == [
        ("half",),
        ("corner",),
    ]
    for paper, size in (("letter", (612, 792)), ("a4", (210 * MM, 297 * MM))):
        settings = overridden(SETTINGS, {"paper": paper})
        page, sheets, pdf, *_ = make_sheets(store, result, settings, tmp_path / "sheets")
        assert (sheets.name, pdf.name) == ("cutting-sheets.pdf", "templates.pdf")
        for file in (sheets, pdf):
            (found,) = page_sizes(file)
            assert found == pytest.approx(size, abs=0.01)
        assert 'href="templates.pdf"' in page.read_text(encoding="utf-8")
    assert overridden(SETTINGS, {"units": "cm"}).page == "a4"
    assert SETTINGS.page == "letter"


def test_a_named_fabric_is_found_in_any_capitals_and_one_misspelt_is_told(
    store: Store, tmp_path: Path
) -> None:
    file = pad(tmp_path)
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
        keep(store, match_project(store, pad(tmp_path), settings=SETTINGS))
    with store.read() as reader:
        assert plans(reader) == ()


def test_a_match_that_was_stopped_says_that_it_leaves_more_to_templates(
    store: Store, tmp_path: Path
) -> None:
    """An L is cut by template however long the search is; only a stopped one says so."""
    with store.change("test") as writer:
        writer.add_scrap(blue(box(0, 0, 9, 9)))
    project = tmp_path / "ell.toml"
    ell = '[["0", "0"], ["3", "0"], ["3", "1"], ["1", "1"], ["1", "3"], ["0", "3"]]'
    project.write_text(
        f'format = 1\nname = "Ell"\n[roles.all]\n[[pieces]]\nname = "ell"\nshape = "polygon"\n'
        f'corners = {ell}\ncount = 1\nrole = "all"\n',
        encoding="utf-8",
    )
    whole = match_project(store, project, settings=SETTINGS)
    assert [piece.template for piece in whole.cuts[0].cutting.pieces] == [True]
    assert not whole.notes

    def interrupt(*_: object) -> None:
        raise KeyboardInterrupt

    stopped = match_project(
        store, project, settings=SETTINGS, stopping=lambda: None, progress=interrupt
    )
    assert stopped.stopped
    assert [cut.counts for cut in stopped.cuts] == [{"ell": 1}]
    (note,) = stopped.notes
    assert "stopped" in note
