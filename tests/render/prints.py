"""Printed cloth: motifs drawn from distances, stamped on a repeat that wraps round."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tests.render.cloth import (
    PER_INCH,
    Cloth,
    Maker,
    Rng,
    Weave,
    canvas,
    chambray,
    denim,
    finish,
    gingham,
    hand_dyed,
    layers,
    noise,
    solid,
    stripes,
    windowpane,
)
from tests.render.colours import Floats, Rgb

Field = NDArray[np.floating]
Motif = Callable[[Field, Field], list[Field]]
"""Distances in inches (negative inside), one for each ink after the ground, from local x and y."""

_WEAVE: Final = Weave(threads=68, relief=0.16, slub=0.035)


def stamp(
    masks: list[Floats], at: tuple[float, float], turn: float, size: float, motif: Motif
) -> None:
    """Draw `motif` into the masks at a place (inches, y up), turned by radians, inside ±size."""
    rows, columns = masks[0].shape
    reach = int(np.ceil(size * PER_INCH)) + 2
    ci, cj = round(at[0] * PER_INCH), round(rows - at[1] * PER_INCH)
    offsets = np.arange(-reach, reach + 1)
    dx = ((ci + offsets)[None, :] / PER_INCH - at[0]).astype(np.float32)
    dy = ((rows - (cj + offsets))[:, None] / PER_INCH - at[1]).astype(np.float32)
    cos, sin = float(np.cos(turn)), float(np.sin(turn))
    x, y = cos * dx + sin * dy, cos * dy - sin * dx
    where = np.ix_((cj + offsets) % rows, (ci + offsets) % columns)
    inks = [np.clip(0.5 - d * PER_INCH, 0, 1).astype(np.float32) for d in motif(x, y)]
    for k, ink in enumerate(inks):
        for other in range(len(masks)):
            old = masks[other][where]
            masks[other][where] = np.maximum(old, ink) if other == k else old * (1 - ink)


def _blank(inks: Sequence[Rgb], inches: float) -> list[Floats]:
    side = round(inches * PER_INCH)
    return [np.zeros((side, side), dtype=np.float32) for _ in inks[1:]]


def _spread(rng: Rng, inches: float, apart: float, most: int = 400) -> list[tuple[float, float]]:
    """Places on a wrapping square, no two nearer than `apart`, as many as come."""
    found = np.empty((0, 2))
    for p in rng.uniform(0, inches, (most * 6, 2)):
        gaps = np.abs(found - p)
        if np.all(np.hypot(*np.minimum(gaps, inches - gaps).T) >= apart):
            found = np.vstack([found, p])
        if len(found) == most:
            break
    return [(float(x), float(y)) for x, y in found]


def _disc(x: Field, y: Field, cx: float, cy: float, r: float) -> Field:
    return np.asarray(np.hypot(x - cx, y - cy) - r)


def _oval(
    x: Field, y: Field, at: tuple[float, float], half: tuple[float, float], turn: float
) -> Field:
    cos, sin = float(np.cos(turn)), float(np.sin(turn))
    u = cos * (x - float(at[0])) + sin * (y - float(at[1]))
    v = cos * (y - float(at[1])) - sin * (x - float(at[0]))
    level = np.hypot(u / half[0], v / half[1])
    slope = np.hypot(u / half[0] ** 2, v / half[1] ** 2) / np.maximum(level, 1e-6)
    return np.asarray((level - 1) / np.maximum(slope, 1e-6))


def _flower(size: float, petals: int, leaves: int, inks: int) -> Motif:
    """Petals, a heart and leaves; with fewer inks they share one."""

    def draw(x: Field, y: Field) -> list[Field]:
        bloom = np.full(x.shape if x.shape == y.shape else np.broadcast(x, y).shape, np.inf)
        for k in range(petals):
            a = 2 * np.pi * k / petals
            at = (0.52 * size * np.cos(a), 0.52 * size * np.sin(a))
            bloom = np.minimum(bloom, _oval(x, y, at, (0.46 * size, 0.30 * size), a))
        heart = _disc(x, y, 0, 0, 0.22 * size)
        leaf = np.full_like(bloom, np.inf)
        for k in range(leaves):
            a = 2 * np.pi * (k + 0.5) / max(leaves, 1) + 0.3
            at = (1.25 * size * np.cos(a), 1.25 * size * np.sin(a))
            leaf = np.minimum(leaf, _oval(x, y, at, (0.42 * size, 0.15 * size), a))
        leaf = np.maximum(leaf, -bloom)
        if inks == 1:
            return [np.minimum(np.maximum(bloom, -heart), leaf)]
        if inks == 2:
            return [np.minimum(bloom, leaf), heart]
        return [bloom, heart, leaf]

    return draw


def _turned(motif: Motif) -> Motif:
    """The same with its inks the other way round."""
    return lambda x, y: motif(x, y)[::-1]


def dots(inks: Sequence[Rgb], rng: Rng, *, apart: float | None = None, part: float = 0.25) -> Cloth:
    """Round dots on a lattice; `apart` inches between centres, radius `part` of it."""
    apart = apart or float(rng.choice([0.25, 0.375, 0.5, 0.75]))
    n = 2 * max(1, round(2 / apart))
    side = round(n * apart * PER_INCH)
    v, u = np.meshgrid(np.arange(side) + 0.5, np.arange(side) + 0.5, indexing="ij")
    row = np.floor(v / side * n)
    x = ((u / side * n + 0.5 * (row % 2)) % 1 - 0.5) * apart
    y = ((v / side * n) % 1 - 0.5) * apart
    mask = np.clip(0.5 - (np.hypot(x, y) - part * apart) * PER_INCH, 0, 1)
    return finish("dots", inks[:2], layers((side, side), [mask]), _WEAVE, rng)


def floral(inks: Sequence[Rgb], rng: Rng, *, size: float | None = None) -> Cloth:
    """Small flowers strewn in all directions."""
    size = size or float(rng.uniform(0.11, 0.2))
    masks = _blank(inks, 4)
    petals = int(rng.choice([5, 6]))
    for at in _spread(rng, 4, size * 3.3):
        motif = _flower(size * rng.uniform(0.8, 1.15), petals, leaves=2, inks=len(masks))
        stamp(masks, at, float(rng.uniform(0, 2 * np.pi)), size * 2.2, motif)
    return finish("small floral", inks, layers(masks[0].shape, masks), _WEAVE, rng)


def big_bloom(inks: Sequence[Rgb], rng: Rng) -> Cloth:
    """A furnishing print: blooms two inches across, buds and leaves between."""
    masks = _blank(inks, 8)
    for at in _spread(rng, 8, 2.5, 14):
        motif = _flower(rng.uniform(0.75, 1.0), 7, leaves=5, inks=len(masks))
        stamp(masks, at, float(rng.uniform(0, 6.3)), 1.95, motif)
        stamp(masks, at, float(rng.uniform(0, 6.3)), 0.4, _turned(_flower(0.3, 6, 0, len(masks))))
    for at in _spread(rng, 8, 1.1, 60):
        spot = round(8 * PER_INCH - at[1] * PER_INCH) % masks[0].shape[0]
        taken = [m[spot, round(at[0] * PER_INCH) % m.shape[1]] for m in masks]
        if max(taken) < 0.5:
            motif = _flower(0.24, 5, leaves=2, inks=len(masks))
            stamp(masks, at, float(rng.uniform(0, 6.3)), 0.5, motif)
    return finish("large floral", inks, layers(masks[0].shape, masks), _WEAVE, rng)


def boats(inks: Sequence[Rgb], rng: Rng) -> Cloth:
    """Small sails on short waves, all upright along the warp: a one-way print."""
    masks = _blank(inks, 4)

    def boat(x: Field, y: Field) -> list[Field]:
        jib = np.maximum.reduce(
            [-(x + 0.17) + 0 * y, x + 0.02 + 0 * y, y - 0.05 - (x + 0.17) * 1.7]
        )
        jib = np.maximum(jib, -(y + 0.03))
        main = np.maximum.reduce([-(x - 0.01) + 0 * y, -(y + 0.03), (y - 0.33) * 0.6 + x * 0.9])
        hull = np.maximum.reduce(
            [y + 0.06 + 0 * x, -(y + 0.15) + 0 * x, np.abs(x) - 0.24 - (y + 0.06)]
        )
        wave = np.abs(y + 0.22 - 0.025 * np.cos(x * 26)) - 0.014
        wave = np.maximum(wave, np.abs(x) - 0.3)
        return [np.minimum(jib, main), np.minimum(hull, wave)][: len(masks)] + [wave] * (
            len(masks) - 2
        )

    for i in range(5):
        for j in range(4):
            at = (i * 0.8 + 0.4, j * 1.0 + 0.5 + 0.5 * (i % 2))
            stamp(masks, at, -np.pi / 2, 0.42, boat)
    cloth = finish("boats", inks, layers(masks[0].shape, masks), _WEAVE, rng)
    return replace(cloth, one_way=0.0)


def pebbles(inks: Sequence[Rgb], rng: Rng) -> Cloth:
    """Rounded stones of all inks packed close."""
    masks = _blank(inks, 4)
    for at in _spread(rng, 4, 0.27):
        k = int(rng.integers(len(masks)))
        half = (rng.uniform(0.09, 0.15), rng.uniform(0.06, 0.1))

        def stone(x: Field, y: Field, k: int = k, half: tuple[float, float] = half) -> list[Field]:
            far = np.full(np.broadcast(x, y).shape, 9.0)
            return [_oval(x, y, (0, 0), half, 0.0) if i == k else far for i in range(len(masks))]

        stamp(masks, at, float(rng.uniform(0, np.pi)), 0.2, stone)
    return finish("pebbles", inks, layers(masks[0].shape, masks), _WEAVE, rng)


def scallops(inks: Sequence[Rgb], rng: Rng) -> Cloth:
    """Rows of overlapping arcs like roof tiles or waves."""
    r = 0.5
    side = 4 * PER_INCH
    v, u = np.meshgrid(
        (np.arange(side) + 0.5) / PER_INCH, (np.arange(side) + 0.5) / PER_INCH, indexing="ij"
    )
    best = np.full((side, side), np.inf)
    for row in range(-2, 18):
        cy = row * r / 2
        cx = (0.5 * r) * (row % 2)
        x = (u - cx + r / 2) % r - r / 2
        d = np.hypot(x, v - cy)
        best = np.where((d < r / 2) & np.isinf(best), d, best)
    ring = np.abs((best / (r / 2)) % 0.5 - 0.25) < 0.13
    return finish(
        "scallops", inks[:2], layers((side, side), [ring.astype(np.float32)]), _WEAVE, rng
    )


def tone_on_tone(inks: Sequence[Rgb], rng: Rng) -> Cloth:
    """A quiet blender: wandering vein of a second shade on a first."""
    shape = (6 * PER_INCH, 6 * PER_INCH)
    vein = np.abs(noise(rng, shape, PER_INCH * 0.14))
    mask = 0.5 - 0.5 * np.tanh((vein - 0.22) * 13)
    return finish("tone on tone", inks[:2], layers(shape, [mask]), _WEAVE, rng)


MAKERS: Final[dict[str, tuple[Maker, int]]] = {
    "solid": (solid, 1),
    "canvas": (canvas, 1),
    "chambray": (chambray, 2),
    "denim": (denim, 2),
    "stripes": (stripes, 3),
    "gingham": (gingham, 2),
    "windowpane": (windowpane, 3),
    "hand-dyed": (hand_dyed, 2),
    "dots": (dots, 2),
    "floral": (floral, 4),
    "large floral": (big_bloom, 4),
    "boats": (boats, 3),
    "pebbles": (pebbles, 4),
    "scallops": (scallops, 2),
    "tone on tone": (tone_on_tone, 2),
}
"""Every kind of cloth: what makes it and how many inks it asks for."""

PALETTE: Final[dict[str, tuple[Rgb, ...]]] = {
    "blue": ((28, 52, 110), (44, 92, 160), (92, 140, 196), (160, 190, 220), (20, 34, 66)),
    "teal": ((12, 94, 104), (30, 132, 136), (96, 170, 168), (170, 210, 205)),
    "green": ((40, 88, 58), (92, 130, 74), (150, 172, 120)),
    "yellow": ((226, 178, 52), (240, 208, 110), (206, 150, 40)),
    "orange": ((214, 108, 44), (232, 148, 90)),
    "coral": ((222, 96, 84), (236, 140, 122), (196, 70, 66)),
    "red": ((168, 34, 42), (132, 28, 40)),
    "pink": ((214, 120, 146), (234, 178, 190)),
    "purple": ((96, 64, 128), (150, 118, 170)),
    "brown": ((108, 74, 50), (156, 120, 84), (70, 50, 40)),
    "grey": ((120, 122, 126), (172, 174, 176), (72, 76, 82)),
    "cream": ((240, 230, 208), (228, 214, 184)),
    "white": ((240, 240, 236), (232, 234, 236)),
    "black": ((36, 36, 40),),
}
"""Dyes to draw from, by colour family."""


def make_cloth(kind: str, seed: int, inks: Sequence[Rgb] | None = None) -> Cloth:
    """A cloth of one of MAKERS' kinds; without `inks`, the seed draws them from PALETTE."""
    rng = np.random.default_rng([seed, sum(kind.encode())])
    maker, wanted = MAKERS[kind]
    if inks is None:
        families = list(PALETTE)
        picked = rng.choice(len(families), size=wanted, replace=False)
        inks = [PALETTE[families[i]][int(rng.integers(len(PALETTE[families[i]])))] for i in picked]
    return maker(list(inks), rng)
