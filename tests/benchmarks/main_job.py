"""Time and memory of the main job: the demo, logging 200 photos, matching 300 scraps.

Run from the top of the repository: ``.venv/bin/python -m tests.benchmarks.main_job``. Each job runs
in a process of its own, so that its peak of memory is its own (resident set, sampled every 20 ms).
"""

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import psutil
from PIL import Image

from scrapstore.store import open_store
from tests.support.big_store import fill_store

SIXTY = """
format = 1
name = "Sixty pieces"
tips = "trimmed"
[roles.star]
families = ["blue", "green"]
min_fabrics = 4
[roles.glow]
families = ["red", "pink", "orange", "yellow"]
same_fabric_sets = 6
[roles.background]
values = ["light"]
[[pieces]]
name = "star diamond"
shape = "60° diamond"
height = "2"
count = 30
role = "star"
[[pieces]]
name = "glow diamond"
shape = "60° diamond"
height = "2"
count = 12
role = "glow"
[[pieces]]
name = "triangle"
shape = "equilateral triangle"
height = "3"
count = 10
role = "background"
[[pieces]]
name = "left half"
shape = "half triangle, left"
height = "3"
count = 4
role = "background"
[[pieces]]
name = "right half"
shape = "half triangle, right"
height = "3"
count = 4
role = "background"
"""


def measured(*words: str) -> tuple[float, float, str, float]:
    """Run ``scrapstore`` with these words; return seconds, peak MiB, what it printed, CPU seconds.

    Peak and CPU seconds are of all its processes together, as last seen.
    """
    start = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-c", "from scrapstore.cli import main; main()", *words],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    watched, peak = psutil.Process(process.pid), 0
    spent: dict[int, float] = {}
    while process.poll() is None:
        try:
            family = [watched, *watched.children(recursive=True)]
            peak = max(peak, sum(p.memory_info().rss for p in family))
            spent |= {p.pid: p.cpu_times().user + p.cpu_times().system for p in family}
        except psutil.NoSuchProcess:
            continue
        time.sleep(0.02)
    out, err = process.communicate()
    if process.returncode:
        sys.exit(f"{' '.join(words)}\n{out}{err}")
    return time.perf_counter() - start, peak / 2**20, out, sum(spent.values())


def photos(folder: Path, count: int) -> None:
    """Write `count` different pictures of two megapixels, two-coloured cloth on a plain ground."""
    rng = np.random.default_rng(0)
    for number in range(count):
        picture = np.full((1200, 1600, 3), 205, np.uint8)
        picture[200:1000, 300:1300] = rng.integers(30, 225, 3)
        picture[200:1000:40, 300:1300] = rng.integers(30, 225, 3)
        noise = rng.integers(-8, 9, picture.shape)
        noisy = np.clip(picture.astype(np.int16) + noise, 0, 255).astype(np.uint8)
        Image.fromarray(noisy).save(folder / f"p{number:03}.jpg", quality=88)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--photos", type=int, default=200)
    parser.add_argument("--scraps", type=int, default=300)
    chosen = parser.parse_args()
    rows = []
    with tempfile.TemporaryDirectory() as scratch:
        top = Path(scratch)
        rows.append(("demo", *measured("demo", "--folder", str(top / "demo"))[:2]))
        (top / "photos").mkdir()
        photos(top / "photos", chosen.photos)
        seconds, peak, *_ = measured(
            "--store", str(top / "logged"), "log", str(top / "photos"), "--size", "9 x 6"
        )
        rows.append((f"log {chosen.photos} photos of 2 megapixels", seconds, peak))
        with open_store(top / "big") as store:
            fill_store(store, chosen.scraps)
        (top / "sixty.toml").write_text(SIXTY, encoding="utf-8")
        seconds, peak, told, _ = measured(
            "--store", str(top / "big"), "match", str(top / "sixty.toml"), "--no-sheets"
        )
        rows.append((f"match {chosen.scraps} scraps, 60 pieces", seconds, peak))
    print(f"{'job':40} {'seconds':>8} {'MiB':>6}")
    for job, seconds, peak in rows:
        print(f"{job:40} {seconds:8.1f} {peak:6.0f}")
    print(told)


if __name__ == "__main__":
    main()
