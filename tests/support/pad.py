"""A project of squares that finish at 2 in, all of one role."""

from pathlib import Path

__all__ = ["write_pad"]

_PAD = """
format = 1
name = "{name}"
{top}
[roles.top]
{rules}
[[pieces]]
name = "square"
shape = "square"
side = "2"
count = {count}
role = "top"
{more}
"""
_PLACES = """
[design]
name = "squares"
piece = "2"
rows = {rows}
columns = {columns}
"""


def write_pad(
    folder: Path,
    count: int,
    *,
    name: str = "Bench pad",
    top: str = "",
    rules: str = "",
    more: str = "",
    rows: int | None = None,
) -> Path:
    """Write a project of `count` squares and return its file, called after its `name`.

    `top` are lines of the project, `rules` lines of the role, `more` lines after the pieces. With
    `rows` the squares have places, in so many rows.
    """
    if rows is not None:
        more += _PLACES.format(rows=rows, columns=count // rows)
    file = folder / f"{name.replace(' ', '-')}.toml"
    text = _PAD.format(name=name, top=top, rules=rules, count=count, more=more)
    file.write_text(text, encoding="utf-8")
    return file
