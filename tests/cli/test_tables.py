"""Tables for the terminal: long ones are written in another way and look the same."""

from io import StringIO

import pytest
from rich.console import Console

from scrapstore.cli import tables

ROWS = [
    (str(number), f"{number % 9} x 4 in", "blue " * (number % 7), "長い布 " * (number % 3), "")
    for number in range(30)
]


def shown(width: int) -> list[str]:
    stream = StringIO()
    columns = ("no.", "size", "family", "place", "empty")
    console = Console(file=stream, width=width, color_system=None)
    console.print(tables.table(columns, ROWS, right=("no.",)))
    return stream.getvalue().splitlines()


def test_a_long_table_looks_like_a_short_one(monkeypatch: pytest.MonkeyPatch) -> None:
    short = shown(80)
    monkeypatch.setattr(tables, "_LONG", 5)
    assert shown(80) == short


def test_a_long_table_keeps_to_its_width_and_loses_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def words(lines: list[str]) -> list[str]:
        return sorted("".join(lines).replace("─", "").replace(" ", ""))

    short = shown(80)
    monkeypatch.setattr(tables, "_LONG", 5)
    for width in (46, 30):
        long = shown(width)
        assert max(map(len, long)) <= width
        assert words(long) == words(short)
    assert any("blue" in line for line in shown(30))
