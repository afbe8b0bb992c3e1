"""Outlines of scraps as they fall: rotary-cut, scissor-cut, armholes, off-corners, holes.

All are shapely polygons in inches around (0, 0), y up; the lengthwise grain runs along +x.
"""

from typing import Final

import numpy as np
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from tests.render.cloth import Rng

KINDS: Final = (
    "rectangle",
    "strip",
    "triangle",
    "trapezoid",
    "polygon",
    "curved",
    "scissored",
    "off-corner",
    "holed",
)


def make_outline(kind: str, rng: Rng, size: float) -> Polygon:
    """An outline of one of KINDS about `size` inches across, its middle near (0, 0)."""
    shape = _DRAW[kind](rng, size)
    centre = shape.centroid
    return _whole(affinity.translate(shape, -centre.x, -centre.y))


def _whole(shape: BaseGeometry) -> Polygon:
    assert isinstance(shape, Polygon), shape.geom_type
    return shape


def _rectangle(rng: Rng, size: float) -> Polygon:
    w, h = size * rng.uniform(0.75, 1.0), size * rng.uniform(0.45, 0.9)
    return Polygon([(0, 0), (w, 0), (w, h), (0, h)])


def _strip(rng: Rng, size: float) -> Polygon:
    w, h = size * 1.25, float(rng.choice([1.25, 1.5, 2.0, 2.5]))
    slope = rng.choice([0.0, 0.0, h])
    return Polygon([(0, 0), (w, 0), (w - slope, h), (0, h)])


def _triangle(rng: Rng, size: float) -> Polygon:
    return Polygon(
        [(0, 0), (size * 1.1, 0), (size * rng.uniform(0, 1.1), size * rng.uniform(0.6, 1))]
    )


def _trapezoid(rng: Rng, size: float) -> Polygon:
    a, b = rng.uniform(0, 0.3, 2) * size
    return Polygon([(0, 0), (size * 1.1, 0), (size * 1.1 - a, size * 0.6), (b, size * 0.6)])


def _polygon(rng: Rng, size: float) -> Polygon:
    """Straight rotary cuts through a square: corners are the hull of points round a ring."""
    n = int(rng.integers(5, 8))
    turns = (np.arange(n) + rng.uniform(-0.28, 0.28, n)) * 2 * np.pi / n
    radii = size / 2 * rng.uniform(0.78, 1.12, n)
    ring = np.column_stack([radii * np.cos(turns), radii * np.sin(turns) * 0.85])
    return _whole(Polygon(ring).convex_hull)


def _curved(rng: Rng, size: float) -> Polygon:
    """A rectangle with an armhole bitten out of one side."""
    base = Polygon([(0, 0), (size * 1.1, 0), (size * 1.1, size * 0.8), (0, size * 0.8)])
    bite = Point(size * rng.uniform(0.3, 0.8), size * rng.uniform(0.85, 0.95))
    return _whole(base.difference(affinity.scale(bite.buffer(size * 0.33, 64), 1.2, 1)))


def _scissored(rng: Rng, size: float) -> Polygon:
    """A wavy closed line, cut by hand."""
    t = np.linspace(0, 2 * np.pi, 181)[:-1]
    r = np.full_like(t, size / 2)
    for k in (2, 3, 4, 5):
        r *= 1 + rng.normal(0, 0.22 / k) * np.cos(k * t + rng.uniform(0, 6.3))
    return Polygon(np.column_stack([r * np.cos(t), 0.85 * r * np.sin(t)]))


def _off_corner(rng: Rng, size: float) -> Polygon:
    """An L: what is left when a square was cut from a corner."""
    w, h = size * 1.05, size * 0.9
    a, b = w * rng.uniform(0.35, 0.6), h * rng.uniform(0.35, 0.6)
    return Polygon([(0, 0), (w, 0), (w, h - b), (w - a, h - b), (w - a, h), (0, h)])


def _holed(rng: Rng, size: float) -> Polygon:
    """A rectangle or polygon with a hole where something was cut out."""
    base = _polygon(rng, size * 1.1) if rng.random() < 0.5 else _rectangle(rng, size * 1.1)
    c = base.centroid
    if rng.random() < 0.5:
        hole = Point(c.x, c.y).buffer(size * rng.uniform(0.09, 0.14), 48)
    else:
        half = size * rng.uniform(0.08, 0.13)
        corners = [(c.x - half, c.y - half), (c.x + half, c.y - half), (c.x + half, c.y + half)]
        hole = Polygon([*corners, (c.x - half, c.y + half)])
    return _whole(base.difference(hole))


_DRAW: Final = {
    "rectangle": _rectangle,
    "strip": _strip,
    "triangle": _triangle,
    "trapezoid": _trapezoid,
    "polygon": _polygon,
    "curved": _curved,
    "scissored": _scissored,
    "off-corner": _off_corner,
    "holed": _holed,
}


def worn(outline: Polygon, rng: Rng, amount: float) -> Polygon:
    """The outline with edges as cloth has them: off the straight by about `amount` inches.

    Sharp corners stay where they are.
    """
    if amount <= 0:
        return outline

    def ring(line: LineString) -> list[tuple[float, float]]:
        points = densely(line, 0.04)
        n = len(points)
        ahead, behind = np.roll(points, -1, axis=0) - points, points - np.roll(points, 1, axis=0)
        turn = np.abs(
            np.arctan2(
                behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0],
                np.sum(behind * ahead, axis=1),
            )
        )
        way = ahead + behind
        way /= np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-9)
        keep = np.exp(-((np.fft.fftfreq(n) * 40) ** 2))
        slow = np.real(np.fft.ifft(np.fft.fft(rng.standard_normal(n)) * keep))
        slow /= max(float(slow.std()), 1e-9)
        off = np.clip(0.35 * rng.standard_normal(n) + 0.7 * slow, -2, 2) * amount
        corners = points[turn > np.radians(15)]
        if len(corners):
            gaps = np.linalg.norm(points[:, None] - corners[None], axis=2).min(axis=1)
            off *= np.minimum(gaps / 0.2, 1)
        out = points + np.column_stack([way[:, 1], -way[:, 0]]) * off[:, None]
        return [(float(x), float(y)) for x, y in out]

    rough = Polygon(ring(outline.exterior), [ring(hole) for hole in outline.interiors])
    return rough if rough.is_valid else outline


def densely(ring: "LineString | list[tuple[float, float]]", step: float = 0.1) -> np.ndarray:
    """The corners of a ring with points between, no further than `step` apart; (n, 2)."""
    points = np.array(ring.coords if isinstance(ring, LineString) else ring, dtype=float)[:-1]
    out = []
    for a, b in zip(points, np.roll(points, -1, axis=0), strict=True):
        n = max(int(np.ceil(np.hypot(*(b - a)) / step)), 1)
        out.append(a + (b - a) * (np.arange(n) / n)[:, None])
    return np.concatenate(out)
