"""Which reason is told for photos that are dark, shaken, without colour or without a scale.

A photo that is measured nonetheless must be measured rightly: the last column counts scraps whose
outline is farther off than the uncertainty that is stated (or 1/16 in), false ones included.

Run by hand, for example::

    python -m tests.benchmarks.photo_reasons --photos 12 --folder /tmp/reasons

One scene a photo is rendered in every kind of the table; ``--folder`` keeps the photos for the next
run. Prints how many of each kind were measured, or refused by which code; beside it what is true.
"""

import argparse
import collections
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np
from PIL import Image

from scrapstore.photo import Measurement, measure
from tests.benchmarks.photo_measure import boundary_error, fitted, match
from tests.render.arrange import Options, random_scene
from tests.render.light import Light
from tests.render.scene import Scene, Truth, render, true_scraps

_WIDE: Final = 2016
_SEPIA: Final = (1.08, 0.96, 0.77)
_WORDS: Final = {"measured": "", "no scale": "", "too dark": "", "too blurred": "", "no colour": ""}


@dataclass(frozen=True)
class Kind:
    """A kind of photo: how its scene, its light and its file are spoilt, and what may be told.

    `right` is told of a photo that is spoilt enough; one that can still be measured may be.
    """

    right: str
    scale: bool = True
    light: Callable[[Light, int], Light] = lambda light, _: light
    file: Callable[[Image.Image], Image.Image] = lambda image: image


def _darker(stops: float) -> Callable[[Light, int], Light]:
    return lambda light, _: replace(light, exposure=light.exposure / 2**stops)


def _shaken(percent: float) -> Callable[[Light, int], Light]:
    """A shake over so much of the picture's long side, every photo in another direction."""
    return lambda light, seed: replace(
        light, shake=(percent / 100 * _WIDE, float(np.random.default_rng(seed).uniform(0, 180)))
    )


def _unsharp(percent: float) -> Callable[[Light, int], Light]:
    return lambda light, _: replace(light, blur=percent / 100 * _WIDE)


def _dark_and_shaken(light: Light, seed: int) -> Light:
    return _shaken(1.0)(_darker(4)(light, seed), seed)


def _sepia(image: Image.Image) -> Image.Image:
    grey = np.asarray(image.convert("L"), np.float32)
    return Image.fromarray(np.clip(grey[..., None] * _SEPIA, 0, 255).astype(np.uint8))


KINDS: Final[dict[str, Kind]] = {
    "plain": Kind("measured"),
    **{f"{stops} stops too dark": Kind("too dark", light=_darker(stops)) for stops in range(2, 8)},
    **{
        f"shaken over {percent:g} %": Kind("too blurred", light=_shaken(percent))
        for percent in (0.3, 0.6, 1.0, 1.5, 2.5, 5.0)
    },
    **{
        f"out of focus, {percent:g} %": Kind("too blurred", light=_unsharp(percent))
        for percent in (0.2, 0.4, 0.8)
    },
    "4 stops, shaken over 1 %": Kind("too dark or too blurred", light=_dark_and_shaken),
    "greyscale": Kind("no colour", file=lambda image: image.convert("L")),
    "grey as RGB": Kind("no colour", file=lambda image: image.convert("L").convert("RGB")),
    "sepia": Kind("no colour", file=_sepia),
    "no scale": Kind("no scale", scale=False),
    "no scale, 2 stops too dark": Kind("no scale", scale=False, light=_darker(2)),
    "no scale, 6 stops too dark": Kind("too dark", scale=False, light=_darker(6)),
    "no scale, shaken over 1.5 %": Kind("too blurred", scale=False, light=_shaken(1.5)),
}


def spoilt_scene(kind: Kind, seed: int) -> Scene:
    options = Options(scale="loose" if kind.scale else "none", width=_WIDE, height=_WIDE * 3 // 4)
    scene = random_scene(seed, options)
    return replace(scene, light=kind.light(scene.light, seed))


def wrong_scraps(reading: Measurement, scene: Scene) -> int:
    squares = tuple(square for paper in scene.papers for square in paper.squares)
    truth = Truth(true_scraps(scene), squares, scene.camera, scene.light, scene.table.kind)
    pairs, false = match(reading, truth)
    off = [boundary_error(fitted(placed, true.outline), true.outline) for true, _, placed in pairs]
    stated = [scrap.uncertainty for _, scrap, _ in pairs]
    return false + sum(o > max(1 / 16, s) for o, s in zip(off, stated, strict=True))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--photos", type=int, default=12)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--only", default="", help="kinds whose name begins so")
    parser.add_argument("--folder", type=Path, default=None)
    given = parser.parse_args()
    told: dict[str, collections.Counter[str]] = {}
    with tempfile.TemporaryDirectory() as spare:
        folder = given.folder or Path(spare)
        folder.mkdir(parents=True, exist_ok=True)
        for name, kind in KINDS.items():
            if not name.startswith(given.only):
                continue
            told[name] = collections.Counter()
            for seed in range(given.first, given.first + given.photos):
                path = folder / f"{name.replace(' ', '-').replace('%', 'pc')}-{seed}.jpg"
                scene = spoilt_scene(kind, seed)
                if not path.exists():
                    kind.file(Image.fromarray(render(scene).image)).save(path, quality=92)
                reading = measure(path)
                told[name]["measured" if reading else reading.code] += 1
                if reading:
                    told[name]["scraps"] += len(reading.scraps)
                    told[name]["wrong"] += wrong_scraps(reading, scene)
    codes = dict.fromkeys([*_WORDS, *(code for row in told.values() for code in row)])
    columns = [code for code in codes if code not in ("scraps", "wrong")]
    print(" " * 29 + "".join(f"{name:>13}" for name in (*columns, "wrong scraps")) + "   right")
    for name, row in told.items():
        counts = "".join(f"{row[column] or '':>13}" for column in columns)
        wrong = f"{row['wrong']} of {row['scraps']}" if row["scraps"] else ""
        print(f"{name:29}{counts}{wrong:>13}   {KINDS[name].right}")


if __name__ == "__main__":
    main()
