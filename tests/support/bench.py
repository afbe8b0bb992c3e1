"""The smallest project file, what it says with something changed, and the faults that are told."""

import pytest

from scrapstore.errors import ProjectError
from scrapstore.projects import read_project

__all__ = ["BENCH", "bench", "faults"]

BENCH = """\
format = 1
name = "bench"
[roles.plain]
[[pieces]]
name = "a"
shape = "square"
side = "3"
count = 4
role = "plain"
"""


def bench(old: str = "", new: str = "", *, add: str = "") -> str:
    """Return the file with `old`, which must be there, replaced by `new`, and `add` at its end."""
    assert old in BENCH
    return BENCH.replace(old, new, 1) + add


def faults(text: str) -> list[str]:
    """Return the faults of a file, one a line, without the file's name."""
    with pytest.raises(ProjectError) as caught:
        read_project(text, file="bench.toml")
    lines = str(caught.value).splitlines()
    if len(lines) == 1:
        return [lines[0].removeprefix("bench.toml, ")]
    assert lines[0] == f"bench.toml: {len(lines) - 1} things to put right"
    return [line.strip() for line in lines[1:]]
