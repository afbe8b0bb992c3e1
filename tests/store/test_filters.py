"""Filters combine, and each agrees with picking by hand."""

import itertools
import random
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from shapely import Polygon, affinity, box

from scrapstore.errors import StoreError
from scrapstore.shapes import bounding_sides
from scrapstore.store import (
    NewFabric,
    NewScrap,
    Scrap,
    StockFilter,
    Store,
    open_store,
)
from tests.support.coloured_store import a_read_scrap
from tests.support.stores import L_SHAPE, a_length, a_strip, some_pieces

FAMILIES = ("blue", "red", "white", None)
PLACES = ("bin 2", "Shelf", None)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """Two hundred scraps of every description, from a seed."""
    draw = random.Random(11)
    with open_store(tmp_path_factory.mktemp("store")) as store:
        with store.change("fill") as writer:
            fabrics = [
                writer.add_fabric(fabric)
                for fabric in (
                    NewFabric(name="Navy dot", family="blue", value="dark"),
                    NewFabric(name="Sail canvas", family="white", value="light"),
                )
            ]
            for _ in range(200):
                outline = affinity.rotate(
                    box(0, 0, draw.uniform(1, 20), draw.uniform(1, 9)), draw.uniform(0, 90)
                )
                writer.add_scrap(
                    NewScrap(
                        outline=outline,
                        family=draw.choice(FAMILIES),
                        accents=tuple(draw.sample(("blue", "red", "pink"), draw.randint(0, 2))),
                        value=draw.choice(("light", "medium", "dark", None)),
                        place=draw.choice(PLACES),
                        from_project=draw.choice(("Star", "Waves", None)),
                        fabric=draw.choice((*fabrics, None)),
                        status=draw.choice(("available", "available", "set aside", "used up")),
                    )
                )
        yield store


def test_a_grey_is_let_through_under_its_tint_and_a_plain_one_is_not(tmp_path: Path) -> None:
    """Its own family or else its fabric's is grey; the tint is of its swatches."""
    with open_store(tmp_path) as store:
        names = ("dusty rose", "mauve", "sage", "plain grey")
        with store.change("fill") as writer:
            fabric = writer.add_fabric(NewFabric(name="old curtain", family="grey"))
            scraps = [a_read_scrap(name) for name in names]
            scraps += [replace(scraps[0], family=None, fabric=fabric)]
            scraps += [replace(scraps[0], family="brown"), replace(scraps[0], swatches=())]
            numbers = [writer.add_scrap(scrap).id for scrap in scraps]
        with store.read() as reader:
            pink = reader.scraps(StockFilter(families=("pink",)))
            grey = reader.scraps(StockFilter(families=("grey",)))
        rose, mauve, *_, curtain, _, _ = numbers
        assert [scrap.id for scrap in pink] == [rose, mauve, curtain]
        assert [scrap.tints for scrap in pink] == [("pink",), ("purple", "pink"), ("pink",)]
        assert [scrap.id for scrap in grey] == [*numbers[:5], numbers[6]]


@pytest.mark.parametrize(
    ("asked", "family", "accents", "tints", "softness"),
    [
        ((), "grey", (), ("pink",), 0),
        (("grey", "pink"), "grey", (), ("pink",), 0),
        (("pink",), "grey", ("pink",), ("pink",), 0),
        (("pink",), "grey", (), ("pink",), 1),
        (("pink",), "grey", (), ("pink", "brown"), 2),
        (("pink",), "grey", (), ("brown", "pink"), 3),
        (("pink",), "grey", ("blue",), (), None),
    ],
)
def test_an_answer_is_the_softer_the_less_likely_its_tint(
    asked: tuple[str, ...],
    family: str,
    accents: tuple[str, ...],
    tints: tuple[str, ...],
    softness: int | None,
) -> None:
    assert StockFilter(families=asked).softness(family, accents, tints) == softness


# Each condition, and the same picked by hand.
CONDITIONS: dict[str, tuple[StockFilter, Callable[[Scrap], bool]]] = {
    "families": (
        StockFilter(families=("blue", "pink")),
        lambda s: (
            (s.family or (s.fabric.family if s.fabric else None)) in ("blue", "pink")
            or bool({"blue", "pink"} & set(s.accents))
        ),
    ),
    "values": (
        StockFilter(values=("dark",)),
        lambda s: (s.value or (s.fabric.value if s.fabric else None)) == "dark",
    ),
    "fabrics": (
        StockFilter(fabrics=("navy DOT",)),
        lambda s: s.fabric is not None and s.fabric.name == "Navy dot",
    ),
    "places": (
        StockFilter(places=("shelf", "BIN 2")),
        lambda s: s.place in ("Shelf", "bin 2"),
    ),
    "from_projects": (StockFilter(from_projects=("star",)), lambda s: s.from_project == "Star"),
    "statuses": (
        StockFilter(statuses=("set aside", "used up")),
        lambda s: s.status in ("set aside", "used up"),
    ),
    "at_least": (
        StockFilter(at_least=(10, 4)),
        lambda s: s.long_side >= 10 - 1e-6 and s.short_side >= 4 - 1e-6,
    ),
}


@pytest.mark.parametrize("names", [*itertools.combinations(CONDITIONS, 2)], ids="+".join)
def test_conditions_combine(store: Store, names: tuple[str, ...]) -> None:
    """Any two of them let through what satisfies both, in the order of numbers."""
    only = StockFilter(statuses=())
    for name in names:
        only = replace(only, **{name: getattr(CONDITIONS[name][0], name)})
    with store.read() as reader:
        everything = reader.scraps(StockFilter(statuses=()))
        found = reader.scraps(only)
    wanted = [s for s in everything if all(CONDITIONS[name][1](s) for name in names)]
    assert list(found) == wanted
    assert wanted  # else this says nothing


def test_without_conditions_what_is_available(store: Store) -> None:
    """Nothing used up or set aside slips into a list that did not ask for it."""
    with store.read() as reader:
        assert {scrap.status for scrap in reader.scraps()} == {"available"}


def test_numbers_let_only_those_through(store: Store) -> None:
    """Whatever their order."""
    with store.read() as reader:
        found = reader.scraps(StockFilter(ids=(9, 3), statuses=()))
    assert [scrap.id for scrap in found] == [3, 9]


def test_a_filter_by_status_and_size_uses_the_index(store: Store) -> None:
    """SQLite's own plan says so."""
    with store._engine.connect() as connection:
        plan = connection.exec_driver_sql(
            "EXPLAIN QUERY PLAN SELECT id FROM scraps"
            " WHERE status = 'available' AND long_side >= 10 AND short_side >= 4"
        ).all()
    assert "ix_scraps_status_long_side_short_side" in str(plan)


def test_yardage_pieces_and_binding_are_filtered_alike(store: Store) -> None:
    """By fabric, family of the fabric, value and size."""
    with store.change("more") as writer:
        fabric = writer.fabric("Navy dot")
        length = writer.add_yardage(replace(a_length(fabric), usable_width=40.0))
        pieces = writer.add_ready_cut(some_pieces(fabric))
        strip = writer.add_binding_strip(a_strip(fabric))
        own = writer.add_ready_cut(replace(some_pieces(fabric), family="red", value="light"))
    dark_blue = StockFilter(families=("blue",), values=("dark",), fabrics=("Navy dot",))
    with store.read() as reader:
        assert reader.yardage(dark_blue) == (length,)
        assert reader.ready_cut(dark_blue) == (pieces,)
        assert reader.ready_cut(StockFilter(families=("red",))) == (own,)
        assert reader.binding_strips(dark_blue) == (strip,)
        assert reader.yardage(StockFilter(at_least=(40, 27))) == (length,)
        assert reader.yardage(StockFilter(at_least=(40, 28))) == ()
        assert reader.ready_cut(StockFilter(at_least=(5, 5))) == (pieces, own)
        assert reader.binding_strips(StockFilter(at_least=(2.5, 41))) == ()


@pytest.mark.parametrize("turn", [0, 13.7, 45, 90, 201.3])
@pytest.mark.parametrize(
    ("outline", "sides"),
    [
        (box(0, 0, 18, 22), (22, 18)),
        (Polygon([(0, 0), (9, 0), (0, 9)]), (9, 9)),
        (Polygon([(0, 0), (5, 0), (0, 8)]), (8, 5)),
        (L_SHAPE, (12, 9)),
    ],
)
def test_sides_do_not_depend_on_how_a_scrap_lies(
    outline: Polygon, sides: tuple[float, float], turn: float
) -> None:
    """Of the two equal rectangles round a right triangle always the squarer one."""
    assert bounding_sides(affinity.rotate(outline, turn)) == pytest.approx(sides, abs=1e-6)


def test_sides_agree_with_shapely(store: Store) -> None:
    """The area of shapely's minimum rotated rectangle is the reference."""
    with store.read() as reader:
        for scrap in reader.scraps(StockFilter(statuses=())):
            reference = shapely.minimum_rotated_rectangle(scrap.outline).area
            assert scrap.long_side * scrap.short_side == pytest.approx(reference, rel=1e-6)


def test_a_scrap_larger_than_any_is_not_cut_up(tmp_path: Path) -> None:
    """A slip, or a borrowed store: it can be listed and put right; cutting it would never end."""
    with open_store(tmp_path / "giants") as store:
        with store.change("test") as writer:
            writer.add_scrap(NewScrap(outline=box(0, 0, 144, 144)))
        with store.read() as reader:
            assert len(reader.cuttable_scraps()) == 1
        with store.change("test") as writer:
            giant = writer.add_scrap(NewScrap(outline=box(0, 0, 9000, 20)))
        with store.read() as reader:
            assert len(reader.scraps()) == 2
            with pytest.raises(StoreError, match=r"scrap 2 is 9,000 in long, .*scrap edit 2"):
                reader.cuttable_scraps()
        with store.change("test") as writer:
            writer.update_scrap(replace(giant, status="used up"))
        with store.read() as reader:
            assert len(reader.cuttable_scraps()) == 1
