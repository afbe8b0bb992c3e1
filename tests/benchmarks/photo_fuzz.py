"""Broken files and pictures without a scale: never a crash, never a record.

Run by hand: ``python -m tests.benchmarks.photo_fuzz`` (2,000 mutated files,
500 scenes), or in parts::

    python -m tests.benchmarks.photo_fuzz --first 500 --files 500 --scenes 0
"""

import argparse
import collections
import io
import sys
import tempfile
import time
import warnings
from pathlib import Path

import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[2]))

from scrapstore.errors import PhotoError
from scrapstore.photo import SquareSet, measure, open_photo, stored_copy
from tests.render.arrange import Options, render_no_scale, render_scene

_SMALL_CODES = SquareSet("4x4_50", tuple(range(50)), 0.7)


def mutated(data: bytes, rng: np.random.Generator) -> bytes:
    """The file with some bytes changed, removed, doubled or cut off; most often near its start."""
    changed = bytearray(data)
    for _ in range(int(rng.integers(1, 20))):
        at = int(len(changed) * rng.random() ** rng.choice([1, 4]))
        kind = rng.random()
        if kind < 0.6:
            changed[at : at + 1] = bytes([int(rng.integers(256))])
        elif kind < 0.8:
            del changed[at : at + int(rng.integers(1, 40))]
        else:
            changed[at:at] = changed[at : at + int(rng.integers(1, 40))]
    if rng.random() < 0.25:
        del changed[int(rng.integers(1, len(changed) + 1)) :]
    return bytes(changed)


def fuzz_files(numbers: range, folder: Path) -> collections.Counter[str]:
    photo = render_scene(0, Options(width=1000, height=750, scraps=2, camera_height=12))
    originals = []
    photo.save_jpeg(folder / "a.jpg", gps=True)
    originals.append((folder / "a.jpg").read_bytes())
    for kind in ("PNG", "WEBP"):
        stored = io.BytesIO()
        Image.fromarray(photo.image).save(stored, kind)
        originals.append(stored.getvalue())
    told: collections.Counter[str] = collections.Counter()
    for number in numbers:
        path = folder / "mutated"
        path.write_bytes(mutated(originals[number % 3], np.random.default_rng([1, number])))
        for step in (open_photo, stored_copy):
            try:
                step(path)
            except PhotoError:
                told[f"{step.__name__}: refused"] += 1
            else:
                told[f"{step.__name__}: done"] += 1
        reading = measure(path)
        told["measure: " + ("measured" if reading else reading.code)] += 1
    return told


def scenes_without_scale(seeds: range, folder: Path) -> collections.Counter[str]:
    told: collections.Counter[str] = collections.Counter()
    for seed in seeds:
        path = folder / "scene.jpg"
        render_no_scale(seed).save_jpeg(path)
        for name, squares in (("our print", SquareSet()), ("4x4_50", _SMALL_CODES)):
            reading = measure(path, squares=squares)
            told[f"{name}: " + ("MEASURED" if reading else reading.code)] += 1
    return told


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--files", type=int, default=2000)
    parser.add_argument("--scenes", type=int, default=500)
    parser.add_argument("--first", type=int, default=0, help="number of the first file and scene")
    given = parser.parse_args()
    files = range(given.first, given.first + given.files)
    scenes = range(given.first, given.first + given.scenes)
    warnings.simplefilter("error")
    with tempfile.TemporaryDirectory() as spare:
        begin = time.perf_counter()
        for name, number in sorted(fuzz_files(files, Path(spare)).items()):
            print(f"{name:32} {number}")
        print(f"{given.files} files in {time.perf_counter() - begin:.0f} s")
        begin = time.perf_counter()
        for name, number in sorted(scenes_without_scale(scenes, Path(spare)).items()):
            print(f"{name:32} {number}")
        print(f"{given.scenes} scenes in {time.perf_counter() - begin:.0f} s")


if __name__ == "__main__":
    main()
