"""Where keys stand in a TOML file."""

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from scrapstore.projects import starter_text
from scrapstore.projects.lines import Key, key_lines, line_of

SAMPLE = Path(__file__).parents[2] / "sample_photos" / "tern-quay-star.toml"

ODD = """\
# a comment = 1
top = 1
"quoted key" = 2
a.b."c d" = "x = y"
text = '''
first = 1
[not.a.table]
'''
list = [ # comment
  1,
  [2,
   3],
  { deep = 4 },
]
[tab]
in = { x = 1, y.z = [1,
 2] }
[[many]]
n = 1
[[many.inner]]
m = 1
[[many.inner]]
m = 2
[many.sub]
k = 1
[[many]]
n = 2
[many.sub]
k = 2
["ta.b".'c']
e = 1
"""


def paths(data: Any, before: Key = ()) -> Iterator[Key]:
    """Every key of a document as the standard library reads it."""
    items = enumerate(data) if isinstance(data, list) else data.items()
    for part, value in items:
        yield (*before, part)
        if isinstance(value, dict | list):
            yield from paths(value, (*before, part))


@pytest.mark.parametrize("text", [ODD, starter_text(), SAMPLE.read_text(encoding="utf-8")])
def test_every_key_has_the_line_on_which_it_is_written(text: str) -> None:
    found, lines = key_lines(text), text.splitlines()
    expected = set(paths(tomllib.loads(text)))
    assert expected == set(found) - {()}
    for key in expected:
        names = [part for part in key if isinstance(part, str)]
        if isinstance(key[-1], str):
            assert names[-1] in lines[found[key] - 1]


def test_lines_of_the_odd_file() -> None:
    found = key_lines(ODD)
    assert found["top",] == 2
    assert found["a", "b", "c d"] == 4
    assert found["list", 1, 1] == 12
    assert found["list", 2, "deep"] == 13
    assert found["tab", "in", "y", "z", 1] == 17
    assert found["many", 0, "inner", 1, "m"] == 23
    assert found["many", 0, "sub", "k"] == 25
    assert found["many", 1] == 26
    assert found["many", 1, "sub", "k"] == 29
    assert found["ta.b", "c", "e"] == 31


def test_what_is_not_there_has_the_line_of_what_is_around_it() -> None:
    found = key_lines(ODD)
    assert line_of(("many", 1, "missing"), found) == 26
    assert line_of(("nowhere", "at", "all"), found) == 1
