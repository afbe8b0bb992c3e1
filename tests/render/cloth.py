"""Cloth: weaves, dyes and prints made from numbers, with their true colours.

A `Cloth` is one repeat of a fabric as a picture of its reflectance, which wraps round in both
directions. Columns run along the lengthwise grain (the warp), rows across it. Everything comes from
the seed; only numpy is used. The prints are in `tests.render.prints`.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tests.render.colours import Floats, Rgb, encoded, linear

Rng = np.random.Generator

PER_INCH: Final = 128
"""Pixels an inch of a repeat is made with, about what a phone gives from two feet away."""


@dataclass(frozen=True)
class TrueColour:
    """One colour of a cloth under daylight, and the part of the cloth that has it."""

    rgb: Rgb
    share: float


@dataclass(frozen=True)
class Cloth:
    """One repeat of a fabric.

    `tile` is (rows, columns, 3) linear reflectance 0..1, `per_inch` its pixels an inch; `colours`
    are sorted by share and sum to 1. `one_way` is the print's upward direction in the tile, degrees
    counter-clockwise from the warp (+x) with y up, or None. `thread` is a loose end's colour.
    `amounts` (colours, rows, columns), 0..255, says where each colour is; None: the same
    everywhere.
    """

    name: str
    tile: Floats
    per_inch: float
    colours: tuple[TrueColour, ...]
    thread: Rgb
    one_way: float | None = None
    amounts: NDArray[np.uint8] | None = None


# --- weave -------------------------------------------------------------------------------------


def noise(rng: Rng, shape: tuple[int, int], across: float, along: float | None = None) -> Floats:
    """Smooth noise that wraps, mean 0, spread 1; `across` and `along` are blur sizes in pixels."""
    rows, columns = shape
    along = across if along is None else along
    fy = np.fft.fftfreq(rows)[:, None] * across
    fx = np.fft.rfftfreq(columns)[None, :] * along
    keep = np.exp(-2 * np.pi**2 * (fx**2 + fy**2)).astype(np.float32)
    grain = rng.standard_normal(shape, dtype=np.float32)
    field = np.fft.irfft2(np.fft.rfft2(grain) * keep, s=shape)
    field -= field.mean()
    return np.asarray(field / max(float(field.std()), 1e-12), dtype=np.float32)


@dataclass(frozen=True)
class Weave:
    """How the threads lie: `step` 1 is plain, 3 a twill with a diagonal line; counts an inch."""

    threads: int = 64
    step: int = 1
    relief: float = 0.22
    slub: float = 0.036

    @property
    def over(self) -> int:
        return 2 if self.step == 1 else self.step


def weave_masks(weave: Weave, shape: tuple[int, int], rng: Rng) -> tuple[Floats, Floats]:
    """(warp on top 0..1, shading with mean 1) for a repeat of `shape` pixels at PER_INCH."""
    rows, columns = shape
    fine = 3
    inch = PER_INCH * fine
    v, u = np.meshgrid(np.arange(inch) / inch, np.arange(inch) / inch, indexing="ij")
    n = weave.threads - weave.threads % weave.over
    warp_no, weft_no = np.floor(v * n).astype(int), np.floor(u * n).astype(int)
    if weave.step == 1:
        warp_up = (warp_no + weft_no) % 2 == 0
    else:
        warp_up = (weft_no - warp_no) % weave.over != 0
    round_warp = np.abs(np.sin(np.pi * v * n)) * (0.75 + 0.25 * np.abs(np.sin(np.pi * u * n)))
    round_weft = np.abs(np.sin(np.pi * u * n)) * (0.75 + 0.25 * np.abs(np.sin(np.pi * v * n)))
    light = np.where(warp_up, round_warp, round_weft * 0.97)
    light = 1 + weave.relief * 2 * (light - light.mean())

    def shrink(fine_values: NDArray[np.floating]) -> Floats:
        cut = fine_values.reshape(PER_INCH, fine, PER_INCH, fine).mean(axis=(1, 3))
        times = (-(-rows // PER_INCH), -(-columns // PER_INCH))
        return np.tile(cut, times)[:rows, :columns].astype(np.float32)

    up, shade = shrink(warp_up.astype(np.float32)), shrink(light)
    thick = PER_INCH / n
    yarn = noise(rng, shape, thick * 0.45, thick * 9) + noise(rng, shape, thick * 9, thick * 0.45)
    shade *= np.exp(weave.slub * yarn + 0.012 * noise(rng, shape, PER_INCH * 0.3))
    return up, shade / shade.mean()


# --- from colours to a repeat ------------------------------------------------------------------


def finish(
    name: str,
    inks: Sequence[Rgb],
    amounts: NDArray[np.floating],
    weave: Weave,
    rng: Rng,
    *,
    one_way: float | None = None,
) -> Cloth:
    """Weave a print: `amounts` (inks, rows, columns) sum to 1 in every pixel."""
    shape = (int(amounts.shape[1]), int(amounts.shape[2]))
    tile = np.tensordot(np.moveaxis(amounts, 0, -1).astype(np.float32), linear(inks), axes=1)
    _, shade = weave_masks(weave, shape, rng)
    tile = np.clip(tile * shade[..., None], 0.002, 0.98)
    shares = amounts.reshape(len(inks), -1).mean(axis=1)
    order = [int(k) for k in np.argsort(-shares, kind="stable") if shares[k] > 0]
    found = tuple(TrueColour(inks[k], float(shares[k])) for k in order)
    where = np.rint(amounts[order] * 255).astype(np.uint8)
    return Cloth(name, tile.astype(np.float32), PER_INCH, found, inks[0], one_way, where)


def layers(ground_shape: tuple[int, int], masks: Sequence[NDArray[np.floating]]) -> Floats:
    """Amounts of ground and of each mask laid over those before it; sums to 1 everywhere."""
    left = np.ones(ground_shape, dtype=np.float32)
    amounts: list[Floats] = []
    for mask in reversed(masks):
        part = (left * mask).astype(np.float32)
        amounts.append(part)
        left = left - part
    return np.stack([left, *reversed(amounts)])


def _mix(first: Rgb, second: Rgb, part: float = 0.5) -> Rgb:
    """The colour that two threads side by side have from afar: `part` of the first, by light."""
    both = part * linear(first) + (1 - part) * linear(second)
    r, g, b = (int(v) for v in np.rint(encoded(both)))
    return r, g, b


def _square(inches: float) -> tuple[int, int]:
    side = round(inches * PER_INCH)
    return side, side


def solid(inks: Sequence[Rgb], rng: Rng, *, weave: Weave | None = None) -> Cloth:
    """One dye."""
    shape = _square(6)
    weave = weave or Weave(threads=int(rng.choice([56, 60, 64, 68])))
    return finish("solid", inks[:1], np.ones((1, *shape)), weave, rng)


def canvas(inks: Sequence[Rgb], rng: Rng) -> Cloth:
    """A heavy plain weave, its threads to be seen, with the odd fleck of husk in a natural one."""
    shape = _square(7)
    weave = Weave(threads=int(rng.choice([30, 34, 38])), relief=0.28, slub=0.045)
    return finish("canvas", inks[:1], np.ones((1, *shape)), weave, rng)


def chambray(inks: Sequence[Rgb], rng: Rng) -> Cloth:
    """A dyed warp (first ink) and another weft (second); from afar one colour, the mix of both."""
    return _two_tone("chambray", inks, rng, Weave(threads=52, relief=0.16, slub=0.05))


def denim(inks: Sequence[Rgb], rng: Rng) -> Cloth:
    """A 2/1 twill: more of the dyed warp than of the pale weft on the right side."""
    return _two_tone("denim", inks, rng, Weave(threads=48, step=3, relief=0.2, slub=0.07))


def _two_tone(name: str, inks: Sequence[Rgb], rng: Rng, weave: Weave) -> Cloth:
    shape = _square(6)
    up, shade = weave_masks(weave, shape, rng)
    uneven = np.clip(up + 0.05 * noise(rng, shape, 1.2, 14), 0, 1)[..., None]
    tile = uneven * linear(inks[0]) + (1 - uneven) * linear(inks[1])
    tile = np.clip(tile * shade[..., None], 0.002, 0.98)
    seen = _mix(inks[0], inks[1], float(uneven.mean()))
    return Cloth(name, tile.astype(np.float32), PER_INCH, (TrueColour(seen, 1.0),), inks[0])


def stripes(inks: Sequence[Rgb], rng: Rng, *, widths: Sequence[float] | None = None) -> Cloth:
    """Stripes along the warp; `widths` in inches of each ink in turn, ground first."""
    if widths is None:
        widths = [float(w) for w in rng.choice([0.125, 0.25, 0.375, 0.5, 0.75], len(inks))]
    rounded = [max(round(w * PER_INCH), 4) for w in widths]
    rows = sum(rounded)
    repeats = max(1, round(3.5 * PER_INCH / rows))
    amounts = np.zeros((len(inks), rows * repeats, 4 * PER_INCH), dtype=np.float32)
    edges = np.concatenate([[0], np.cumsum(rounded)])
    for k in range(repeats):
        for i in range(len(inks)):
            amounts[i, k * rows + edges[i] : k * rows + edges[i + 1]] = 1
    return finish("stripes", inks, amounts, Weave(threads=60), rng)


def gingham(inks: Sequence[Rgb], rng: Rng, *, size: float | None = None) -> Cloth:
    """Checks of a dyed and a pale thread: full, half and pale squares, a quarter, half, quarter."""
    n = round((size or float(rng.choice([0.125, 0.25, 0.375, 0.5]))) * PER_INCH)
    repeats = max(1, round(3.5 * PER_INCH / (2 * n)))
    band = np.tile(np.repeat([1.0, 0.0], n), repeats)
    both = band[:, None] + band[None, :]
    amounts = np.stack([both == k for k in (0, 1, 2)]).astype(np.float32)
    colours = [inks[0], _mix(inks[0], inks[1]), inks[1]]
    return finish("gingham", colours, amounts, Weave(threads=64), rng)


def windowpane(inks: Sequence[Rgb], rng: Rng, *, size: float | None = None) -> Cloth:
    """Thin lines of one or two other threads crossing on a ground, as on a shirt."""
    n = round((size or float(rng.choice([0.375, 0.5, 0.75, 1.0]))) * PER_INCH)
    others = len(inks) - 1
    side = n * others * max(1, round(3.5 * PER_INCH / (n * others)))
    line = max(round(n * 0.09), 4)
    masks = []
    for k in range(others):
        on = (np.arange(side) - k * n) % (n * others) < line
        masks.append(np.maximum(on[:, None], on[None, :]).astype(np.float32))
    return finish("windowpane", inks, layers((side, side), masks), Weave(threads=68), rng)


def hand_dyed(inks: Sequence[Rgb], rng: Rng) -> Cloth:
    """Clouds of dye running from the first ink to the last.

    The true colours are five steps of it, each the mean of the places nearest to that step: of the
    pure inks at the two ends a cloud has hardly anything.
    """
    shape = _square(8)
    cloud = noise(rng, shape, PER_INCH * 0.5) + 0.5 * noise(rng, shape, PER_INCH * 0.16)
    part = 1 / (1 + np.exp(-1.5 * cloud))
    steps = 5
    at = part * (steps - 1)
    amounts = np.clip(1 - np.abs(at[None] - np.arange(steps)[:, None, None]), 0, 1)
    colours = [_mix(inks[-1], inks[0], k / (steps - 1)) for k in range(steps)]
    cloth = finish("hand-dyed", colours, amounts, Weave(threads=66), rng)
    nearest = np.rint(at)[None] == np.arange(steps)[:, None, None]
    shown = [_mix(inks[-1], inks[0], float(part[band].mean())) for band in nearest]
    order = np.argsort(-nearest.mean(axis=(1, 2)), kind="stable")
    return replace(
        cloth,
        colours=tuple(TrueColour(shown[k], float(nearest[k].mean())) for k in order),
        amounts=np.where(nearest[order], 255, 0).astype(np.uint8),
    )


Maker = Callable[[Sequence[Rgb], Rng], Cloth]
