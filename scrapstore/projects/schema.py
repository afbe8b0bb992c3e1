"""The schema of the project file: what keys there are and what each one takes.

This is the outside form; `scrapstore.projects.reading` turns it into the working form.
"""

from collections.abc import Mapping
from typing import Annotated, Final, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from scrapstore.finishing import BackKind
from scrapstore.printable import is_printable
from scrapstore.shapes import KINDS, Tips
from scrapstore.units import LengthField

__all__ = [
    "COLOUR_FAMILIES",
    "FORMAT",
    "MOST_KINDS",
    "MOST_PIECES",
    "RIGHT",
    "BackEntry",
    "BindingEntry",
    "DesignEntry",
    "GrainEntry",
    "LatticeEntry",
    "MakesEntry",
    "PieceEntry",
    "ProjectEntry",
    "QuiltingEntry",
    "RoleEntry",
    "measure_names",
]

FORMAT: Final = 1
"""The version of the file format that this program writes and reads."""

MOST_KINDS: Final = 500
"""Kinds of piece in one project; each is looked at for every scrap."""
MOST_PIECES: Final = 20_000
"""Pieces in one project, all kinds together; a king-size top of 1 1/2 in squares has 5,000."""

COLOUR_FAMILIES: Final = (
    "red", "orange", "yellow", "green", "blue", "purple", "pink", "brown", "white", "grey", "black",
)  # fmt: skip
"""The eleven basic colour terms of English (Berlin and Kay, "Basic Color Terms", 1969), for the
starter file. A test keeps them equal to those of ``scrapstore.colour``, which this room does not
import."""

RIGHT: Final[Mapping[str, str]] = {
    "format": f"format = {FORMAT}",
    "name": 'a name in quotes, such as "star diamond"',
    "notes": "a text in quotes",
    "units": '"in" or "cm", what a length without a unit is in',
    "seam_allowance": 'a length from 0 to 2 in, such as "1/4"',
    "usable_width": 'the width of the fabric between its selvages, such as "40"',
    "tips": '"pointed" or "trimmed"',
    "cushion": '[cushion] with width = "16" and height = "16"',
    "width": 'a length such as "16"',
    "height": 'a length such as "16"',
    "roles": '[roles.NAME] for every role, such as [roles.background]',
    "families": 'colour words, such as ["blue", "green"]',
    "values": '"light", "medium" or "dark", such as ["light"]',
    "fibres": 'names of fibres, such as ["cotton", "linen"]',
    "fabrics": 'names of fabrics, such as ["blue work shirt"]',
    "scraps": "numbers of scraps, such as [12, 13]",
    "design": "[design] as `scrapstore design start` writes it",
    "piece": "the finished size of the piece that all others follow from",
    "lattice": '[lattice] with side = "3" and rows = ["A A/B", "B A"]',
    "side": 'the finished side of a cell, such as "3"',
    "rows": "rows of roles, such as ['A A/B', 'B A'], or in [design] a whole number",
    "letters": 'which role a letter stands for, such as { A = "teal" }',
    "arrangement": '[arrangement] with a line of the piece list and its positions, such as "teal '
    'diamond" = ["1.1.1", "1.1.2"]',
    "same_fabric_sets": "a whole number of 2 or more, such as 6",
    "min_fabrics": "a whole number of 1 or more, such as 3",
    "max_per_fabric": "a whole number of 1 or more, such as 12",
    "fill": '"scrappy" in a role; in [design] as `scrapstore design show` says',
    "pieces": f"[[pieces]] for every kind of piece, from 1 to {MOST_KINDS} of them",
    "shape": 'a shape, such as "60° diamond"',
    "count": "a whole number from 1 to 10000, such as 54",
    "role": "the name of a role, such as \"star\"",
    "corners": 'corners in order, such as [["0", "0"], ["3", "0"], ["0", "4 1/2"]]',
    "makes": 'what a square is made into, such as { piece = "sail", each = 2 }',
    "each": "how many pieces one square gives, such as 2",
    "mirror": "true or false: whether the mirrored piece will do as well",
    "quilting": "[quilting] with shrinkage = 3 or overhang = \"2\"",
    "shrinkage": "per cent from 0 to 30, such as 3",
    "overhang": "a length from 0 to 20 in, such as \"2\"",
    "batting": "true or false",
    "backing": "true or false",
    "back": '[back] with kind = "envelope"',
    "kind": '"envelope", "zip" or "plain"',
    "overlap": 'a length such as "4"',
    "hem": 'a length from 0 to 3 in, such as "1/4"',
    "hem_turns": "1 or 2: how often a hem is folded",
    "zip_allowance": 'a length from 0 to 3 in, such as "3/4"',
    "seam": 'a length from 0 to 2 in, such as "1/4"',
    "plumpness": 'how much larger the form is, from 0 to 6 in, such as "1"',
    "binding": '[binding] with finished_width = "1/4"',
    "finished_width": 'a length of up to 4 in, such as "1/4"',
    "strip_width": 'a length of up to 20 in, such as "2 1/4"',
    "turn": 'a length from 0 to 3 in, such as "3/4"',
    "baste": 'a length of up to 1 in, such as "1/8"',
    "baste_stitch_mm": "millimetres of up to 12, such as 4.0",
    "stitch_mm": "millimetres of up to 12, such as 2.5",
    "bias": "true or false: whether the strips are cut on the bias",
    "grain": '"straight", "lengthwise", "crosswise", "free", "one-way", or a table such as '
    '{ edges = [1], along = "lengthwise" }',
    "edges": "edges counted from 1, such as [1, 3]",
    "along": '"either", "lengthwise" or "crosswise"',
    "one_way_deg": "degrees from 0 to 360, counter-clockwise from the right, such as 90 for up",
    "free_every_deg": "degrees from 1 to 360, such as 15",
}  # fmt: skip
"""What would be right for each key, to end a message with."""


def _shown_name(name: str) -> str:
    if not is_printable(name):
        raise ValueError(name)
    return name


_Name = Annotated[
    str, Field(min_length=1, max_length=200, strict=True), AfterValidator(_shown_name)
]
_Names = Annotated[list[_Name], Field(max_length=200)]
_Positions = Annotated[
    list[Annotated[str, Field(strict=True, max_length=100)]], Field(max_length=MOST_PIECES)
]
_Count = Annotated[int, Field(strict=True, ge=1, le=10_000)]
_Corner = Annotated[
    list[str | Annotated[float, Field(strict=True)]], Field(min_length=2, max_length=2)
]
_Length = Annotated[float, LengthField(), Field(gt=0, le=10_000)]


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, hide_input_in_errors=True)


class GrainEntry(_Entry):
    """A grain rule that one word does not say; exactly one of the three."""

    edges: list[Annotated[int, Field(strict=True, ge=1)]] | None = Field(None, min_length=1)
    along: Literal["either", "lengthwise", "crosswise"] = "either"
    one_way_deg: float | None = Field(None, ge=0, le=360, strict=True)
    free_every_deg: float | None = Field(None, ge=1, le=360, strict=True)


class RoleEntry(_Entry):
    """What the cloth of a role must be."""

    families: _Names = Field(default=[], description=RIGHT["families"])
    values: list[Literal["light", "medium", "dark"]] = Field(default=[])
    fabrics: _Names = Field(default=[])
    fibres: _Names = Field(default=[])
    scraps: list[Annotated[int, Field(strict=True, ge=1)]] = Field(default=[], max_length=10_000)
    same_fabric_sets: Annotated[int, Field(strict=True, ge=2, le=10_000)] | None = None
    min_fabrics: _Count | None = None
    max_per_fabric: _Count | None = None
    fill: Literal["scrappy"] | None = None


class MakesEntry(_Entry):
    """Of a square: how many finished pieces of which line of the design it is cut and sewn into."""

    piece: _Name
    each: Annotated[int, Field(strict=True, ge=1, le=64)]


class PieceEntry(_Entry):
    """One kind of piece. Its sizes are keys of their own; which ones, the shape says."""

    model_config = ConfigDict(extra="allow", frozen=True, hide_input_in_errors=True)

    name: _Name
    shape: _Name
    count: _Count
    role: _Name
    tips: Tips | None = None
    grain: Literal["straight", "lengthwise", "crosswise", "free", "one-way"] | GrainEntry = (
        "straight"
    )
    mirror: bool = Field(False, strict=True)
    corners: list[_Corner] | None = None
    makes: MakesEntry | None = None


class CushionEntry(_Entry):
    """The finished size of the whole."""

    width: _Length
    height: _Length


class DesignEntry(_Entry):
    """What `make_design` takes to make the design again; the `piece` is always said.

    `wanted` is the size that was asked for, where the piece followed from it.
    """

    name: _Name
    piece: _Length
    size: _Length | None = None
    wanted: _Length | None = None
    a_side: _Count | None = None
    rows: _Count | None = None
    columns: _Count | None = None
    rings: _Count | None = None
    fill: _Name | None = None
    layout: _Name | None = None
    direction: _Name | None = None
    length: _Length | None = None
    border: _Length | None = None
    border_corners: _Name | None = None
    pieced: _Name | None = None
    pieced_round: _Count | None = None


class LatticeEntry(_Entry):
    """A top typed cell by cell; `letters` says for which role a word stands, where not for itself.

    See `designs.make_lattice`.
    """

    side: _Length
    rows: list[Annotated[str, Field(strict=True, max_length=2000)]] = Field(
        min_length=1, max_length=100
    )
    letters: dict[_Name, _Name] = Field(default={}, max_length=MOST_KINDS)


class QuiltingEntry(_Entry):
    """How the top is quilted."""

    shrinkage: Annotated[float, Field(strict=True, ge=0, le=30)] | None = None
    overhang: Annotated[float, LengthField(zero=True), Field(ge=0, le=20)] | None = None
    batting: bool = Field(True, strict=True)
    backing: bool = Field(True, strict=True)


class BackEntry(_Entry):
    """The back of a cover, which is cut with the pieces."""

    kind: BackKind
    overlap: _Length = 4.0
    hem: Annotated[float, LengthField(zero=True), Field(ge=0, le=3)] = 0.25
    hem_turns: Annotated[int, Field(strict=True, ge=1, le=2)] = 2
    zip_allowance: Annotated[float, LengthField(zero=True), Field(ge=0, le=3)] = 0.75
    seam: Annotated[_Length, Field(le=2)] | None = None
    plumpness: Annotated[float, LengthField(zero=True), Field(ge=0, le=6)] | None = None
    role: _Name = "back"


class BindingEntry(_Entry):
    """The binding of the edge."""

    finished_width: Annotated[_Length, Field(le=4)] = 0.25
    strip_width: Annotated[_Length, Field(le=20)] | None = None
    seam: Annotated[_Length, Field(le=2)] = 0.25
    turn: Annotated[float, LengthField(zero=True), Field(ge=0, le=3)] = 0.75
    bias: bool = Field(False, strict=True)
    baste: Annotated[_Length, Field(le=1)] = 0.125
    baste_stitch_mm: Annotated[float, Field(gt=0, le=12, strict=True)] = 4.0
    stitch_mm: Annotated[float, Field(gt=0, le=12, strict=True)] = 2.5


class ProjectEntry(_Entry):
    """A whole project file."""

    format: Annotated[int, Field(strict=True, ge=FORMAT, le=FORMAT)]
    name: _Name
    notes: str = Field("", strict=True, max_length=20_000)
    units: Literal["in", "cm"] = "in"
    seam_allowance: Annotated[float, LengthField(zero=True), Field(ge=0, le=2)] | None = None
    usable_width: Annotated[_Length, Field(le=200)] | None = None
    tips: Tips = "pointed"
    cushion: CushionEntry | None = None
    quilting: QuiltingEntry | None = None
    back: BackEntry | None = None
    binding: BindingEntry | None = None
    roles: Annotated[dict[_Name, RoleEntry], Field(max_length=MOST_KINDS)]
    design: DesignEntry | None = None
    lattice: LatticeEntry | None = None
    arrangement: dict[_Name, _Positions] = Field(default={}, max_length=MOST_KINDS)
    pieces: list[PieceEntry] = Field(min_length=1, max_length=MOST_KINDS)


def measure_names() -> dict[str, str]:
    """Return every size that some shape takes, with what it means there."""
    names: dict[str, str] = {}
    for kind in KINDS.values():
        for name, meaning in kind.meanings.items():
            names.setdefault(name, f"{kind.title}: {meaning}")
    return names
