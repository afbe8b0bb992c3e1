"""The designs by name, and what can be said of each."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final, get_args

from scrapstore.designs.forms import Design, Sizing
from scrapstore.designs.grids import make_nine_patch, make_pinwheels, make_squares
from scrapstore.designs.sizes import SMALLEST_PIECE
from scrapstore.designs.star import Fill, make_star
from scrapstore.errors import UsageError
from scrapstore.near_words import did_you_mean

__all__ = ["DESIGNS", "LARGEST_TOP", "USUAL_SIZE", "DesignKind", "make_design"]

USUAL_SIZE: Final = 18.0
"""Inches; the size of the top where neither it nor the piece is given."""
LARGEST_TOP: Final = 144.0
"""Inches; what is larger was typed in the wrong unit."""
_MOST: Final = {"a_side": 20, "rows": 40, "columns": 40}
_USUAL: Final = {"a_side": 3, "rows": 4, "columns": 4}


@dataclass(frozen=True, slots=True)
class DesignKind:
    """One entry of the list: `takes` are the options of its own.

    `piece` says what is given as a piece, `size` what its size is, and `cut` to what a piece with
    its seams is cut or trimmed.
    """

    name: str
    about: str
    takes: tuple[str, ...]
    piece: str
    size: str
    cut: str


_GRID: Final = ("rows", "columns")
_WIDTH: Final = "width"
DESIGNS: Final[Mapping[str, DesignKind]] = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            DesignKind(
                "star", "a six-point star of 60° diamonds, filled to a hexagon or a rectangle",
                ("a_side", "fill"), "height of a diamond",
                "tip to tip; with --fill rectangle, side of the square",
                "diamonds from strips of",
            ),
            DesignKind(
                "pinwheels", "blocks of four units of two half-square triangles", _GRID,
                "side of a unit", _WIDTH, "units sewn, then trimmed to",
            ),
            DesignKind(
                "nine-patch", "blocks of nine squares", _GRID, "side of a square", _WIDTH,
                "squares cut",
            ),
            DesignKind(
                "squares", "plain squares", _GRID, "side of a square", _WIDTH, "squares cut"
            ),
        )
    }
)  # fmt: skip
"""Every design by its name, in the order of the list."""


def make_design(
    name: str,
    *,
    seam: float,
    mark: float,
    piece: float | None = None,
    size: float | None = None,
    a_side: int | None = None,
    fill: str | None = None,
    rows: int | None = None,
    columns: int | None = None,
) -> Design:
    """Return the design `name` of finished `piece` or finished `size`, inches; see `DESIGNS`.

    Without either it is `USUAL_SIZE`. Where the piece follows from the size, its strip, with `seam`
    on both sides, is on a mark of a ruler whose marks are `mark` apart.

    Raises UsageError for a name or fill that is not known, an option that this design does not
    take, and sizes of which it cannot be made.

    >>> star = make_design("star", size=18, seam=0.25, mark=0.125)
    >>> len(star.pieces), star.piece_size, star.size
    (66, 1.5, 18.0)
    """
    kind = DESIGNS.get(name)
    if kind is None:
        raise UsageError(f"design: {name!r} is not known; {did_you_mean(name, list(DESIGNS))}")
    given = {"a_side": a_side, "fill": fill, "rows": rows, "columns": columns}
    for option, value in given.items():
        if value is not None and option not in kind.takes:
            own = " and ".join(_option(each) for each in kind.takes)
            raise UsageError(f"design: {name} has no {_option(option)}; it takes {own}")
    counts = {key: _count(key, given[key]) for key in kind.takes if key != "fill"}
    if piece is None and size is None:
        size = USUAL_SIZE
    if piece is not None and not SMALLEST_PIECE <= piece <= LARGEST_TOP:
        msg = f"piece: {piece:g} in will not do; give the finished {kind.piece}"
        raise UsageError(f"{msg}, from {SMALLEST_PIECE:g} to {LARGEST_TOP:g} in")
    if size is not None and size > LARGEST_TOP:
        raise UsageError(f"size: {size:g} in is too large; give at most {LARGEST_TOP:g} in")
    sizing = Sizing(piece, size, seam, mark)
    if name == "star":
        chosen = next((each for each in get_args(Fill) if each == (fill or "split")), None)
        if chosen is None:
            msg = f"fill: {fill!r} is not known; choose {', '.join(get_args(Fill))}"
            raise UsageError(msg)
        design = make_star(sizing, a_side=counts["a_side"], fill=chosen)
    else:
        grids = {"pinwheels": make_pinwheels, "nine-patch": make_nine_patch,
                 "squares": make_squares}  # fmt: skip
        design = grids[name](sizing, rows=counts["rows"], columns=counts["columns"])
    if max(design.sides) > LARGEST_TOP + 1e-9:
        msg = f"design: it would be {max(design.sides):.0f} in long, more than {LARGEST_TOP:g} in"
        raise UsageError(f"{msg}; take smaller pieces, or fewer")
    parameters: dict[str, float | int | str] = {"piece": design.piece_size, **counts}
    if design.measured == "square" and size is not None:
        parameters["size"] = size
    if "fill" in kind.takes:
        parameters["fill"] = fill or "split"
    return replace(design, parameters=parameters)


def _option(key: str) -> str:
    return f"--{key.replace('_', '-')}"


def _count(key: str, value: int | str | None) -> int:
    count = _USUAL[key] if value is None else int(value)
    if not 1 <= count <= _MOST[key]:
        raise UsageError(f"{_option(key)}: {count} will not do; give from 1 to {_MOST[key]}")
    return count
