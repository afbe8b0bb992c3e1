"""The designs by name, and what can be said of each."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any, Final, TypedDict, Unpack

from scrapstore.designs.borders import CORNERS, bordered
from scrapstore.designs.eight_point import make_eight_point_star
from scrapstore.designs.flowers import PAPER_SEAM, make_flower
from scrapstore.designs.forms import Design, Sizing
from scrapstore.designs.grids import (
    LAYOUTS,
    make_geese,
    make_half_squares,
    make_nine_patch,
    make_pinwheels,
    make_squares,
    make_strips,
)
from scrapstore.designs.pieced import WAYS, with_pieced_diamonds
from scrapstore.designs.sizes import SMALLEST_PIECE
from scrapstore.designs.star import make_star
from scrapstore.designs.three_diamonds import make_three_diamonds, make_three_diamonds_hexagon
from scrapstore.errors import UsageError
from scrapstore.near_words import did_you_mean

__all__ = ["DESIGNS", "LARGEST_TOP", "USUAL_SIZE", "DesignKind", "DesignOptions", "make_design"]

USUAL_SIZE: Final = 18.0
"""Inches; the size of the top where neither it nor the piece is given."""
LARGEST_TOP: Final = 144.0
"""Inches; what is larger was typed in the wrong unit."""
_MOST: Final = {"a_side": 20, "rows": 40, "columns": 40, "rings": 12}
_USUAL: Final = {"a_side": 3, "rows": 4, "columns": 4, "rings": 2}
_LENGTHS: Final = ("length", "border")
_ALWAYS: Final = ("piece", "size", "shrinkage")
_MOST_SHRINKAGE: Final = 30.0


class DesignOptions(TypedDict, total=False):
    """What may be said of a design beside its name; None is the same as nothing.

    Lengths are in inches, finished. Which design takes what, `DESIGNS` says.
    """

    piece: float | None
    size: float | None
    a_side: int | None
    rows: int | None
    columns: int | None
    rings: int | None
    fill: str | None
    layout: str | None
    direction: str | None
    length: float | None
    border: float | None
    border_corners: str | None
    shrinkage: float | None
    pieced: str | None
    pieced_round: int | None


@dataclass(frozen=True, slots=True)
class DesignKind:
    """One entry of the list: `takes` are the options of its own.

    `piece` says what is given as a piece, `size` what its size is, and `cut` to what a piece with
    its seams is cut or trimmed. `words` are what options may say, the usual one first, and `usual`
    other usual counts. `seam` is the seam allowance where it is not the quilter's own.
    """

    name: str
    about: str
    takes: tuple[str, ...]
    piece: str
    size: str
    cut: str
    make: Callable[..., Design]
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    usual: Mapping[str, int] = field(default_factory=dict)
    seam: float | None = None


_GRID: Final = ("rows", "columns")
_PIECED: Final = ("pieced", "pieced_round")
_BORDER: Final = ("border", "border_corners")
_WIDTH: Final = "width"
_STRIPS_OF: Final = "diamonds from strips of"
DESIGNS: Final[Mapping[str, DesignKind]] = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            DesignKind(
                "star", "a six-point star of 60° diamonds, filled to a hexagon or a rectangle",
                ("a_side", "fill", *_PIECED, *_BORDER), "height of a diamond",
                "tip to tip; with --fill rectangle, side of the square",
                _STRIPS_OF, make_star,
                {"fill": ("split", "hexagon", "rectangle"), "pieced": WAYS},
            ),
            DesignKind(
                "eight-point-star", "an eight-point star of 45° diamonds in its square",
                ("a_side", "fill", *_PIECED, *_BORDER), "height of a diamond", _WIDTH, _STRIPS_OF,
                make_eight_point_star, {"fill": ("whole", "split"), "pieced": ("fours",)},
            ),
            DesignKind(
                "three-diamonds", "blocks of three 60° diamonds, in a rectangle",
                (*_GRID, "fill", *_BORDER), "height of a diamond", _WIDTH, _STRIPS_OF,
                make_three_diamonds, {"fill": ("whole", "split")},
            ),
            DesignKind(
                "three-diamonds-hexagon", "blocks of three 60° diamonds, in a hexagon",
                ("a_side", "fill"), "height of a diamond", "side to side", _STRIPS_OF,
                make_three_diamonds_hexagon, {"fill": ("whole", "split")}, {"a_side": 6},
            ),
            DesignKind(
                "hexagon-flower", "hexagons in rings round one, pieced over papers", ("rings",),
                "hexagon from side to side", _WIDTH, "patches from strips of", make_flower,
                seam=PAPER_SEAM,
            ),
            DesignKind(
                "pinwheels", "blocks of four units of two half-square triangles",
                (*_GRID, *_BORDER), "side of a unit", _WIDTH, "units sewn, then trimmed to",
                make_pinwheels,
            ),
            DesignKind(
                "half-squares", f"half-square triangles: {', '.join(LAYOUTS)}",
                (*_GRID, "layout", *_BORDER), "side of a unit", _WIDTH,
                "units sewn, then trimmed to", make_half_squares, {"layout": LAYOUTS},
            ),
            DesignKind(
                "geese", "flying geese in rows: triangles twice as wide as high",
                (*_GRID, *_BORDER), "height of a goose", _WIDTH, "units sewn, then trimmed to a "
                "height of", make_geese, usual={"rows": 8},
            ),
            DesignKind(
                "nine-patch", "blocks of nine squares", (*_GRID, *_BORDER), "side of a square",
                _WIDTH, "squares cut", make_nine_patch,
            ),
            DesignKind(
                "squares", "plain squares", (*_GRID, *_BORDER), "side of a square", _WIDTH,
                "squares cut", make_squares,
            ),
            DesignKind(
                "strips", "rows of rectangles, upright or across",
                (*_GRID, "direction", "length", *_BORDER), "width of a strip",
                "across the strips", "strips cut", make_strips,
                {"direction": ("upright", "across")}, {"rows": 1, "columns": 6},
            ),
        )
    }
)  # fmt: skip
"""Every design by its name, in the order of the list."""


def make_design(name: str, *, seam: float, mark: float, **options: Unpack[DesignOptions]) -> Design:
    """Return the design `name` of finished `piece` or finished `size`, inches; see `DESIGNS`.

    Without either it is `USUAL_SIZE`. Where the piece follows from the size, its strip, with `seam`
    on both sides, is on a mark of a ruler whose marks are `mark` apart. A `border` is part of the
    size. The size is that of the finished cushion: where quilting draws in `shrinkage` per cent of
    each side, the top is so much larger.

    Raises UsageError for a name or word that is not known, an option that this design does not
    take, and sizes of which it cannot be made.

    >>> star = make_design("star", size=18, seam=0.25, mark=0.125)
    >>> len(star.pieces), star.piece_size, star.size
    (66, 1.5, 18.0)
    """
    kind = DESIGNS.get(name)
    if kind is None:
        raise UsageError(f"design: {name!r} is not known; {did_you_mean(name, list(DESIGNS))}")
    given = _given(kind, dict(options))
    piece, size = options.get("piece"), options.get("size")
    if piece is None and size is None:
        size = USUAL_SIZE
    if piece is not None and not SMALLEST_PIECE <= piece <= LARGEST_TOP:
        msg = f"piece: {piece:g} in will not do; give the finished {kind.piece}"
        raise UsageError(f"{msg}, from {SMALLEST_PIECE:g} to {LARGEST_TOP:g} in")
    if size is not None and size > LARGEST_TOP:
        raise UsageError(f"size: {size:g} in is too large; give at most {LARGEST_TOP:g} in")
    wanted = size
    shrinkage = _shrinkage(options.get("shrinkage"))
    if size is not None:
        size /= 1 - shrinkage / 100
    own = {key: value for key, value in given.items() if key not in (*_BORDER, *_PIECED)}
    border = given.get("border")
    inner = size if size is None or border is None else size - 2 * border
    if inner is not None and inner <= 0:
        raise UsageError(f"border: {border:g} in leaves nothing of {size:g} in; make it narrower")
    design = kind.make(Sizing(piece, inner, seam, mark), **own)
    if "pieced" in given:
        design = with_pieced_diamonds(design, given["pieced"], given.get("pieced_round"))
    if border is not None:
        design = bordered(design, border, given["border_corners"])
    if max(design.sides) > LARGEST_TOP + 1e-9:
        msg = f"design: it would be {max(design.sides):.0f} in long, more than {LARGEST_TOP:g} in"
        raise UsageError(f"{msg}; take smaller pieces, or fewer")
    parameters = {"piece": design.piece_size, **given}
    if design.measured == "square" and size is not None:
        parameters["size"] = size  # its strips follow from it
    return replace(design, parameters=parameters, wanted=wanted, shrinkage=shrinkage)


def _given(kind: DesignKind, options: Mapping[str, Any]) -> dict[str, Any]:
    """Return the options of the design's own, with what is usual in place of those not given."""
    _refuse_others(kind, options)
    given: dict[str, Any] = {}
    for key in kind.takes:
        value = options.get(key)
        if key in _MOST:
            given[key] = _count(key, kind.usual.get(key, _USUAL[key]) if value is None else value)
        elif key in _LENGTHS and value is not None:
            given[key] = _length(key, value)
        elif key in kind.words and (value is not None or key not in _PIECED):
            given[key] = _word(key, value, kind.words[key])
        elif key == "pieced_round" and value is not None:
            given[key] = value
    corners = options.get("border_corners")
    if "border" in given:
        given["border_corners"] = _word("border_corners", corners, CORNERS)
    elif corners is not None:
        raise UsageError("--border-corners: there is no border; give its width, --border LENGTH")
    if "pieced_round" in given and "pieced" not in given:
        raise UsageError(f"--pieced-round: say how, --pieced {' or '.join(kind.words['pieced'])}")
    return given


def _refuse_others(kind: DesignKind, options: Mapping[str, Any]) -> None:
    for option, value in options.items():
        if value is not None and option not in (*kind.takes, *_ALWAYS):
            own = " and ".join(map(_option, (each for each in kind.takes if each not in _BORDER)))
            raise UsageError(f"design: {kind.name} has no {_option(option)}; it takes {own}")


def _shrinkage(per_cent: float | None) -> float:
    drawn_in = per_cent or 0.0
    if not 0 <= drawn_in <= _MOST_SHRINKAGE:
        msg = f"shrinkage: {drawn_in:g} per cent will not do; give from 0 to {_MOST_SHRINKAGE:g}"
        raise UsageError(f"{msg}, such as 3")
    return drawn_in


def _option(key: str) -> str:
    return f"--{key.replace('_', '-')}"


def _count(key: str, count: int) -> int:
    if not 1 <= count <= _MOST[key]:
        raise UsageError(f"{_option(key)}: {count} will not do; give from 1 to {_MOST[key]}")
    return count


def _length(key: str, inches: float) -> float:
    if not SMALLEST_PIECE <= inches <= LARGEST_TOP:
        msg = f"{_option(key)}: {inches:g} in will not do; give from {SMALLEST_PIECE:g} to"
        raise UsageError(f"{msg} {LARGEST_TOP:g} in, finished")
    return inches


def _word(key: str, word: str | None, known: tuple[str, ...]) -> str:
    chosen = known[0] if word is None else word
    if chosen not in known:
        raise UsageError(
            f"{key.replace('_', ' ')}: {word!r} is not known; choose {', '.join(known)}"
        )
    return chosen
