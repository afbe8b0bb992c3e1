"""What matching must show, in one table: growth, proofs, the obvious way, conditions.

Run from the top of the repository: ``.venv/bin/python -m tests.benchmarks.match_store``. Sizes are
options; the big ones take minutes. Seconds are of the whole program, start to end; CPU seconds are
of all its processes.
"""

import argparse
import tempfile
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path

from scrapstore.actions.project import read_project_file
from scrapstore.matching import Answer, Need, RoleRule, ScrapStock, faults, kind_on, match
from scrapstore.packing import Layout, fill, verify
from scrapstore.planning.cuttable_regions import scrap_stock
from scrapstore.planning.matching_inputs import piece_need, role_rule
from scrapstore.settings import Settings
from scrapstore.store import open_store
from tests.benchmarks.main_job import SIXTY, measured
from tests.support.big_store import fill_store
from tests.support.stock import random_stock


def growth(top: Path, sizes: list[int]) -> None:
    """Time the whole program on stores of several sizes."""
    print(f"{'scraps':>8} {'seconds':>8} {'CPU s':>7} {'MiB':>6}")
    for size in sizes:
        folder = top / f"store{size}"
        with open_store(folder) as store:
            fill_store(store, size)
        seconds, peak, _, spent = measured(
            "--store", str(folder), "match", str(top / "sixty.toml"), "--no-sheets"
        )
        print(f"{size:8} {seconds:8.1f} {spent:7.1f} {peak:6.0f}", flush=True)


def instance(top: Path, seed: int) -> tuple[list[ScrapStock], list[Need], dict[str, RoleRule]]:
    """Return the sixty pieces and a store of 40 to 80 scraps drawn from `seed`."""
    folder = top / f"small{seed}"
    with open_store(folder) as store:
        fill_store(store, 40 + seed * 7 % 41, seed)
        with store.read() as reader:
            stock = scrap_stock(reader.cuttable_scraps())
    project = read_project_file(top / "sixty.toml", Settings())
    needs = [piece_need(piece, project.seam_allowance) for piece in project.pieces]
    return stock, needs, {name: role_rule(project, name) for name in project.roles}


def kept_whole(stock: list[ScrapStock], used: set[int]) -> float:
    """Return the area of the scraps of 60 sq in and more that are not cut into."""
    return sum(s.region.area for s in stock if s.region.area >= 60 and s.id not in used)


def obvious(
    stock: list[ScrapStock], needs: list[Need], roles: dict[str, RoleRule]
) -> tuple[Counter[str], set[int]]:
    """Cut the largest scrap first, as much as it gives of the largest piece still wanted.

    Sets and numbers of fabrics are let go of, in favour of this way.
    """
    wanted = Counter({need.name: need.wanted for need in needs})
    used: set[int] = set()
    for scrap in sorted(stock, key=lambda s: (-s.region.area, s.id)):
        for need in sorted(needs, key=lambda n: -n.outline.area):
            kind = kind_on(need, scrap)
            if not wanted[need.name] or kind is None or not roles[need.role].allows(scrap):
                continue
            given = len(fill(scrap.region, [kind], seconds=0.1).placements)
            if given:
                wanted[need.name] -= min(given, wanted[need.name])
                used.add(scrap.id)
                break
    return Counter({need.name: need.wanted - wanted[need.name] for need in needs}), used


def instances(top: Path, count: int, effort: float) -> None:
    """Print proofs, gaps, and the comparison with the obvious way."""
    proven, ahead, behind, gaps = 0, 0, 0, []
    tally: dict[str, list[float]] = {
        way: [0, 0, 0] for way in ("match", "match, so free", "largest first")
    }
    for seed in range(count):
        stock, needs, roles = instance(top, seed)
        answer = match(stock, [], needs, roles, effort=effort)
        proven += answer.choice_proven
        gaps.append(1 - answer.together.area / max(answer.together.area_at_most, 1e-9))
        free = {
            name: replace(rule, same_fabric_sets=None, min_fabrics=None)
            for name, rule in roles.items()
        }
        at_liberty = match(stock, [], needs, free, effort=effort)
        given, used = obvious(stock, needs, roles)
        areas = {need.name: need.outline.area for need in needs}
        given_area = sum(areas[name] * count for name, count in given.items())
        ahead += at_liberty.together.area > given_area + 0.1
        behind += at_liberty.together.area < given_area - 0.1
        for way, covered, area, cut in (
            ("match", *_covers(answer), {use.scrap_id for use in answer.scrap_uses}),
            (
                "match, so free",
                *_covers(at_liberty),
                {use.scrap_id for use in at_liberty.scrap_uses},
            ),
            ("largest first", given.total(), given_area, used),
        ):
            tally[way][0] += area
            tally[way][1] += covered
            tally[way][2] += kept_whole(stock, cut)
    gaps.sort()
    print(f"\n{count} instances of 40 to 80 scraps, 60 pieces:")
    print(f"  choice among the patterns proven best: {proven} of {count}")
    print(f"  gap to the geometric bound, by area: median {gaps[len(gaps) // 2]:.1%}, "
          f"largest {gaps[-1]:.1%}")  # fmt: skip
    print(f"  {'':14} {'covered, sq in':>15} {'pieces':>8} {'large scraps left whole, sq in':>32}")
    for way, (area, pieces, whole) in tally.items():
        print(f"  {way:14} {area:15.0f} {pieces:8.0f} {whole:32.0f}")
    print(f"  so free, match covers more area than largest first in {ahead}, less in {behind}")
    print("  (largest first keeps no sets and no number of fabrics; 'so free' neither)")


def _covers(answer: Answer) -> tuple[int, float]:
    return answer.together.covered, answer.together.area


def all_faults(seed: int) -> list[str]:
    """Return what is wrong with the plan for one random instance."""
    scraps, ready, needs, roles = random_stock(seed, 6)
    answer: Answer = match(scraps, ready, needs, roles, seconds_per_scrap=0.02, effort=0.2)
    wrong = faults(answer, scraps, ready, needs, roles)
    by_id = {scrap.id: scrap for scrap in scraps}
    for use in answer.scrap_uses:
        scrap = by_id[use.scrap_id]
        kinds = [k for n in needs if (k := kind_on(n, scrap)) is not None]
        area = sum(p.outline.area for p in use.placements)
        wrong += verify(scrap.region, kinds, Layout(use.placements, area, float("inf")))
    return wrong


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sizes", type=int, nargs="*", default=[300, 5_000, 50_000])
    parser.add_argument("--instances", type=int, default=50)
    parser.add_argument("--random", type=int, default=1000)
    parser.add_argument("--effort", type=float, default=10.0, help="of each of the instances")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        top = Path(scratch)
        (top / "sixty.toml").write_text(SIXTY, encoding="utf-8")
        growth(top, chosen.sizes)
        if chosen.instances:
            instances(top, chosen.instances, chosen.effort)
    start = time.perf_counter()
    bad = {seed: wrong for seed in range(chosen.random) if (wrong := all_faults(seed))}
    print(f"\n{chosen.random} random instances under random conditions: {len(bad)} with a fault "
          f"({time.perf_counter() - start:.0f} s)")  # fmt: skip
    for seed, wrong in bad.items():
        print(f"  {seed}: {wrong[0]}")


if __name__ == "__main__":
    main()
