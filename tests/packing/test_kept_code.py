"""Compiled code kept on the disk is that of the sources as they are, whichever of them changed."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

from scrapstore.packing import compiled

ROOT = Path(__file__).parents[2]
_CALLS = """
import numpy as np
from scrapstore.packing.compiled import Tables
from scrapstore.packing.moves import _overlap_at as overlap_at
whole = lambda *rows: np.array(rows, np.int64)
real = lambda *rows: np.array(rows, np.float64)
sides = real([1, 0, 1], [-1, 0, 1], [0, 1, 1], [0, -1, 1])
none, single = real(), np.array([], np.float32)
tables = Tables(
    real([1, 1]), real(1), whole([0, 1]).reshape(1, 1, 2), whole([0, 4]), sides,
    none.reshape(0, 2), single, single, whole(0, 0), none.reshape(0, 4), whole(0, 0), whole(0, 1),
)
apart = real(0, 0.75)
every, turns, weight = whole(0, 1), whole(0, 0), np.ones((2, 2))
print(overlap_at(tables, 0, 0, 0.0, 0.0, every, turns, apart, real(0, 0), weight, 1e9))
"""


def test_code_that_calls_what_has_changed_in_another_file_is_compiled_anew(tmp_path: Path) -> None:
    shutil.copytree(
        ROOT / "scrapstore", tmp_path / "scrapstore", ignore=shutil.ignore_patterns("__pycache__")
    )
    source = tmp_path / "scrapstore" / "packing" / "compiled.py"

    def depth() -> float:
        run = subprocess.run(
            [sys.executable, "-c", _CALLS], cwd=tmp_path, capture_output=True, text=True,
            check=True, env=os.environ | {"PYTHONPATH": "", "NUMBA_CACHE_DIR": str(tmp_path / "c")},
        )  # fmt: skip
        return float(run.stdout)

    assert depth() == 0.25
    kept = set(tmp_path.rglob("_overlap_at*.nbc")) | set(tmp_path.rglob("*_overlap_at*.nbc"))
    assert len(kept) == 1
    text = source.read_text()
    changed = text.replace("            total += least\n", "            total += 2 * least\n")
    assert changed != text
    source.write_text(changed)
    assert depth() == 0.5


def test_compiled_functions_take_nothing_from_files_without_any() -> None:
    # What they take is compiled into them, and only files with compiled functions are looked at.
    room = Path(compiled.__file__).parent
    holding = {file for file in room.rglob("*.py") if "\n@compiled" in file.read_text()}
    assert {file.relative_to(room).as_posix() for file in holding} == set(compiled._HOLDING)
    taken = {name for file in holding for name in re.findall(r"scrapstore[\w.]*", file.read_text())}
    assert taken <= {".".join(file.relative_to(ROOT).with_suffix("").parts) for file in holding}
