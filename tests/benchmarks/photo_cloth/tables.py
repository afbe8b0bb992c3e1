"""Tables to lay cloth on: light that a surface reflects, drawn in inches."""

from collections.abc import Callable
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]
PLAIN: Final = (
    "dark", "oak", "walnut", "grey", "mat", "white", "granite", "carpet", "linen",
)  # fmt: skip
PATTERNED: Final = ("gingham", "printed")
KINDS: Final = (*PLAIN, *PATTERNED)


def linear(srgb: "Array | tuple[float, ...]") -> Array:
    """Light, 0 to 1, of sRGB values 0 to 255 (IEC 61966-2-1)."""
    v = np.asarray(srgb, np.float32) / 255
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4).astype(np.float32)


def table(
    kind: str, shape: tuple[int, int], inch: float, draw: np.random.Generator, cloths: list[Array]
) -> Array:
    """Light of a table of this kind, rows × columns × 3; `inch`: pixels to an inch."""
    if kind == "printed":
        return printed(shape, inch, draw, cloths)
    return _DRAWN[kind](shape, inch, draw)


def grain(shape: tuple[int, int], size: float, draw: np.random.Generator, long: float = 1) -> Array:
    """Smooth noise of unit deviation, its grains `size` pixels, `long` times as long along rows."""
    few = (max(2, int(shape[0] / size)), max(2, int(shape[1] / (size * long))))
    noise = cv2.resize(
        draw.normal(size=few).astype(np.float32),
        (shape[1], shape[0]),
        interpolation=cv2.INTER_CUBIC,
    )
    return np.asarray(noise / noise.std(), np.float32)


def _tinted(draw: np.random.Generator, low: tuple[int, ...], high: tuple[int, ...]) -> Array:
    return linear(np.array(low) + draw.uniform() * (np.array(high) - np.array(low)))


def _plain(low: tuple[int, ...], high: tuple[int, ...], rough: float) -> Callable[..., Array]:
    def drawn(shape: tuple[int, int], inch: float, draw: np.random.Generator) -> Array:
        field = 1 + rough * grain(shape, 0.02 * inch, draw) + 0.01 * grain(shape, 2 * inch, draw)
        return _tinted(draw, low, high) * np.clip(field, 0.05, 3)[..., None]

    return drawn


def _wood(low: tuple[int, ...], high: tuple[int, ...], depth: float) -> Callable[..., Array]:
    def drawn(shape: tuple[int, int], inch: float, draw: np.random.Generator) -> Array:
        wide = draw.uniform(3, 6) * inch
        rows = np.indices(shape, dtype=np.float32)[0]
        waves = grain(shape, 1.2 * inch, draw, 8)
        rings = np.sin(rows / inch * draw.uniform(9, 16) + 5 * waves)
        board = (rows / wide).astype(int)
        tone = draw.normal(1, 0.05, board.max() + 1).astype(np.float32)[board]
        streaks = grain(shape, 0.03 * inch, draw, 30)
        seam = np.abs((rows / wide) % 1 - 0.5) > 0.5 - 0.012 * inch / wide
        field = tone * (1 + depth * (0.5 * rings + streaks)) * np.where(seam, 0.55, 1)
        return np.asarray(_tinted(draw, low, high) * np.clip(field, 0.1, 3)[..., None])

    return drawn


def _mat(shape: tuple[int, int], inch: float, draw: np.random.Generator) -> Array:
    ground = _tinted(draw, (20, 84, 72), (44, 72, 110))
    picture = np.broadcast_to(ground, (*shape, 3)) * (1 + 0.02 * grain(shape, 3, draw))[..., None]
    ink = ground + 0.45 * (linear((225, 225, 200)) - ground)
    rows, columns = np.indices(shape, dtype=np.float32)
    for pitch, width in ((1.0, 0.022), (0.5, 0.012)):
        for way in (rows, columns):
            line = (way / inch) % pitch < width
            picture = np.where(line[..., None], ink, picture)
    return picture.astype(np.float32)


def _granite(shape: tuple[int, int], inch: float, draw: np.random.Generator) -> Array:
    base = _tinted(draw, (120, 115, 110), (165, 160, 158))
    specks = grain(shape, 0.05 * inch, draw)
    more = grain(shape, 0.11 * inch, draw)
    field = 1 + 0.10 * grain(shape, 0.6 * inch, draw) - 0.62 * (specks > 1.3) + 0.5 * (more > 1.6)
    return np.asarray(base * np.clip(field, 0.08, 2)[..., None])


def _carpet(shape: tuple[int, int], inch: float, draw: np.random.Generator) -> Array:
    base = _tinted(draw, (96, 84, 74), (128, 120, 124))
    field = 1 + 0.22 * grain(shape, 0.05 * inch, draw) + 0.08 * grain(shape, 0.3 * inch, draw)
    return base * np.clip(field, 0.1, 3)[..., None]


def _linen(shape: tuple[int, int], inch: float, draw: np.random.Generator) -> Array:
    base = _tinted(draw, (188, 174, 150), (214, 206, 190))
    across, down = grain(shape, 0.03 * inch, draw, 12), grain(shape[::-1], 0.03 * inch, draw, 12).T
    return base * np.clip(1 + 0.05 * across + 0.05 * down, 0.2, 2)[..., None]


def _gingham(shape: tuple[int, int], inch: float, draw: np.random.Generator) -> Array:
    dye = linear(
        np.array([(170, 40, 44), (40, 70, 140), (60, 60, 62), (40, 110, 70)])[draw.integers(4)]
    )
    white, pitch = linear((232, 230, 224)), draw.uniform(0.35, 0.9) * inch
    rows, columns = np.indices(shape, dtype=np.float32)
    bend = 0.06 * inch * grain(shape, 5 * inch, draw)
    one, other = ((way + bend) % pitch < pitch / 2 for way in (rows, columns))
    dyed = (one.astype(np.float32) + other) / 2
    weave = 1 + 0.03 * grain(shape, 3, draw)
    return np.asarray((white + dyed[..., None] * (dye - white)) * weave[..., None])


def printed(
    shape: tuple[int, int], inch: float, draw: np.random.Generator, cloths: list[Array]
) -> Array:
    """A table-cloth of one of the `cloths` (sRGB), mirrored over and over."""
    cloth = cloths[draw.integers(len(cloths))]
    times = draw.uniform(4, 8) * inch / 140
    whole = cv2.resize(cloth, None, fx=times, fy=times, interpolation=cv2.INTER_CUBIC)
    down = np.arange(shape[0]) % (2 * whole.shape[0])
    across = np.arange(shape[1]) % (2 * whole.shape[1])
    down = np.minimum(down, 2 * whole.shape[0] - 1 - down)
    across = np.minimum(across, 2 * whole.shape[1] - 1 - across)
    return (
        linear(whole[down[:, None], across[None]]) * (1 + 0.03 * grain(shape, 3, draw))[..., None]
    )


_DRAWN: Final[dict[str, Callable[..., Array]]] = {
    "dark": _plain((26, 25, 28), (52, 48, 50), 0.05),
    "oak": _wood((176, 134, 88), (206, 172, 128), 0.05),
    "walnut": _wood((72, 46, 32), (110, 74, 52), 0.08),
    "grey": _plain((110, 112, 114), (168, 168, 166), 0.02),
    "mat": _mat,
    "white": _plain((222, 220, 212), (238, 238, 236), 0.008),
    "granite": _granite,
    "carpet": _carpet,
    "linen": _linen,
    "gingham": _gingham,
}
