"""The same layout wherever and however the code runs, to the last bit.

The search decides on last bits, so every operation must round alike whether the compiled code is
new or comes from the disk, and on every processor. The plainest other way to run it is not to
compile it at all; `tests.benchmarks.packing same` tries more ways, on larger scraps.
"""

import math
import os
import subprocess
import sys
from pathlib import Path

from shapely.geometry import Polygon

from scrapstore.packing import PieceKind, fill
from tests.support.cloth import DIAMOND, HALF, TRIANGLE, kind

ROOT = Path(__file__).parents[2]


def corners() -> str:
    """Return every corner of the layout of a small scrap, in hexadecimal."""
    kinds: list[PieceKind] = [
        kind(DIAMOND, 9, (0.0, 30.0, 90.0), mirror=True, name="diamond"),
        kind(HALF, 9, (17.0, 90.0), mirror=True, name="half"),
        kind(TRIANGLE, 3, (0.0, 45.0), name="triangle"),
    ]
    ring = [
        (
            round((2.4 + 0.5 * math.sin(1 + 3 * k)) * math.cos(0.7 * k), 3),
            round((2.4 + 0.5 * math.sin(1 + 2 * k)) * math.sin(0.7 * k), 3),
        )
        for k in range(9)
    ]
    layout = fill(Polygon(ring), kinds, seconds=0.01, seed=1)
    assert len(layout.placements) > 3
    assert not layout.proven  # so that all the work goes into the search
    return b"".join(p.outline.wkb for p in layout.placements).hex()


def test_code_that_is_not_compiled_lays_the_same_to_the_last_bit() -> None:
    run = subprocess.run(
        [sys.executable, "-m", "tests.packing.test_same_everywhere"],
        cwd=ROOT, env={**os.environ, "NUMBA_DISABLE_JIT": "1"},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert run.stdout.strip() == corners()


if __name__ == "__main__":
    print(corners())
