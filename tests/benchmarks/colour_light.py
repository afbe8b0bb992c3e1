"""Swatch colours of 500 drawn cloths under 2700 to 6500 K, after white balance by grey patches.

``python -m tests.benchmarks.colour_light [COUNT]`` prints a line for each kind of camera: one that
leaves the lamp's cast in (0), takes half or four fifths of it away by gains, or all of it (1), and
one for which the lamp itself is nothing but gains.
"""

import sys
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from scrapstore.colour import balance_from_greys, delta_e, dominant_colours, families
from tests.support.cloth_colours import lamp, photograph, printed_greys, random_cloth

PATCHES = np.array([20.0, 35, 50, 65, 80, 93])
SHADOW = 0.06  # falls on the cloth and, on the average, on the patches
CAMERAS: dict[str, float | None] = {
    "cast left in": 0.0,
    "half balanced": 0.5,
    "four fifths": 0.8,
    "fully balanced": 1.0,
    "lamp as plain gains": None,
}


class Result(NamedTuple):
    median: float
    percentile_95: float
    family_right: float


def measure(count: int, camera: str, seed: int = 17) -> Result:
    """Return CIEDE2000 of every dye and the part of the grounds whose family is right."""
    rng = np.random.default_rng(seed)
    apart: list[float] = []
    right = 0
    for number in range(count):
        cloth = random_cloth(number)
        light = light_for(float(rng.uniform(2700, 6500)), camera)
        balance = balance_from_greys(printed_greys(light * (1 - SHADOW / 2), PATCHES), PATCHES)
        picture = photograph(cloth, number, light=light, shadow=SHADOW)
        found = np.array([one.lab for one in dominant_colours(balance.correct(picture))])
        ways = delta_e(cloth.labs[:, None], found[None])
        apart += ways.min(axis=1).tolist()
        ground = int(cloth.shares.argmax())
        right += int(families(found[ways[ground].argmin()]) == families(cloth.labs[ground]))
    return Result(float(np.median(apart)), float(np.percentile(apart, 95)), right / count)


def light_for(kelvin: float, camera: str) -> npt.NDArray[np.float64]:
    """Return what takes daylight's linear sRGB to that of this camera under this lamp."""
    balanced = CAMERAS[camera]
    if balanced is not None:
        return lamp(kelvin, balanced)
    return np.diag(lamp(kelvin, 0.0) @ np.ones(3))


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    print(f"{count} cloths each, dyes drawn evenly from sRGB")
    print("| camera | median CIEDE2000 | 95th percentile | family right |\n|---|---|---|---|")
    for camera in CAMERAS:
        result = measure(count, camera)
        print(
            f"| {camera} | {result.median:.2f} | {result.percentile_95:.2f} "
            f"| {100 * result.family_right:.1f} % |",
            flush=True,
        )


if __name__ == "__main__":
    main()
