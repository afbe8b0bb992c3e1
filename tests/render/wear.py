"""What use does to a scrap: loose threads along raw edges, folds that stay."""

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon
from shapely.geometry.polygon import orient

from tests.render.cloth import Rng

Points = NDArray[np.float64]
Fold = tuple[float, float, float, float, float]


def loose_threads(
    outline: Polygon, rng: Rng, *, per_inch: float = 4.0, longest: float = 0.3
) -> tuple[Points, ...]:
    """Ends of threads that stick out of the edge, most of them short; thick in some places."""
    ring = LineString(orient(outline).exterior.coords)
    count = int(rng.poisson(ring.length * per_inch))
    bunches = rng.uniform(0, ring.length, max(count // 12, 1))
    threads = []
    for _ in range(count):
        if rng.random() < 0.6:
            s = float(rng.choice(bunches) + rng.normal(0, 0.35)) % ring.length
        else:
            s = float(rng.uniform(0, ring.length))
        a = np.array(ring.interpolate(s).coords[0])
        b = np.array(ring.interpolate((s + 0.02) % ring.length).coords[0])
        way = b - a
        if np.hypot(*way) < 1e-6:
            continue
        way /= np.hypot(*way)
        out = np.array([way[1], -way[0]])
        long = min(float(rng.exponential(longest / 3)), longest)
        lean = rng.normal(0, 0.5)
        curl = rng.normal(0, 0.6)
        t = np.linspace(0, 1, 6)[:, None]
        path = a - out * 0.01 + long * t * (out + lean * way) + long * curl * t**2 * way
        threads.append(path)
    return tuple(threads)


def folds(outline: Polygon, rng: Rng, count: int, strength: float = 0.1) -> tuple[Fold, ...]:
    """Creases through the scrap, some sharp, some broad."""
    left, bottom, right, top = outline.bounds
    found = []
    for _ in range(count):
        width = float(rng.choice([0.06, 0.12, 0.5, 1.2]))
        found.append(
            (
                float(rng.uniform(left, right)),
                float(rng.uniform(bottom, top)),
                float(rng.choice([0, 90]) + rng.normal(0, 15)),
                width,
                float(rng.choice([-1, 1]) * strength * rng.uniform(0.4, 1.0)),
            )
        )
    return tuple(found)
