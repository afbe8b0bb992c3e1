"""The choice among patterns against trying every combination."""

import _thread
import itertools
import random
import signal
import threading
from collections import Counter
from dataclasses import replace

import pytest
from ortools.sat.python import cp_model
from shapely import box

from scrapstore.matching import Need, ReadyStock, RoleRule, ScrapStock
from scrapstore.matching.choose import choose
from scrapstore.matching.model import Model
from scrapstore.matching.patterns import Pattern
from scrapstore.packing import Placement
from tests.support.stock import OBLONG, SQUARE, covered_area, random_stock

NEEDS = [Need("square", "star", SQUARE, 6, (0.0,)), Need("oblong", "star", OBLONG, 3, (0.0,))]


def pattern(scrap_id: int, **counts: int) -> Pattern:
    """A pattern with these counts; where its pieces lie does not matter to the choice."""
    return Pattern(
        scrap_id,
        tuple(Placement(name, SQUARE) for name, count in counts.items() for _ in range(count)),
    )


def scrap(number: int, fabric: str | None = None, side: float = 6) -> ScrapStock:
    return ScrapStock(id=number, fabric=fabric, region=box(0, 0, side, side))


def brute_force(
    scraps: list[ScrapStock],
    patterns: list[Pattern],
    ready: list[ReadyStock],
    needs: list[Need],
    roles: dict[str, RoleRule],
) -> float:
    """Return the most area that any combination covers; every count of every source is tried.

    Written on its own: it walks all takings of every source and tests the finished plan.
    """
    sources: list[tuple[object, list[dict[str, int]]]] = []
    for one in scraps:
        takings: list[dict[str, int]] = [{}]
        for p in (p for p in patterns if p.scrap_id == one.id):
            names = [n.name for n in needs if p.counts.get(n.name)]
            takings += [
                dict(zip(names, counts, strict=True))
                for counts in itertools.product(*(range(p.counts[n] + 1) for n in names))
            ]
        sources.append((one.fabric or ("scrap", one.id), takings))
    sources.extend(
        (stack.fabric or ("ready", stack.id),
         [{"square": n} for n in range(stack.count + 1)])
        for stack in ready
    )  # fmt: skip
    best = 0.0
    for taking in itertools.product(*(options for _, options in sources)):
        total: Counter[str] = Counter()
        per_fabric: dict[object, Counter[str]] = {}
        for (fabric, _), counts in zip(sources, taking, strict=True):
            total.update(counts)
            per_fabric.setdefault(fabric, Counter()).update(counts)
        if any(total[n.name] > n.wanted for n in needs):
            continue
        if all(keeps(role, per_fabric, needs) for role in roles.values()):
            best = max(best, covered_area(total, needs))
    return best


def keeps(role: RoleRule, per_fabric: dict[object, Counter[str]], needs: list[Need]) -> bool:
    names = [n.name for n in needs if n.role == role.name]
    shown = [c for c in per_fabric.values() if sum(c[n] for n in names)]
    if role.min_fabrics and len(shown) < role.min_fabrics:
        return False
    for counts in shown:
        if role.max_per_fabric and sum(counts[n] for n in names) > role.max_per_fabric:
            return False
        if role.same_fabric_sets and any(counts[n] % role.same_fabric_sets for n in names):
            return False
    return True


@pytest.mark.parametrize(
    "role",
    [
        RoleRule("star"),
        RoleRule("star", same_fabric_sets=2),
        RoleRule("star", same_fabric_sets=3),
        RoleRule("star", min_fabrics=2),
        RoleRule("star", max_per_fabric=3),
        RoleRule("star", same_fabric_sets=2, min_fabrics=2, max_per_fabric=4),
    ],
    ids=lambda role: f"{role.same_fabric_sets}-{role.min_fabrics}-{role.max_per_fabric}",
)
def test_the_choice_covers_as_much_as_any_combination_can(role: RoleRule) -> None:
    scraps = [scrap(1, "deck stripe"), scrap(2, "deck stripe"), scrap(3, "apron drill")]
    patterns = [
        pattern(1, square=3), pattern(1, oblong=2), pattern(2, square=2, oblong=1),
        pattern(3, square=1, oblong=1), pattern(3, square=3),
    ]  # fmt: skip
    ready = [ReadyStock(id=1, fabric="apron drill", outline=SQUARE, count=2)]
    roles = {"star": role}
    choice = choose(scraps, patterns, ready, NEEDS, roles)
    counts: Counter[str] = Counter()
    for (_, name), count in (*choice.cut.items(), *choice.ready.items()):
        counts[name] += count
    expected = brute_force(scraps, patterns, ready, NEEDS, roles)
    assert covered_area(counts, NEEDS) == pytest.approx(expected)


@pytest.mark.parametrize("seed", range(12))
def test_the_choice_is_the_best_on_small_random_stocks(seed: int) -> None:
    scraps, _, needs, _ = random_stock(seed, 4)
    needs = needs[:2]
    roles = {"star": RoleRule("star", same_fabric_sets=(None, 2)[seed % 2], max_per_fabric=4)}
    patterns = [
        pattern(s.id, square=(s.id + seed) % 3, oblong=(seed // 2 + s.id) % 2) for s in scraps
    ] + [pattern(s.id, square=2) for s in scraps]
    choice = choose(scraps, patterns, [], needs, roles)
    counts: Counter[str] = Counter()
    for (_, name), count in choice.cut.items():
        counts[name] += count
    expected = brute_force(scraps, patterns, [], needs, roles)
    assert covered_area(counts, needs) == pytest.approx(expected)


def test_ready_cut_pieces_are_taken_before_a_scrap_is_cut() -> None:
    ready = [ReadyStock(id=5, outline=SQUARE, count=4)]
    choice = choose([scrap(1)], [pattern(1, square=6)], ready, NEEDS, {"star": RoleRule("star")})
    assert choice.ready == {(5, "square"): 4}
    assert choice.cut == {(1, "square"): 2}


def test_the_order_of_aims_decides_between_small_scraps_and_few() -> None:
    """Two small scraps are used up, or one of middling size is fetched; never the large one."""
    needs = [Need("square", "star", SQUARE, 2, (0.0,))]
    scraps = [scrap(1, side=30), scrap(2, side=5), scrap(3, side=3), scrap(4, side=3)]
    patterns = [
        pattern(1, square=9),
        pattern(2, square=2),
        pattern(3, square=1),
        pattern(4, square=1),
    ]
    roles = {"star": RoleRule("star")}
    kept_whole = choose(scraps, patterns, [], needs, roles)
    assert kept_whole.cut == {(3, "square"): 1, (4, "square"): 1}
    few = choose(scraps, patterns, [], needs, roles, aims=("cover", "scraps", "whole", "cuts"))
    assert few.cut == {(2, "square"): 2}


def test_more_fabrics_than_there_are_is_relaxed_as_little_as_needed() -> None:
    scraps = [scrap(1, "deck stripe"), scrap(2, "apron drill")]
    patterns = [pattern(1, square=6), pattern(2, square=1)]
    choice = choose(scraps, patterns, [], NEEDS, {"star": RoleRule("star", min_fabrics=5)})
    assert choice.min_fabrics == {"star": 2}
    assert {s for s, _ in choice.cut} == {1, 2}


def test_nothing_on_offer_gives_an_empty_choice() -> None:
    choice = choose([], [], [], NEEDS, {"star": RoleRule("star", min_fabrics=2)})
    assert not choice.cut
    assert not choice.ready


def test_a_role_that_cannot_have_its_fabrics_costs_no_other_role_any() -> None:
    """Of two fabrics one is there; the other role still gets the three that it asks for."""
    tips = Need("tip", "tips", SQUARE, 2, (0.0,))
    sky = Need("sky", "sky", SQUARE, 4, (0.0,))
    stock = [replace(scrap(1, "sun"), families=frozenset({"yellow"}))]
    stock += [replace(scrap(n, f"white {n}"), families=frozenset({"white"})) for n in range(2, 6)]
    roles = {
        "tips": RoleRule("tips", frozenset({"yellow"}), min_fabrics=2),
        "sky": RoleRule("sky", frozenset({"white"}), min_fabrics=3),
    }
    # Pieces that are cut alike are one class: the patterns have them under the first one's name.
    patterns = [pattern(1, tip=2), *(pattern(n, tip=4) for n in range(2, 6))]
    made = choose(stock, patterns, [], [tips, sky], roles, aims=("cover", "scraps"))
    assert made.min_fabrics == {"tips": 1, "sky": 3}
    assert len({scrap_id for scrap_id, name in made.cut if name == "sky"}) >= 3
    assert sum(made.cut.values()) == 6


@pytest.mark.parametrize("min_fabrics", [None, 5])
def test_with_hardly_any_effort_there_is_still_an_answer(min_fabrics: int | None) -> None:
    """Not found is not the same as impossible: nothing is relaxed, and nothing goes on for ever."""
    chance = random.Random(0)
    needs = [Need(f"n{k}", "star", SQUARE, 12, (0.0,)) for k in range(6)]
    needs = [replace(n, outline=box(0, 0, 2 + k / 10, 2)) for k, n in enumerate(needs)]
    stock = [scrap(number, f"cloth {number % 40}") for number in range(120)]
    patterns = [
        pattern(one.id, **{f"n{k}": chance.randint(1, 3) for k in chance.sample(range(6), 2)})
        for one in stock
        for _ in range(5)
    ]
    rule = RoleRule("star", same_fabric_sets=2, max_per_fabric=6, min_fabrics=min_fabrics)
    made = choose(stock, patterns, [], needs, {"star": rule}, effort=1e-3)
    assert made.area <= made.area_at_most
    per_fabric: Counter[tuple[str | None, str]] = Counter()
    for (scrap_id, name), count in made.cut.items():
        per_fabric[stock[scrap_id].fabric, name] += count
    assert all(count % 2 == 0 for count in per_fabric.values())


def test_ctrl_c_is_heard_while_the_solver_works() -> None:
    """Market split: small, and out of reach of branch and bound. Unheard, this would hang."""
    draw = random.Random(0)
    model = Model()
    columns = [model.column(1) for _ in range(60)]
    cost: dict[int, int] = {}
    for _ in range(7):
        weights = [draw.randrange(100) for _ in columns]
        over, under = model.column(10_000), model.column(10_000)
        cost |= {over: 1, under: 1}
        half = sum(weights) // 2
        model.row(dict(zip(columns, weights, strict=True)) | {over: -1, under: 1}, half, half)
    cp_model.CpModel()  # loaded: the interrupt comes while it works
    # Where tests run beside each other, interrupts are ignored.
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    threading.Timer(1.0, _thread.interrupt_main).start()
    try:
        with pytest.raises(KeyboardInterrupt):
            model.minimise(cost, effort=1e6)
    finally:
        signal.signal(signal.SIGINT, before)
