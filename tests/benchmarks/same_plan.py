"""One plan under all that must not matter: compiled code, workers, threads, hashes, processor.

Run from the top of the repository: ``.venv/bin/python -m tests.benchmarks.same_plan``. Each line is
a process of its own that matches the same project over the same store; its plan, as JSON, is
compared with the first. Ends with 1 when one differs.
"""

import argparse
import hashlib
import os
import subprocess
import sys
import tempfile
from pathlib import Path

from scrapstore.actions.match import match_project
from scrapstore.json_output.match import match_out
from scrapstore.settings import Settings
from scrapstore.store import open_store
from scrapstore.workers import workers
from tests.benchmarks.main_job import SIXTY
from tests.support.big_store import fill_store

_THREADS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")


def conditions(cold: str) -> list[tuple[str, int, dict[str, str]]]:
    """Return what is tried: its name, how many workers, and what the environment is given."""
    one = dict.fromkeys(_THREADS, "1")
    several = dict.fromkeys(_THREADS, "4")
    return [
        ("cold, 1 worker", 1, {"NUMBA_CACHE_DIR": cold}),
        ("warm, 1 worker", 1, {}),
        ("cold, 4 workers", 4, {"NUMBA_CACHE_DIR": f"{cold}-again"}),
        ("warm, 2 workers", 2, {}),
        ("warm, 4 workers", 4, {}),
        ("1 thread of linear algebra", 1, one),
        ("4 threads of linear algebra", 1, several),
        ("4 threads of linear algebra, 2 workers", 2, several),
        ("hash seed 1", 1, {"PYTHONHASHSEED": "1"}),
        ("hash seed 2, 2 workers", 2, {"PYTHONHASHSEED": "2"}),
        ("an old processor: linear algebra", 1, {"OPENBLAS_CORETYPE": "Prescott"}),
        ("another processor: linear algebra", 2, {"OPENBLAS_CORETYPE": "Haswell"}),
        (
            "a processor with nothing special: compiled code",
            1,
            {"NUMBA_CPU_NAME": "generic", "NUMBA_CPU_FEATURES": "", "NUMBA_CACHE_DIR": f"{cold}-g"},
        ),
    ]


def plan(folder: Path, count: int, effort: float) -> str:
    """Return the plan as JSON, matched in `count` processes."""
    with workers(count) as pool, open_store(folder / "store") as store:
        result = match_project(
            store,
            folder / "pad.toml",
            settings=Settings(),
            pack_all=pool.pack_all,
            map_all=pool.map,
            effort=effort,
        )
    return match_out(result).model_dump_json(by_alias=True)


def main() -> int:
    """Match under every condition and say which plans are equal."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--scraps", type=int, default=40)
    options.add_argument("--effort", type=float, default=2.0)
    options.add_argument("--one", type=Path, help=argparse.SUPPRESS)
    options.add_argument("--workers", type=int, default=1, help=argparse.SUPPRESS)
    asked = options.parse_args()
    if asked.one is not None:
        sys.stdout.write(plan(asked.one, asked.workers, asked.effort))
        return 0
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        (folder / "pad.toml").write_text(SIXTY, encoding="utf-8")
        with open_store(folder / "store") as store:
            fill_store(store, asked.scraps, seed=4)
        # One's own cache may hold what another version of the program compiled.
        usual = os.environ | {"NUMBA_CACHE_DIR": str(folder / "warm"), "PYTHONHASHSEED": "0"}
        first, unequal = "", 0
        for name, count, given in conditions(str(folder / "cold")):
            done = subprocess.run(
                [sys.executable, "-m", "tests.benchmarks.same_plan", "--one", str(folder),
                 "--workers", str(count), "--effort", str(asked.effort)],
                env=usual | given, capture_output=True, text=True, check=True,
            )  # fmt: skip
            first = first or done.stdout
            same = done.stdout == first
            unequal += not same
            digest = hashlib.sha256(done.stdout.encode()).hexdigest()[:12]
            print(f"{'equal' if same else 'UNEQUAL':8} {digest} {name}", flush=True)
    return 1 if unequal else 0


if __name__ == "__main__":
    sys.exit(main())
