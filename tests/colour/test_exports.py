"""The public names of the room."""

import os
import subprocess
import sys

from scrapstore import colour


def test_every_public_name_is_there() -> None:
    assert len(set(colour.__all__)) == len(colour.__all__)
    assert all(hasattr(colour, name) for name in colour.__all__)


def test_importing_the_room_loads_no_heavy_library() -> None:
    code = "import sys, scrapstore.colour; print(*{'scipy', 'sklearn'} & set(sys.modules))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == ""


def test_a_processor_that_does_not_tell_its_cores() -> None:
    """scikit-learn counts them by joblib, which would warn; the command line has no part in it."""
    code = """
import numpy
from joblib.externals.loky.backend import context
from scrapstore.colour import dominant_colours
context._count_physical_cores = lambda: ("not found", OSError("none"))
context._cpu_count_user = lambda cores: cores
print(len(dominant_colours(numpy.eye(3) * 255)))
"""
    told = {name: value for name, value in os.environ.items() if name != "OMP_NUM_THREADS"}
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, env=told
    )
    assert (done.stdout, done.stderr) == ("3\n", "")
