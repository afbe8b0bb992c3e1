"""The public names of the room."""

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
