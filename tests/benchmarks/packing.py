"""The packer measured: value by time, bound, dissections, other libraries, random cases, sameness.

    python -m tests.benchmarks.packing [cases|others|bound|dissections|libraries|random|same]

Without an argument all run, half an hour or so. `cases` and `bound` read the packing cases in
../shared/data/remnants-dev.json, beside the folder of the project, or the file that the environment
variable PACKING_CASES names, and are skipped where there is none. Times are of the wall clock, one
process with two threads, the compiled loops loaded beforehand: let the computer do nothing else.
"""

import hashlib
import json
import math
import os
import random
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

from shapely import set_precision, union_all
from shapely.affinity import rotate, scale, translate
from shapely.geometry import MultiPolygon, Polygon, box

sys.path.insert(0, str(Path(__file__).parents[2]))

from scrapstore.packing import Layout, PieceKind, fill, usable_region, verify
from scrapstore.packing.proof import prove
from tests.support.cloth import DIAMOND, HALF, QUARTERS, TRIANGLE, kind

CASES = Path(
    os.environ.get("PACKING_CASES", Path(__file__).parents[3] / "shared/data/remnants-dev.json")
)
SECONDS = (0.1, 0.5, 2.0, 10.0)

Region = Polygon | MultiPolygon
Case = tuple[str, str, MultiPolygon, list[PieceKind], float]


def _cases() -> Iterator[Case]:
    """Yield (name, case letter, region, kinds, value of the general solver)."""
    for case in json.loads(CASES.read_text())["cases"]:
        region = usable_region(Polygon(case["outline"]), [Polygon(f) for f in case["flaws"]])
        kinds = [
            PieceKind(k["name"], Polygon(k["outline"]), k["wanted"], tuple(k["rotations_deg"]),
                      k["mirror"])
            for k in case["kinds"]
        ]  # fmt: skip
        yield case["name"], case["case"], region, kinds, case["general_solver"]["value"]


def _timed(work: Callable[[], Layout]) -> tuple[Layout, float]:
    start = time.perf_counter()
    return work(), time.perf_counter() - start


def cases() -> None:
    """Value against the general solver's after each amount of work."""
    if not CASES.exists():
        print("cases: skipped, no", CASES)
        return
    print("case  work s  value/general  below  faults  median s  worst s")
    for seconds in SECONDS:
        rows: dict[str, list[tuple[float, float, float, int]]] = {"A": [], "B": [], "C": []}
        for _, letter, region, kinds, general in _cases():
            layout, took = _timed(partial(fill, region, kinds, seconds=seconds))
            faults = len(verify(region, kinds, layout))
            rows[letter].append((layout.value, general, took, faults))
        rows["A+B"] = rows["A"] + rows["B"]
        rows["all"] = rows["A+B"] + rows["C"]
        for letter, found in rows.items():
            value, general = sum(r[0] for r in found), sum(r[1] for r in found)
            below = sum(r[0] < r[1] - 1e-2 for r in found)
            times = sorted(r[2] for r in found)
            print(
                f"{letter:4}  {seconds:6}  {value / general:13.4f}  {below:5}  "
                f"{sum(r[3] for r in found):6}  {statistics.median(times):8.2f}  {times[-1]:7.2f}",
                flush=True,
            )


def _other_outline(seed: int) -> Polygon:
    """An outline nobody chose, about 1 across: wavy, cut straight or jagged by turns."""
    chance = random.Random(seed)
    ring, reach = [], 1.0
    waves = [(k, chance.uniform(0, 0.5 / k), chance.uniform(0, 6.3)) for k in range(2, 7)]
    corners = (90, chance.randint(4, 8), 40)[seed % 3]
    for n in range(corners):
        angle = 2 * math.pi * n / corners
        if seed % 3 == 0:
            reach = max(0.3, 1 + sum(far * math.cos(k * angle + at) for k, far, at in waves))
        elif seed % 3 == 1:
            reach = chance.uniform(0.6, 1.1)
        else:
            reach = min(1.2, max(0.6, reach + chance.uniform(-0.12, 0.12)))
        ring.append((reach * math.cos(angle), reach * math.sin(angle)))
    turned = rotate(scale(Polygon(ring), 1.0, chance.uniform(0.6, 1.0)), chance.uniform(0, 360))
    left, low, right, high = turned.bounds
    fit = 1 / max(right - left, high - low)
    return scale(turned, fit, fit, origin=(0, 0))


def others(count: int = 12) -> None:
    """The piece lists of the cases on outlines that are not theirs: cloth covered, and time."""
    if not CASES.exists():
        print("others: skipped, no", CASES)
        return
    lists = {letter: kinds for _, letter, _, kinds, _ in _cases()}
    print("others: case  work s  value/cloth  faults  median s  worst s")
    for seconds in (0.1, 0.5, 2.0):
        for letter, across in (("A", 15.0), ("B", 14.0), ("C", 18.0)):
            value, cloth, faults, times = 0.0, 0.0, 0, []
            for seed in range(count):
                outline = _other_outline(seed)
                region = usable_region(scale(outline, across, across, origin=(0, 0)))
                work = partial(fill, region, lists[letter], seconds=seconds)
                layout, took = _timed(work)
                value, cloth = value + layout.value, cloth + region.area
                faults += len(verify(region, lists[letter], layout))
                times.append(took)
            print(
                f"        {letter:4}  {seconds:6}  {value / cloth:11.4f}  {faults:6}  "
                f"{statistics.median(times):8.2f}  {max(times):7.2f}",
                flush=True,
            )


def bound() -> None:
    """How far the proven bound is above the value (bound / value − 1), and what it took."""
    if not CASES.exists():
        print("bound: skipped, no", CASES)
        return
    print("bound: effort s  cases  median gap  proven best  median s")
    for effort, letters in ((0.0, "ABC"), (3.0, "ABC"), (60.0, "A")):
        gaps, times, proven = [], [], 0
        for _, letter, region, kinds, _ in _cases():
            if letter in letters:
                layout = fill(region, kinds)
                better, took = _timed(partial(prove, region, kinds, layout, seconds=effort))
                gaps.append(better.bound / better.value - 1)
                times.append(took)
                proven += better.proven
        print(
            f"       {effort:8}  {letters:5}  {statistics.median(gaps):10.3f}  "
            f"{proven:4} of {len(gaps)}  {statistics.median(times):8.2f}",
            flush=True,
        )


def dissection(seed: int) -> tuple[Region, list[PieceKind]]:
    """Join 3 to 12 pieces of the 60° or the square family without gaps; each wanted as used."""
    chance = random.Random(seed)
    triangles = chance.random() < 0.5
    shapes = (
        {"diamond": DIAMOND, "triangle": TRIANGLE, "half": HALF}
        if triangles
        else {"square": box(0, 0, 2, 2), "oblong": box(0, 0, 2, 4), "small": box(0, 0, 1, 1)}
    )
    turns = tuple(range(0, 360, 60 if triangles else 90))
    used: dict[str, int] = {}
    region: Region = Polygon()
    for _ in range(chance.randint(3, 12)):
        for _ in range(200):
            name = chance.choice(sorted(shapes))
            piece = rotate(shapes[name], chance.choice(turns), origin=(0, 0))
            if region.is_empty:
                placed = piece
            else:
                # Side to side: a side of the piece, turned round, lies along one of the region.
                ring = list(chance.choice(_parts(region)).exterior.coords)
                k = chance.randrange(len(ring) - 1)
                corner = chance.choice(list(piece.exterior.coords)[:-1])
                placed = translate(piece, ring[k][0] - corner[0], ring[k][1] - corner[1])
                if placed.intersection(region).area > 1e-9:
                    continue
                if placed.boundary.intersection(region.boundary.buffer(1e-9)).length < 0.9:
                    continue
            joined = set_precision(union_all([region, placed]), 1e-9)
            if isinstance(joined, Polygon) and not joined.interiors:
                region = joined
                used[name] = used.get(name, 0) + 1
                break
    kinds = [
        kind(shapes[name], count, tuple(map(float, turns)), mirror=triangles, name=name)
        for name, count in sorted(used.items())
    ]
    return region, kinds


def _parts(region: Region) -> list[Polygon]:
    return [region] if isinstance(region, Polygon) else list(region.geoms)


def dissections(count: int = 60) -> None:
    """How many regions of known pieces are filled perfectly."""
    perfect, times = 0, []
    for seed in range(count):
        region, kinds = dissection(seed)
        layout, took = _timed(partial(fill, region, kinds, seconds=1.5))
        assert verify(region, kinds, layout) == []
        perfect += layout.value > region.area * (1 - 1e-6)
        times.append(took)
    print(
        f"dissections: {perfect} of {count} perfect, median {statistics.median(times):.2f} s, "
        f"worst {max(times):.2f} s",
        flush=True,
    )


def libraries() -> None:
    """Rectangles against rectpack, diamonds on a strip against spyrrow."""
    import rectpack
    import spyrrow

    chance = random.Random(1)
    print("libraries: cloth, pieces   ours (value, s)   theirs (value, s)")
    for width, height in ((22, 18), (44, 9), (16, 11)):
        sizes = [(chance.randint(8, 28) / 4, chance.randint(8, 28) / 4) for _ in range(40)]
        kinds = [
            kind(box(0, 0, w, h), 1, (0.0, 90.0), name=str(n)) for n, (w, h) in enumerate(sizes)
        ]
        layout, took = _timed(partial(fill, box(0, 0, width, height), kinds, seconds=2.0))
        start = time.perf_counter()
        best = 0.0
        for algorithm in (rectpack.MaxRectsBssf, rectpack.MaxRectsBaf, rectpack.MaxRectsBl):
            packer = rectpack.newPacker(pack_algo=algorithm, rotation=True)
            for w, h in sizes:
                packer.add_rect(int(w * 4), int(h * 4))
            packer.add_bin(width * 4, height * 4)
            packer.pack()
            best = max(best, sum(r[3] * r[4] for r in packer.rect_list()) / 16)
        theirs = time.perf_counter() - start
        print(f"  {width} × {height}, 40 rectangles, rectpack: {layout.value:.1f} {took:.2f}   "
              f"{best:.1f} {theirs:.2f}", flush=True)  # fmt: skip
    for count in (20, 40):
        # spyrrow finds the shortest strip for the pieces; ours must lay as many on that strip.
        item = spyrrow.Item(
            "d",
            [(x, y) for x, y in DIAMOND.exterior.coords],
            demand=count,
            allowed_orientations=list(QUARTERS),
        )
        instance = spyrrow.StripPackingInstance("strip", strip_height=9.0, items=[item])
        config = spyrrow.StripPackingConfig(
            early_termination=False, total_computation_time=8, num_workers=2, seed=0
        )
        start = time.perf_counter()
        strip = instance.solve(config).width
        theirs = time.perf_counter() - start
        pieces = [kind(DIAMOND, count)]
        layout, took = _timed(partial(fill, box(0, 0, strip, 9.0), pieces, seconds=2.0))
        print(f"  strip 9 in high and {strip:.2f} long, spyrrow: {len(layout.placements)} "
              f"{took:.2f}   {count} {theirs:.2f}", flush=True)  # fmt: skip


def _random_case(seed: int) -> tuple[list[str], bytes]:
    """Fill one region nobody chose; return the faults and the plan's bytes."""
    chance = random.Random(seed)
    corners = chance.randint(3, 14)
    across = chance.uniform(1.5, 6)
    ring = []
    for k in range(corners):
        reach, angle = across * chance.uniform(0.3, 1), 2 * math.pi * k / corners
        ring.append((reach * math.cos(angle), reach * math.sin(angle)))
    flaws = []
    for _ in range(chance.randint(0, 3)):
        x, y, half = chance.uniform(-3, 3), chance.uniform(-3, 3), chance.uniform(0.01, 0.6)
        flaws.append(box(x - half, y - half, x + half, y + half))
    region = usable_region(Polygon(ring), flaws, chance.choice((0.0, 0.125)))
    shapes = {"d": DIAMOND, "t": TRIANGLE, "h": HALF, "s": box(0, 0, 1.5, 1.5)}
    names = chance.sample(sorted(shapes), chance.randint(1, 3))
    kinds = [
        kind(shapes[n], chance.choice((1, 3, 99)), chance.choice(((0.0,), QUARTERS, (17.0, 80.0))),
             mirror=chance.random() < 0.5, name=n)
        for n in names
    ]  # fmt: skip
    layout = fill(region, kinds, seconds=0.02, seed=seed)
    return verify(region, kinds, layout), b"".join(p.outline.wkb for p in layout.placements)


def random_cases(count: int = 5000) -> None:
    """The verifier on random cases; the plans of one process against those of two."""
    start = time.perf_counter()
    alone = [_random_case(seed) for seed in range(count)]
    took = time.perf_counter() - start
    with ProcessPoolExecutor(2) as pool:
        shared = list(pool.map(_random_case, range(count), chunksize=50))
    faults = sum(bool(found) for found, _ in alone)
    same = sum(a == b for a, b in zip(alone, shared, strict=True))
    print(f"random: {count} cases in {took:.0f} s, {faults} with faults, "
          f"{same} plans the same on one process and on two")  # fmt: skip


def same() -> None:
    """The layouts of new compiled code, of code from the disk, and of other processors."""
    tried: list[tuple[str, dict[str, str]]] = [
        ("compiled now", {}),
        ("from the disk", {}),
        ("for any processor of the kind", {"NUMBA_CPU_NAME": "generic", "NUMBA_CPU_FEATURES": ""}),
        ("hardly optimised", {"NUMBA_OPT": "0"}),
        (
            "numpy without wide steps",
            {"NPY_DISABLE_CPU_FEATURES": "AVX2 FMA3", "OPENBLAS_CORETYPE": "Nehalem"},
        ),
        ("numpy's library on one thread", {"OPENBLAS_NUM_THREADS": "1"}),
    ]
    root = Path(__file__).parents[2]
    with tempfile.TemporaryDirectory() as folder:
        first = None
        for number, (name, how) in enumerate(tried):
            own = "own" if any(key.startswith("NUMBA") for key in how) else "shared"
            cache = {"NUMBA_CACHE_DIR": f"{folder}/{number if own == 'own' else own}"}
            run = subprocess.run(
                [sys.executable, __file__, "digest"], cwd=root, env={**os.environ, **cache, **how},
                capture_output=True, text=True, check=True,
            )  # fmt: skip
            first = first or run.stdout
            print(f"same: {name}: {'the same' if run.stdout == first else 'ANOTHER'}", flush=True)


def digest() -> None:
    """Print the corners of layouts of thirty scraps, as one number."""
    found = hashlib.sha256()
    for seed in range(30):
        corners = [
            (reach * math.cos(k * math.pi / 9), 0.8 * reach * math.sin(k * math.pi / 9))
            for k in range(18)
            for reach in [5 + 1.5 * math.sin(seed + k * k)]
        ]
        kinds = [
            kind(DIAMOND, 99, mirror=True, name="d"),
            kind(HALF, 5 * (seed % 2), QUARTERS, mirror=True, name="h"),
            kind(TRIANGLE, 9 * (seed % 3), (17.0, 80.0), name="t"),
        ]
        layout = fill(Polygon(corners), kinds, seconds=0.2, seed=seed)
        found.update(b"".join(p.outline.wkb for p in layout.placements))
    print(found.hexdigest())


def load_compiled_loops() -> None:
    """Search a little, on pieces that fit by area and not by shape, and exchange some."""
    square, oblong = kind(box(0, 0, 1, 1), 9, (0.0,), name="s"), kind(box(0, 0, 1, 1.2), 2, (0.0,))
    fill(box(0, 0, 1.9, 5), [square, oblong], seconds=0.1)


PARTS = {
    "cases": cases,
    "others": others,
    "bound": bound,
    "dissections": dissections,
    "libraries": libraries,
    "random": random_cases,
    "same": same,
}

if __name__ == "__main__" and sys.argv[1:] == ["digest"]:
    digest()
elif __name__ == "__main__":
    start = time.perf_counter()
    load_compiled_loops()
    print(f"compiled loops ready in {time.perf_counter() - start:.1f} s")
    for part in sys.argv[1:] or PARTS:
        PARTS[part]()
