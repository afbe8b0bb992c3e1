"""How well photos are measured: rendered photos with known truth, loose squares or one card.

Run by hand, for example::

    python -m tests.benchmarks.photo_measure --photos 200 --scale loose
    python -m tests.benchmarks.photo_measure --photos 50 --scale card --lens known
    python -m tests.benchmarks.photo_measure --photos 20 --scale own

Own squares are of another family and without grey patches, so colours are less true.

Rendering takes most of the time; ``--folder`` keeps the photos for the next run. Prints one line a
photo that is worth looking at, then the table.
"""

import argparse
import pickle
import resource
import sys
import tempfile
import time
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import shapely
from PIL import Image
from shapely import affinity
from shapely.geometry import Polygon

sys.path.insert(0, str(Path(__file__).parents[2]))

from scrapstore.colour import delta_e, srgb_to_lab
from scrapstore.photo import (
    OUR_PRINT,
    LensProfile,
    MeasuredScrap,
    Measurement,
    SquareSet,
    measure,
    open_photo,
)
from scrapstore.photo.scale.lens import lens_key
from tests.render.arrange import Options, render_scene
from tests.render.scene import TrueScrap, Truth

_STEP = 0.02
_OWN = SquareSet("4x4_50", (0, 1, 2, 3, 4, 5), 0.8)


@dataclass
class Tally:
    """What is counted over all photos."""

    boundary: list[float] = field(default_factory=list)
    area: list[float] = field(default_factory=list)
    stated: list[float] = field(default_factory=list)
    colour: list[float] = field(default_factory=list)
    ratio: list[float] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)
    true: int = 0
    false: int = 0
    refused: int = 0


def to_truth(reading: Measurement, truth: Truth) -> "np.ndarray":
    """The rigid motion from the reading's table frame to the truth's, by the squares' corners."""
    true = {square.id: square.corners for square in truth.squares}
    pairs = [(s.corners, true[s.id]) for s in reading.squares]
    a, b = np.vstack([p[0] for p in pairs]), np.vstack([p[1] for p in pairs])
    ca, cb = a - a.mean(0), b - b.mean(0)
    turn = np.arctan2(np.sum(ca[:, 0] * cb[:, 1] - ca[:, 1] * cb[:, 0]), np.sum(ca * cb))
    rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    shift = b.mean(0) - rotation @ a.mean(0)
    return np.array([*rotation.ravel(), *shift])


def boundary_error(first: Polygon, second: Polygon) -> float:
    """Largest distance between two outlines, holes included (Hausdorff, sampled every 0.02 in)."""

    def farthest(a: Polygon, b: Polygon) -> float:
        points = shapely.points(shapely.get_coordinates(shapely.segmentize(a.boundary, _STEP)))
        return float(shapely.distance(points, b.boundary).max())

    return max(farthest(first, second), farthest(second, first))


def fitted(outline: Polygon, true: Polygon) -> Polygon:
    """The outline moved and turned to lie best on the true one: its shape's error is left."""
    from scipy.optimize import minimize

    points = shapely.points(shapely.get_coordinates(shapely.segmentize(outline.boundary, 0.1)))
    centre = np.array(outline.centroid.coords[0])
    xy = shapely.get_coordinates(points) - centre

    def cost(v: np.ndarray) -> float:
        c, s = np.cos(v[2]), np.sin(v[2])
        moved = xy @ np.array([[c, s], [-s, c]]) + centre + v[:2]
        return float(np.mean(shapely.distance(shapely.points(moved), true.boundary) ** 2))

    v = minimize(cost, np.zeros(3), method="Nelder-Mead", options={"xatol": 1e-4}).x
    turned = affinity.rotate(outline, float(v[2]), origin=tuple(centre), use_radians=True)
    return affinity.translate(turned, float(v[0]), float(v[1]))


def match(
    reading: Measurement, truth: Truth
) -> tuple[list[tuple[TrueScrap, MeasuredScrap, Polygon]], int]:
    """Pairs of true and measured scraps that cover each other by more than half; false ones."""
    motion = to_truth(reading, truth)
    placed = [affinity.affine_transform(scrap.on_table, motion) for scrap in reading.scraps]
    pairs, used = [], set()
    for true in truth.scraps:
        shares = [p.intersection(true.outline).area / p.union(true.outline).area for p in placed]
        best = int(np.argmax(shares)) if shares else -1
        if best >= 0 and shares[best] > 0.5:
            used.add(best)
            pairs.append((true, reading.scraps[best], placed[best]))
    return pairs, len(placed) - len(used)


def colour_errors(true: TrueScrap, scrap: MeasuredScrap) -> list[float]:
    """CIEDE2000 from each true colour of a tenth of the cloth or more to the nearest swatch."""
    return [
        min(float(delta_e(srgb_to_lab(colour.rgb), swatch.lab)) for swatch in scrap.swatches)
        for colour in true.colours
        if colour.share >= 0.1
    ]


def pillow_seconds(path: Path) -> float:
    """What Pillow needs to decode the file and resize it to 2 megapixels."""
    begin = time.perf_counter()
    with Image.open(path) as image:
        image.load()
        ratio = (2e6 / (image.width * image.height)) ** 0.5
        image.resize((round(image.width * ratio), round(image.height * ratio)))
    return time.perf_counter() - begin


def true_lens(path: Path, truth: Truth) -> LensProfile:
    """The lens as a photo with loose squares would have taught it."""
    camera = truth.camera
    key = lens_key(open_photo(path).shot, camera.width, camera.height)
    assert key is not None
    return LensProfile(key, camera.focal / max(camera.width, camera.height), camera.k1, 0.01, 0.004)


def one_photo(
    path: Path, truth: Truth, lens: LensProfile | None, tally: Tally, squares: SquareSet = OUR_PRINT
) -> None:
    baseline = min(pillow_seconds(path) for _ in range(2))
    begin = time.perf_counter()
    reading = measure(path, lens=lens, squares=squares)
    tally.seconds.append(time.perf_counter() - begin)
    tally.ratio.append(tally.seconds[-1] / baseline)
    tally.true += len(truth.scraps)
    if not reading:
        tally.refused += 1
        print(f"{path.name}: refused, {reading}")
        return
    pairs, false = match(reading, truth)
    tally.false += false
    said = [f"missed {len(truth.scraps) - len(pairs)}"] if len(pairs) < len(truth.scraps) else []
    said += [f"{false} false"] if false else []
    for true, scrap, placed in pairs:
        error = boundary_error(fitted(placed, true.outline), true.outline)
        tally.boundary.append(error)
        tally.stated.append(scrap.uncertainty)
        tally.area.append(abs(placed.area / true.outline.area - 1))
        tally.colour += colour_errors(true, scrap)
        if error > max(0.0625, scrap.uncertainty):
            at = true.outline.centroid
            said.append(
                f"{true.cloth} {error:.3f} (±{scrap.uncertainty:.3f}) at {at.x:.1f},{at.y:.1f}"
            )
    if said:
        print(f"{path.name} on {truth.table}, k1 {truth.camera.k1:+.3f}: {'; '.join(said)}")


def table(tally: Tally) -> str:
    b, stated = np.array(tally.boundary), np.array(tally.stated)

    def p(values: "list[float] | np.ndarray", share: float) -> float:
        return float(np.percentile(values, share))

    rows = [
        ("scraps found", f"{len(b)} of {tally.true} ({len(b) / tally.true:.1%})", "99 %"),
        ("false scraps", f"{tally.false}", "0"),
        ("photos refused", f"{tally.refused} of {len(tally.ratio)}", "0"),
        ("boundary error, median", f"{p(b, 50):.3f} in", ""),
        ("boundary error, 95 %", f"{p(b, 95):.3f} in", "0.0625 loose, 0.125 card"),
        ("area error, median", f"{p(tally.area, 50):.2%}", "0.4 %"),
        ("CIEDE2000, median", f"{p(tally.colour, 50):.2f}", "3"),
        ("CIEDE2000, 95 %", f"{p(tally.colour, 95):.2f}", "6"),
        ("stated uncertainty, median", f"{p(stated, 50):.3f} in", ""),
        ("… covers the true error in", f"{np.mean(b <= stated):.1%}", "95 %"),
        ("time over Pillow's, median", f"{p(tally.ratio, 50):.1f}", "5"),
        ("time over Pillow's, 95 %", f"{p(tally.ratio, 95):.1f}", ""),
        ("seconds a photo, median", f"{p(tally.seconds, 50):.2f}", ""),
        ("peak memory", f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB", ""),
    ]
    return "\n".join(f"{name:30} {value:>22}   {target}" for name, value, target in rows)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--photos", type=int, default=20)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--scale", choices=["loose", "card", "own"], default="loose")
    parser.add_argument("--lens", choices=["unknown", "known"], default="unknown")
    parser.add_argument("--k1", type=float, default=None)
    parser.add_argument("--folder", type=Path, default=None)
    given = parser.parse_args()
    tally = Tally()
    with tempfile.TemporaryDirectory() as spare:
        folder = given.folder or Path(spare)
        folder.mkdir(parents=True, exist_ok=True)
        for seed in range(given.first, given.first + given.photos):
            straight = "" if given.k1 is None else f"-k{given.k1:g}"
            path = folder / f"{given.scale}{straight}-{seed}.jpg"
            kept = path.with_suffix(".truth")
            if not kept.exists():
                laid = Options(k1=given.k1, squares=_OWN if given.scale == "own" else None)
                card = replace(laid, scale="card")
                photo = render_scene(seed, card if given.scale == "card" else laid)
                photo.save_jpeg(path)
                kept.write_bytes(pickle.dumps(photo.truth))
            truth = pickle.loads(kept.read_bytes())  # noqa: S301 - our own file
            lens = true_lens(path, truth) if given.lens == "known" else None
            one_photo(path, truth, lens, tally, _OWN if given.scale == "own" else OUR_PRINT)
            if given.folder is None:
                path.unlink()
    print(table(tally))


if __name__ == "__main__":
    main()
