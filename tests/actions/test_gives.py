"""What scraps give for open projects, kept plans and the stock list, by hand-worked small cases."""

import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from shapely import Polygon, affinity, box

from scrapstore.actions.gives import GivesResult, what_is_open, what_scraps_give
from scrapstore.actions.match import match_project
from scrapstore.errors import NotFoundError, PlanError
from scrapstore.json_output.gives import gives_out
from scrapstore.packing import Layout, PieceKind, verify
from scrapstore.report.given_text import given_lines
from scrapstore.settings import Settings
from scrapstore.shapes import cut_shape, make_shape
from scrapstore.store import NewFabric, NewReadyCut, NewScrap, Scrap, Store, open_store, plans
from tests.support.big_store import outline as random_outline
from tests.support.cut_scraps import corners
from tests.support.cutter import cut_out
from tests.support.kept_plans import keep
from tests.support.pad import write_pad

# Squares that finish at 2 in are cut 2 1/2 in; those of the stock list finish at 1, cut 1 1/2.
SETTINGS = Settings()
SIZES = """
format = 1
name = "Sizes"
[roles.any]
[[pieces]]
name = "small"
shape = "square"
side = "1"
count = 10
role = "any"
"""


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "store") as store:
        yield store


@pytest.fixture
def sizes(tmp_path: Path) -> Settings:
    """Settings with the stock list above."""
    file = tmp_path / "sizes.toml"
    file.write_text(SIZES, encoding="utf-8")
    return replace_stock_list(file)


def replace_stock_list(file: Path) -> Settings:
    return SETTINGS.model_copy(update={"stock_list": str(file)})


def add(store: Store, outline: Polygon, fabric: str | None = None, **more: object) -> Scrap:
    with store.change("scrap add") as writer:
        cloth = None
        if fabric is not None:
            known = {one.name: one for one in writer.fabrics()}
            cloth = known.get(fabric) or writer.add_fabric(NewFabric(name=fabric))
        given = {"family": "blue", "fabric": cloth} | more
        return writer.add_scrap(NewScrap(outline=outline, **given))  # type: ignore[arg-type]


def squares_in_stock(store: Store, side: float, count: int) -> None:
    shape = make_shape("square", side=side)
    with store.change("test") as writer:
        writer.add_ready_cut(
            NewReadyCut(kind="square", label=shape.label, cut=cut_shape(shape, 0.25), count=count)
        )


def bench(store: Store, folder: Path, count: int = 12, rules: str = 'families = ["blue"]') -> None:
    """Keep a plan called bench; 5 × 5 in gives four of its squares, the others are to be bought."""
    file = write_pad(folder, count, name="bench", rules=rules)
    keep(store, match_project(store, file, settings=SETTINGS, why=False))


def given(store: Store, settings: Settings = SETTINGS, *numbers: int) -> GivesResult:
    return what_scraps_give(store, numbers, what_is_open(store, (), settings), settings=settings)


def counts(result: GivesResult) -> dict[tuple[str, str], int]:
    found: Counter[tuple[str, str]] = Counter()
    for one in result.given:
        found[one.wanted.name, one.piece.name] += one.count
    return dict(found)


def first_lines(result: GivesResult) -> list[str]:
    listed = [(one.scrap.id, one.piece.name, one.wanted, one.count) for one in result.given]
    return given_lines([scrap.id for scrap in result.scraps], result.open.wanted, listed)


def test_a_plan_comes_first_and_the_stock_list_takes_what_is_left(
    store: Store, tmp_path: Path, sizes: Settings
) -> None:
    """7 1/2 × 4: three of 2 1/2 side by side, and five of 1 1/2 in the row of 7 1/2 × 1 1/2 left.

    3 × 6.25 + 5 × 2.25 = 30 = 7.5 × 4: nothing is counted twice. The stock list alone would take
    5 × 2 = 10 of it.
    """
    add(store, box(0, 0, 5, 5))
    bench(store, tmp_path)
    new = add(store, box(0, 0, 7.5, 4))
    result = given(store, sizes)
    assert [scrap.id for scrap in result.scraps] == [new.id]
    assert counts(result) == {("bench", "square"): 3, ("stock", "small"): 5}
    assert first_lines(result) == ["Scrap 2 gives 3 × square for 'bench' and 5 × small for stock."]
    assert result.answer is not None
    (cut,) = result.answer.cuts
    assert sum(one.outline.area for one in cut.placements) == pytest.approx(30)
    with store.change("test") as writer:
        writer.update_scrap(replace(new, family="red"))
    assert counts(given(store, sizes)) == {("stock", "small"): 10}


def test_a_project_that_is_named_comes_before_a_plan(store: Store, tmp_path: Path) -> None:
    """Two squares wanted by the project, eight by the plan; 7 1/2 × 2 1/2 gives three."""
    add(store, box(0, 0, 5, 5))
    bench(store, tmp_path)
    add(store, box(0, 0, 7.5, 2.5))
    file = write_pad(tmp_path, 2, name="tray")
    opened = what_is_open(store, (file,), SETTINGS)
    assert [(one.called, one.project.pieces[0].count) for one in opened.wanted] == [
        ("'tray'", 2), ("'bench'", 8),
    ]  # fmt: skip
    result = what_scraps_give(store, (), opened, settings=SETTINGS)
    assert counts(result) == {("tray", "square"): 2, ("bench", "square"): 1}


def test_ready_cut_pieces_are_counted_once_for_projects_then_for_the_stock_list(
    store: Store, tmp_path: Path
) -> None:
    """Seven there: three for the project, four for the list of ten, which still wants six."""
    sizes = tmp_path / "sizes.toml"
    sizes.write_text(SIZES.replace('side = "1"', 'side = "2"'), encoding="utf-8")
    squares_in_stock(store, 2, 7)
    squares_in_stock(store, 1, 5)
    file = write_pad(tmp_path, 3, name="tray")
    settings = replace_stock_list(sizes)
    opened = what_is_open(store, (file,), settings)
    (stock,) = opened.wanted
    assert (stock.kind, stock.project.pieces[0].count) == ("stock", 10 - (7 - 3))
    squares_in_stock(store, 2, 6)
    full = what_is_open(store, (file,), settings)
    assert (full.wanted, full.asked) == ((), True)
    add(store, box(0, 0, 5, 5))
    assert first_lines(given(store, settings)) == [
        "Nothing is wanted now: what is open has all its pieces."
    ]


@pytest.mark.parametrize(
    ("rules", "count", "fabric", "gives"),
    [
        # The plan has four squares of linen; the new 7 1/2 × 2 1/2 in would give three.
        ("", 12, "linen", 3),
        ("max_per_fabric = 5", 12, "linen", 1),
        ("max_per_fabric = 5", 12, "wool", 3),
        ("min_fabrics = 2", 6, "linen", 1),  # of two that lack, one is left for another fabric
        ("min_fabrics = 2", 6, "wool", 2),
        ("same_fabric_sets = 2", 8, "linen", 2),
        ("same_fabric_sets = 4", 8, "wool", 0),
        ('fabrics = ["linen"]', 12, "wool", 0),
    ],
)
def test_the_conditions_of_the_plan_hold_over_all_of_it(
    store: Store, tmp_path: Path, rules: str, count: int, fabric: str, gives: int
) -> None:
    add(store, box(0, 0, 5, 5), "linen")
    bench(store, tmp_path, count, rules)
    add(store, box(0, 0, 7.5, 2.5), fabric)
    assert sum(counts(given(store)).values()) == gives


def test_what_is_kept_holds_what_was_said_and_is_not_promised_again(
    store: Store, tmp_path: Path, sizes: Settings
) -> None:
    """Eight short: three are kept, five stay; of ten in stock five stay as well."""
    add(store, box(0, 0, 5, 5))
    bench(store, tmp_path)
    new = add(store, box(0, 0, 7.5, 4))
    result = given(store, sizes)
    assert result.answer is not None
    plan = keep(store, result.answer, "cut now", sizes)
    assert plan.scrap_ids == (new.id,)
    assert plan.project == "bench and stock"
    pieces = {one["name"]: one for one in plan.document["pieces"]}
    assert {name: (one["wanted"], one["scraps"]) for name, one in pieces.items()} == {
        "square for bench": (3, 3), "small for stock": (5, 5),
    }  # fmt: skip
    (scrap,) = plan.document["scraps"]
    labels = sorted(one["label"] for one in scrap["placements"])
    assert labels == ["A1", "A2", "A3", "B1", "B2", "B3", "B4", "B5"]
    with store.read() as reader:
        assert reader.scrap(new.id).set_aside_for == "cut now"
        assert len(plans(reader)) == 2
    still = what_is_open(store, (), sizes).wanted
    assert [(one.name, one.project.pieces[0].count) for one in still] == [
        ("bench", 5), ("stock", 5),
    ]  # fmt: skip


def test_ready_cut_pieces_that_are_free_now_are_not_cut_for_a_plan_again(
    store: Store, tmp_path: Path
) -> None:
    """Of eight short, three are there since: five are still wanted."""
    add(store, box(0, 0, 5, 5))
    bench(store, tmp_path, rules="")
    squares_in_stock(store, 2, 3)
    (plan,) = what_is_open(store, (), SETTINGS).wanted
    assert plan.project.pieces[0].count == 5


def test_a_plan_that_has_all_its_pieces_is_not_open(store: Store, tmp_path: Path) -> None:
    add(store, box(0, 0, 5, 5))
    bench(store, tmp_path, 4)
    opened = what_is_open(store, (), SETTINGS)
    assert (opened.wanted, opened.asked) == ((), True)


def test_the_newest_visit_is_what_was_logged_or_added_last(store: Store, sizes: Settings) -> None:
    """Two changes in a row are one visit; something else between, or an edit after, is not."""
    old = add(store, box(0, 0, 3, 3))
    squares_in_stock(store, 3, 1)
    with store.change("scrap edit") as writer:
        writer.update_scrap(replace(old, place="tin"))
    first, second = add(store, box(0, 0, 3, 3)), add(store, box(0, 0, 2, 2))
    with store.change("scrap edit") as writer:
        writer.update_scrap(replace(second, place="tin"))
    assert [scrap.id for scrap in given(store, sizes).scraps] == [first.id, second.id]
    with store.change("scrap retire") as writer:
        writer.update_scrap(replace(first, status="used up"))
    assert [scrap.id for scrap in given(store, sizes).scraps] == [second.id]
    assert [scrap.id for scrap in given(store, sizes, old.id).scraps] == [old.id]


def test_what_cannot_be_asked_is_refused_with_what_to_do(store: Store, sizes: Settings) -> None:
    with pytest.raises(PlanError, match="nothing is open: name a project with --for"):
        given(store)
    with pytest.raises(NotFoundError, match="give numbers: gives 3 5-8"):
        given(store, sizes)
    add(store, box(0, 0, 3, 3), status="set aside", set_aside_for="bench")
    with pytest.raises(PlanError, match="scrap 1 is set aside for 'bench'"):
        given(store, sizes, 1)
    with pytest.raises(NotFoundError, match="no scrap has the number 7"):
        given(store, sizes, 7)


def test_nothing_fits(store: Store, tmp_path: Path, sizes: Settings) -> None:
    add(store, box(0, 0, 5, 5))
    bench(store, tmp_path)
    add(store, box(0, 0, 1, 9))
    result = given(store, sizes)
    assert (result.given, result.answer) == ((), None)
    assert first_lines(result) == ["Scrap 2 gives no piece for 'bench' or stock."]
    assert gives_out(result).answer is None


def test_another_seam_allowance_is_left_out_and_said(store: Store, tmp_path: Path) -> None:
    sizes = tmp_path / "sizes.toml"
    sizes.write_text(
        SIZES.replace("[roles.any]", 'seam_allowance = "3/8"\n[roles.any]'), encoding="utf-8"
    )
    file = write_pad(tmp_path, 2, name="tray")
    opened = what_is_open(store, (file,), replace_stock_list(sizes))
    assert [one.name for one in opened.wanted] == ["tray"]
    assert opened.left_out == ("stock has another seam allowance than 'tray' and is left out",)


@pytest.mark.parametrize("seed", range(3))
def test_what_is_said_to_be_given_can_be_cut(store: Store, tmp_path: Path, seed: int) -> None:
    """By the packer's verifier, and by a cutter who has only the outline and the JSON."""
    draw = random.Random(seed)
    sizes = tmp_path / "sizes.toml"
    sizes.write_text(SIZES, encoding="utf-8")
    settings = replace_stock_list(sizes)
    add(store, box(0, 0, 5, 5))
    bench(store, tmp_path)
    for _ in range(3):
        turn = draw.choice((0.0, draw.uniform(0, 90)))
        outline = affinity.rotate(random_outline(draw), turn, origin=(0, 0))
        add(store, outline, margin=draw.choice((0.0, 0.125)))
    result = given(store, settings)
    document = gives_out(result)
    assert document.answer is not None
    for said in document.open:
        assert said.given <= said.wanted
    assert sum(one.count for one in result.given) == document.answer.together.covered
    assert result.answer is not None
    kinds = [
        PieceKind(piece.name, piece.cut, piece.count, piece.rotations_deg, mirror=True)
        for piece in result.answer.project.pieces
    ]
    for cut, shown in zip(result.answer.cuts, document.answer.scraps, strict=True):
        value = sum(one.outline.area for one in cut.placements)
        layout = Layout(cut.placements, value, float("inf"))
        assert verify(cut.region, kinds, layout) == []
        plan = cut.cutting
        as_shown = {
            "cuts": [one.model_dump(by_alias=True) for one in shown.cuts],
            "placements": [
                {"label": p.label, "part": p.part, "template": p.template,
                 "outline": corners(p.outline)}
                for p in plan.pieces
            ],
        }  # fmt: skip
        assert cut_out(as_shown, corners(plan.outline), settings.mark).faults == []
        assert {p.label for p in shown.placements} == {p.label for p in plan.pieces}
