"""Tables for the terminal keep to its width and lose nothing."""

from io import StringIO

from rich.cells import cell_len
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


def test_a_table_keeps_to_its_width_and_loses_nothing() -> None:
    def words(lines: list[str]) -> list[str]:
        return sorted("".join(lines).replace("─", "").replace(" ", ""))

    whole = shown(200)
    assert len(whole) == 2 + len(ROWS)
    for width in (80, 46, 30):
        lines = shown(width)
        assert max(map(cell_len, lines)) <= width
        assert words(lines) == words(whole)
    assert any("blue" in line for line in shown(30))


def test_no_column_is_cropped_where_words_can_be_put_in_lines() -> None:
    columns = ("no.", "photo", "size", "±", "family", "accents", "value")
    rows = [
        (
            "1",
            "by-the-ticket-window.jpg",
            "12 × 2 1/2 in",
            "3/32 in",
            "blue",
            "red, white",
            "medium",
        ),
        ("8", "light-cloth-on-slate.jpg", "11 1/16 × 7 1/2 in", "3/32 in", "white", "", "light"),
        ("12", "tea-towel-green.jpg", "9 × 6 in", "", "yellow", "grey, white", "medium"),
    ]
    stream = StringIO()
    console = Console(file=stream, width=80, color_system=None)
    console.print(tables.table(columns, rows, right=("no.", "size")))
    lines = stream.getvalue().splitlines()
    assert max(map(len, lines)) <= 80
    assert sum(line.endswith("medium") for line in lines) == 2


def test_a_long_word_is_broken_behind_its_hyphens() -> None:
    stream = StringIO()
    console = Console(file=stream, width=40, color_system=None)
    row = ("by-the-ticket-window.jpg", "galley tea towel, washed twice and dried")
    console.print(tables.table(("photo", "note"), [row]))
    parts = [line.split(" ")[0] for line in stream.getvalue().splitlines()[2:]]
    assert "".join(parts) == row[0]
    assert all(part.endswith(("-", ".jpg")) for part in parts if part)
    assert len(parts) > 1
