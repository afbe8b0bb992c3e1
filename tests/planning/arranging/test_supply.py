"""What each fabric gives: explicit layouts, never the sum of what each kind could have alone."""

from collections.abc import Sequence
from dataclasses import replace

from shapely import Polygon, box

from scrapstore.designs import make_design
from scrapstore.designs.arranging import can_give
from scrapstore.matching import Need, ReadyStock, RoleRule, ScrapStock, pack_all
from scrapstore.planning.arranging.check import faults
from scrapstore.planning.arranging.cuts import pieces_of
from scrapstore.planning.arranging.supply import ClothColour, ClothSupply, supply_of
from tests.support.arranging import a_job, of_design

UNKNOWN = ClothColour(None, None, None)
LARGE = Need("large", "top", box(0, 0, 4, 4), 6, (0.0, 90.0))
SMALL = Need("small", "top", box(0, 0, 2, 2), 12, (0.0, 90.0))
ANY = {"top": RoleRule("top")}


def of(
    scraps: Sequence[ScrapStock], needs: Sequence[Need], ready: Sequence[ReadyStock] = ()
) -> ClothSupply:
    found = supply_of(scraps, ready, needs, ANY, pack_all)
    return found.coloured(
        {scrap.id: UNKNOWN for scrap in scraps}, {lot.id: UNKNOWN for lot in ready}
    )


def test_kinds_that_compete_for_a_scrap_share_it() -> None:
    """8 × 4 in: two squares of 4, or one of 4 and four of 2, or eight of 2; by hand."""
    supply = of([ScrapStock(1, "red", region=box(0, 0, 8, 4))], [LARGE, SMALL])
    (cloth,) = supply.cloths
    assert set(cloth.gives) == {(2, 0), (1, 4), (0, 8)}
    assert not can_give(cloth.gives, (2, 1))


def test_scraps_of_a_fabric_give_together_and_ready_cut_pieces_count() -> None:
    scraps = [ScrapStock(k, "red", region=box(0, 0, 4, 4)) for k in (1, 2)]
    lot = ReadyStock(7, "red", outline=box(0, 0, 2, 2), count=5)
    unnamed = ReadyStock(8, None, outline=box(0, 0, 2, 2), count=5)
    supply = of(scraps, [LARGE, SMALL], [lot, unnamed])
    (cloth,) = supply.cloths
    assert set(cloth.gives) == {(2, 5), (1, 9), (0, 12)}  # 13, of which 12 are wanted
    assert supply.unnamed_lots == 1
    parts = supply.stocks[0].parts_for((1, 5))
    assert sum(part.amount[0] for part in parts) >= 1
    assert len([part for part in parts if part.pattern is not None]) == 1


def test_a_scrap_without_a_name_is_a_cloth_of_its_own() -> None:
    scraps = [ScrapStock(k, region=box(0, 0, 4, 4), value="dark") for k in (3, 4)]
    supply = of(scraps, [LARGE])
    assert [cloth.word for cloth in supply.cloths] == [
        "scrap 3 (colour not known)", "scrap 4 (colour not known)"
    ]  # fmt: skip
    coloured = supply_of(scraps, [], [LARGE], ANY, pack_all).coloured(
        {3: ClothColour((20.0, 0.0, -30.0), "blue", "dark"), 4: UNKNOWN}, {}
    )
    assert coloured.cloths[0].word == "scrap 3 (dark blue)"
    assert coloured.cloths[0].lab == (20.0, 0.0, -30.0)


def test_the_second_opinion_finds_what_was_tampered_with() -> None:
    """Two squares from each of two scraps; then one outline is moved, and one cloth exchanged."""
    design = make_design("squares", piece=1.5, seam=0.25, mark=0.125, rows=2, columns=2)
    need = Need("square", "squares", box(0, 0, 2, 2), 4, (0.0, 90.0))
    scraps = [ScrapStock(k, name, region=box(0, 0, 4, 2)) for k, name in ((1, "red"), (2, "tan"))]
    rules = {"squares": RoleRule("squares")}
    found = supply_of(scraps, [], [need], rules, pack_all)
    supply = found.coloured({1: UNKNOWN, 2: UNKNOWN}, {})
    job = a_job(of_design(design, ["squares"]), supply.cloths)
    cloth_of = (0, 1, 1, 0)
    pieces = pieces_of(job.top, supply, cloth_of)
    assert faults(job, supply, [need], rules, cloth_of, pieces) == []
    assert pieces[0].placement is not None
    moved = replace(pieces[0].placement, outline=_moved(pieces[0].placement.outline))
    spoilt = (replace(pieces[0], placement=moved), *pieces[1:])
    assert any("overlap" in one or "not inside" in one
               for one in faults(job, supply, [need], rules, cloth_of, spoilt))  # fmt: skip
    exchanged = faults(job, supply, [need], rules, (1, 0, 0, 1), pieces)
    assert len([one for one in exchanged if "cut from" in one]) == 4
    refused = {"squares": RoleRule("squares", fabrics=frozenset({"red"}))}
    assert any("does not allow" in one
               for one in faults(job, supply, [need], refused, cloth_of, pieces))  # fmt: skip
    assert faults(job, supply, [need], rules, cloth_of, pieces[1:])


def _moved(outline: Polygon) -> Polygon:
    return Polygon([(x + 0.5, y) for x, y in outline.exterior.coords])
