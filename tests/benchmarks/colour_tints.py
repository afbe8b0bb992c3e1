"""How well greyed colours are found under their hue, and how far a photo's light is off.

``python -m tests.benchmarks.colour_tints`` prints three tables: greyed names of the xkcd survey
found under the hue that they say, and plain neutrals wrongly found under one; the same names greyed
further, to one chroma; and for each kind of camera of `tests.benchmarks.colour_light` how far
near-neutral colours are off after balancing by grey patches (`scrapstore.colour.tints.CAST`), with
the part of pure greys that get a tint, with patches in the photo and without.
"""

from collections.abc import Sized

import numpy as np
import numpy.typing as npt

from scrapstore.colour import NEUTRALS, balance_from_greys, lab_to_srgb, srgb_to_lab, tints
from scrapstore.colour.spaces import lab_to_linear, linear_to_lab, linear_to_srgb, srgb_to_linear
from tests.benchmarks.colour_light import CAMERAS, PATCHES, light_for
from tests.support.cloth_colours import printed_greys
from tests.support.colour_names import NamedColour
from tests.support.tinted_names import greyed_names, looked_under, missed, tint_table

Floats = npt.NDArray[np.float64]
LAMPS = 1000


def greyed_further() -> None:
    print("| chroma | of 100 names neutral | found under the hue | tints of each | sure | ", end="")
    print("right where sure | likeliest right where not |\n|---|---|---|---|---|---|---|")
    named = greyed_names()
    for chroma in (6.5, 8, 10, 12, 15):
        all_under = [looked_under(greyed_to(one, chroma)) for one in named]
        neutral = [
            (one.word, under[1:])
            for one, under in zip(named, all_under, strict=True)
            if under[0] in NEUTRALS
        ]
        sure = [(word, some) for word, some in neutral if len(some) == 1]
        unsure = [(word, some) for word, some in neutral if len(some) > 1]
        cells = (
            _of(len(neutral), named),
            _of(sum(word in some for word, some in neutral), neutral),
            f"{np.mean([len(some) for _, some in neutral]):.2f}",
            _of(len(sure), neutral),
            _of(sum(some[0] == word for word, some in sure), sure),
            _of(sum(some[0] == word for word, some in unsure), unsure),
        )
        print(f"| {chroma} | {' | '.join(cells)} |")
    print()


def greyed_to(one: NamedColour, chroma: float) -> tuple[float, float, float]:
    """Return its sRGB with hue and lightness kept and no more chroma than this."""
    lab = srgb_to_lab(one.rgb)
    lab[1:] *= min(1.0, chroma / float(np.hypot(lab[1], lab[2])))
    red, green, blue = lab_to_srgb(lab).tolist()
    return red, green, blue


def shifts(camera: str, count: int, seed: int = 5) -> list[float]:
    """Return by how much a*, b* of near-neutral colours are off under `count` lamps, balanced."""
    rng = np.random.default_rng(seed)
    off = []
    for _ in range(count):
        lamp, fix = _lamp(rng, camera)
        turn = rng.uniform(0, 2 * np.pi)
        pale = np.array([rng.uniform(25, 85), 10 * np.cos(turn), 10 * np.sin(turn)])
        off.append(float(np.hypot(*(_seen(pale, lamp, fix) - pale)[1:])))
    return off


def light() -> None:
    print(
        "| camera | near neutrals off by, median | 95th percentile | greys with a tint | ", end=""
    )
    print("without patches |\n|---|---|---|---|---|")
    for camera in CAMERAS:
        rng = np.random.default_rng(6)
        median, most = np.percentile(shifts(camera, LAMPS), [50, 95])
        balanced, bare = [], []
        for _ in range(LAMPS):
            lamp, fix = _lamp(rng, camera)
            grey = np.array([rng.uniform(25, 85), 0.0, 0.0])
            balanced.append(_seen(grey, lamp, fix))
            bare.append(_seen(grey, lamp, np.eye(3)))
        with_tint = (_of(sum(map(bool, tints(["grey"] * LAMPS, c))), c) for c in (balanced, bare))
        print(f"| {camera} | {median:.2f} | {most:.2f} | {' | '.join(with_tint)} |", flush=True)


def _lamp(rng: np.random.Generator, camera: str) -> tuple[Floats, Floats]:
    lamp = light_for(float(rng.uniform(2700, 6500)), camera)
    return lamp, balance_from_greys(printed_greys(lamp, PATCHES), PATCHES).matrix


def _seen(lab: Floats, lamp: Floats, fix: Floats) -> Floats:
    coded = np.rint(linear_to_srgb((lab_to_linear(lab) @ lamp.T).clip(0, 1)))
    return linear_to_lab(srgb_to_linear(coded) @ fix.T)


def _of(count: int, whole: Sized) -> str:
    return f"{100 * count / max(1, len(whole)):.1f} %"


if __name__ == "__main__":
    print(f"{tint_table()}\n\nmissed: {', '.join(missed(greyed_names()))}\n")
    greyed_further()
    light()
