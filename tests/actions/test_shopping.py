"""One list for several projects and plans, from a store."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from shapely import box

from scrapstore.actions.match import match_project
from scrapstore.actions.shopping import shop_for
from scrapstore.errors import NotFoundError, SheetError, UsageError
from scrapstore.json_output.shopping import shopping_out
from scrapstore.report.shopping_file import write_shopping
from scrapstore.settings import Settings
from scrapstore.store import NewFabric, NewScrap, NewYardage, Store, open_store
from scrapstore.units import Units
from tests.support.kept_plans import keep
from tests.support.pad import write_pad

SETTINGS = Settings()
BLUE = 'families = ["blue"]'


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """A scrap for 8 squares of 2 1/2 in, and 4 in of blue: one strip, 16 squares."""
    with open_store(tmp_path / "store", make=True) as store:
        with store.change("test") as writer:
            drill = writer.add_fabric(NewFabric(name="blue drill", family="blue"))
            writer.add_scrap(NewScrap(outline=box(0, 0, 10, 5), family="blue", margin=0.0))
            writer.add_yardage(NewYardage(fabric=drill, length=4.0, usable_width=40.0))
        yield store


def pads(folder: Path) -> tuple[str, str]:
    one, two = (write_pad(folder, 20, name=name, rules=BLUE) for name in ("One", "Two"))
    return str(one), str(two)


def test_two_projects_do_not_count_on_the_same_cloth(store: Store, tmp_path: Path) -> None:
    """The first takes the scrap and the length; the second is told who has it, and buys."""
    result = shop_for(store, pads(tmp_path), SETTINGS)
    out = shopping_out(result)
    assert [(one.project, one.scraps, one.lengths) for one in out.on_hand] == [
        ("One", [1], {1: 3.5}), ("Two", [], {}),
    ]  # fmt: skip
    (line,) = out.fabrics
    assert [part.project for part in line.parts] == ["Two"]
    assert "promised to 'One'" in out.words["Promised elsewhere"][0]
    assert [one.word for one in line.match] == ["blue"]
    titles = [section.title for section in result.sheet.sections]
    assert titles == ["Buy", "On hand", "Promised elsewhere", "Margins", "Take a swatch"]


def test_a_kept_plan_counts_as_it_was_kept(store: Store, tmp_path: Path) -> None:
    """What it holds is not offered to others, on the list or off it; nothing is changed."""
    one, two = pads(tmp_path)
    keep(store, match_project(store, Path(one), settings=SETTINGS), "bench")
    alone = shop_for(store, [two], SETTINGS)
    assert [(held.plan, held.scraps, held.lengths) for held in alone.held] == [
        ("bench", 1, (("blue drill", 3.5),))
    ]
    both = shop_for(store, ["bench", two], SETTINGS)
    assert [one.plan for one in both.shopping.wanted] == ["bench", None]
    assert both.held == ()
    assert len(both.shopping.fabrics) == 1
    with store.read() as reader:
        assert reader.yardage_length(1).left == 0.5
    with pytest.raises(NotFoundError, match="neither the file of a project nor a kept plan"):
        shop_for(store, ["couch"], SETTINGS)


def test_nothing_to_buy_is_said(store: Store, tmp_path: Path) -> None:
    file = write_pad(tmp_path, 8, rules=BLUE)
    sheet = shop_for(store, [str(file)], SETTINGS).sheet
    assert sheet.sections[0].entries[0].text == "Nothing: what you have is enough."


def test_margins_are_in_the_units_of_the_user(store: Store, tmp_path: Path) -> None:
    """18 × 22 in at 2.54 cm."""
    file = str(write_pad(tmp_path, 8, rules=BLUE))

    def margins(units: Units) -> str:
        sheet = shop_for(store, [file], SETTINGS.model_copy(update={"units": units})).sheet
        (margins,) = (one for one in sheet.sections if one.title == "Margins")
        return " ".join(entry.text for entry in margins.entries)

    assert "(18 × 22 in) and fat eighths (9 × 22 in)" in margins("in")
    assert "(45.7 × 55.9 cm) and fat eighths (22.9 × 55.9 cm)" in margins("cm")
    assert " in)" not in margins("cm")


def test_the_same_project_twice_is_two(store: Store, tmp_path: Path) -> None:
    one, _ = pads(tmp_path)
    assert shopping_out(shop_for(store, [one, one], SETTINGS)).projects == ["One", "One, no. 2"]


def test_the_list_is_written_as_its_ending_says(store: Store, tmp_path: Path) -> None:
    result = shop_for(store, pads(tmp_path), SETTINGS, tmp_path / "list.html")
    assert result.file == (tmp_path / "list.html").resolve()
    page = (tmp_path / "list.html").read_text(encoding="utf-8")
    assert page.count('class="tick"') == 1
    assert "#416eaf" in page  # the blue that `typical_rgb` has
    first = write_shopping(result.sheet, tmp_path / "list.pdf").read_bytes()
    assert first.startswith(b"%PDF")
    assert write_shopping(result.sheet, tmp_path / "again.pdf").read_bytes() == first
    with pytest.raises(UsageError, match=r"^sheet: .* end it with"):
        shop_for(store, pads(tmp_path), SETTINGS, tmp_path / "list.txt")
    with pytest.raises(SheetError, match=r"^sheet: there is no folder"):
        shop_for(store, pads(tmp_path), SETTINGS, tmp_path / "none" / "list.pdf")
