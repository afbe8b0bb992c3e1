"""What scraps lie on: plain tops, wood, a cutting mat with its grid, carpet, a table-cloth."""

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np

from tests.render.cloth import Cloth, Rng, noise
from tests.render.colours import Floats, Rgb, lab, linear
from tests.render.prints import make_cloth

KINDS: Final = ("plain", "wood", "mat", "carpet", "cloth")


@dataclass(frozen=True)
class Table:
    """A surface that can be looked up anywhere.

    `tile` (rows, columns, 3), linear, wraps; `print` is a single sheet of extra ink 0..1 laid with
    its centre at the table's origin: where it is 1 the surface has `ink`. `sheet` is the same for
    the mat itself, whose colour is then `tile` and which lies on `under`.
    """

    kind: str
    tile: Floats
    per_inch: float
    turn_deg: float = 0.0
    print_: Floats | None = None
    ink: Rgb = (255, 255, 255)
    size: tuple[float, float] = (0.0, 0.0)
    under: "Table | None" = None

    def look(self, x: Floats, y: Floats) -> Floats:
        """Linear reflectance (rows, columns, 3) at table points in inches."""
        turn = np.radians(self.turn_deg)
        u = np.float32(np.cos(turn)) * x + np.float32(np.sin(turn)) * y
        v = np.float32(-np.sin(turn)) * x + np.float32(np.cos(turn)) * y
        scale = np.float32(self.per_inch)
        seen = cv2.remap(
            self.tile, u * scale, v * -scale, cv2.INTER_LINEAR, borderMode=cv2.BORDER_WRAP
        )
        found: Floats = np.asarray(seen, dtype=np.float32)
        if self.print_ is not None:
            wide, high = self.size
            fine = self.print_.shape[1] / wide
            pu = (u + np.float32(wide / 2)) * np.float32(fine)
            pv = (np.float32(high / 2) - v) * np.float32(fine)
            amount = cv2.remap(
                self.print_, pu, pv, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT
            )
            found += (linear(self.ink) - found) * amount[..., None]
            if self.under is not None:
                outside = np.maximum(np.abs(u) - wide / 2, np.abs(v) - high / 2) * 60 + 0.5
                lie = np.clip(outside, 0, 1)[..., None]
                if lie.any():
                    found += (self.under.look(x, y) - found) * lie
        return found


def contrast(cloth: Cloth, table: Table) -> float:
    """CIELAB distance from the table's mean colour to the cloth colour nearest to it.

    Colours that take less than a tenth of the cloth do not count; what a mat lies on does.
    """
    main = lab(np.array([linear(colour.rgb) for colour in cloth.colours if colour.share >= 0.1]))
    nearest = np.inf
    ground: Table | None = table
    while ground is not None:
        mean = lab(ground.tile.reshape(-1, 3).mean(axis=0))
        nearest = min(nearest, float(np.linalg.norm(main - mean, axis=1).min()))
        ground = ground.under
    return nearest


def make_table(kind: str, seed: int, colour: Rgb | None = None) -> Table:
    """A table of one of KINDS; the seed picks what `colour` leaves open."""
    rng = np.random.default_rng([seed, sum(kind.encode())])
    turn = float(rng.normal(0, 4))
    if kind == "plain":
        tops: list[Rgb] = [
            (236, 234, 228),
            (208, 204, 196),
            (150, 150, 148),
            (92, 96, 100),
            (58, 60, 64),
        ]
        return Table(kind, _plain(rng, colour or tops[int(rng.integers(5))]), 96, turn)
    if kind == "wood":
        woods: list[Rgb] = [(196, 160, 116), (150, 106, 70), (222, 196, 158), (110, 78, 56)]
        return Table(kind, _wood(rng, colour or woods[int(rng.integers(4))]), 64, turn)
    if kind == "mat":
        return _mat(rng, colour, turn)
    if kind == "carpet":
        piles: list[Rgb] = [(112, 92, 74), (124, 126, 130), (176, 164, 146), (66, 74, 92)]
        return Table(kind, _carpet(rng, colour or piles[int(rng.integers(4))]), 80, turn)
    if kind == "cloth":
        pale: list[Rgb] = [(236, 232, 222), (222, 228, 232), (214, 206, 192)]
        base = colour or pale[int(rng.integers(3))]
        shade: Rgb = (base[0] - 14, base[1] - 12, base[2] - 8)
        pattern = str(rng.choice(["gingham", "dots", "tone on tone"]))
        cloth = make_cloth(pattern, int(rng.integers(1000)), [base, shade])
        return Table(kind, cloth.tile, cloth.per_inch, turn)
    msg = f"no table is called {kind!r}: {', '.join(KINDS)}"
    raise ValueError(msg)


def _plain(rng: Rng, colour: Rgb) -> Floats:
    shape = (768, 768)
    speck = 0.012 * noise(rng, shape, 0.7) + 0.005 * noise(rng, shape, 40)
    return np.asarray(np.clip(linear(colour) * np.exp(speck)[..., None], 0.003, 0.97), np.float32)


def _wood(rng: Rng, colour: Rgb) -> Floats:
    rows, columns = 1280, 1536  # 20 × 24 in, four planks
    bands = 4
    high = rows // bands
    out = np.empty((rows, columns, 3), dtype=np.float32)
    fibre = noise(rng, (rows, columns), 0.8, 30)
    for k in range(bands):
        part = slice(k * high, (k + 1) * high)
        bend = 0.16 * noise(rng, (high, columns), 40, 420) + 0.02 * noise(
            rng, (high, columns), 6, 90
        )
        across = np.arange(high)[:, None] / 64 + bend
        rings = 0.5 + 0.5 * np.sin(2 * np.pi * across * rng.uniform(3.0, 4.5))
        fine = 0.5 + 0.5 * np.sin(2 * np.pi * across * 13.0)
        dark = 0.13 * rings**2 + 0.06 * fine + 0.035 * noise(rng, (high, columns), 3, 60)
        dark += 0.06 * fibre[part] + 0.16 * (fibre[part] > 1.9)
        tone = np.exp(-dark + rng.normal(0, 0.07))
        warm = np.array([1.0, 0.97, 0.9]) ** (dark[..., None] * 4)
        out[part] = linear(colour) * tone[..., None] * warm
        out[k * high : k * high + 2] *= 0.45
    return np.asarray(np.clip(out, 0.003, 0.97), dtype=np.float32)


def _carpet(rng: Rng, colour: Rgb) -> Floats:
    shape = (800, 800)
    tuft = noise(rng, shape, 2.6) + 0.7 * noise(rng, shape, 1.1) + 0.5 * noise(rng, shape, 6)
    tone = np.exp(0.26 * np.tanh(tuft * 0.8) + 0.05 * noise(rng, shape, 60))
    return np.asarray(np.clip(linear(colour) * tone[..., None], 0.003, 0.97), dtype=np.float32)


def _mat(rng: Rng, colour: Rgb | None, turn: float) -> Table:
    """A self-healing mat 36 × 24 in: inch lines, half-inch ticks, slanting lines, numbers."""
    kinds: list[tuple[Rgb, Rgb]] = [
        ((40, 92, 74), (226, 214, 120)),
        ((44, 74, 112), (220, 226, 230)),
        ((88, 90, 96), (222, 222, 222)),
        ((150, 92, 130), (240, 232, 238)),
    ]
    base, ink = kinds[int(rng.integers(4))]
    fine, wide, high = 100, 36, 24
    sheet = np.zeros((high * fine, wide * fine), dtype=np.uint8)

    def line(x0: float, y0: float, x1: float, y1: float, strength: int, thick: int = 2) -> None:
        a, b = (round(x0 * fine), round(y0 * fine)), (round(x1 * fine), round(y1 * fine))
        cv2.line(sheet, a, b, strength, thick, cv2.LINE_AA)

    for k in range(1, wide):
        line(k, 0.5, k, high - 0.5, 190 if k % 5 else 240, 2 if k % 5 else 3)
    for k in range(1, high):
        line(0.5, k, wide - 0.5, k, 190 if k % 5 else 240, 2 if k % 5 else 3)
    for k in range(2, 2 * wide - 1):
        for y in (0.75, high - 0.75):
            line(k / 2, y - 0.08, k / 2, y + 0.08, 200)
    line(4, high - 1, 4 + (high - 2), 1, 150)
    line(6, high - 1, 6 + (high - 2) / np.sqrt(3), 1, 150)
    for k in range(1, wide):
        for y in (0.4, high - 0.22):
            _number(sheet, k, (k - 0.09, y), fine)
    for k in range(1, high):
        for x in (0.15, wide - 0.42):
            _number(sheet, high - k, (x, k + 0.08), fine)
    under = make_table("wood" if rng.random() < 0.6 else "plain", int(rng.integers(1000)))
    top = _plain(rng, colour or base)
    amount = (sheet / 255 * 0.85).astype(np.float32)
    return Table("mat", top, 96, turn, amount, ink, (wide, high), under)


def _number(sheet: np.ndarray, value: int, at: tuple[float, float], fine: int) -> None:
    place = (round(at[0] * fine), round(at[1] * fine))
    cv2.putText(sheet, str(value), place, cv2.FONT_HERSHEY_SIMPLEX, 0.55, 220, 1, cv2.LINE_AA)
