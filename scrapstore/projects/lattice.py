"""The lattice of a project file: a top typed cell by cell, and the piece list that follows."""

from collections import Counter
from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from scrapstore.designs import Design, make_lattice
from scrapstore.projects.schema import LatticeEntry

__all__ = ["lattice_design", "with_lattice_pieces"]


def lattice_design(entry: LatticeEntry) -> Design:
    """Return the design. Raises UsageError as `make_lattice` does."""
    return make_lattice(entry.rows, entry.side, entry.letters)


def with_lattice_pieces(data: dict[str, Any], unit: str) -> dict[str, Any]:
    """Return what a file says, with the lines of its lattice that it does not list itself.

    What the [arrangement] gives to other lines is not counted. A lattice that is not of the right
    form is left as it is, for the schema to report. Raises UsageError as `make_lattice` does.
    """
    try:
        entry = LatticeEntry.model_validate(data.get("lattice"), context={"unit": unit})
    except ValidationError:
        return data
    design = lattice_design(entry)
    written = data.get("pieces", [])
    if not isinstance(written, list):
        return data
    listed = {piece.get("name") for piece in written if isinstance(piece, dict)}
    makes = [piece.get("makes") for piece in written if isinstance(piece, dict)]
    listed |= {one.get("piece") for one in makes if isinstance(one, dict)}
    counts = Counter(piece.piece for piece in design.pieces)
    own = {piece.position: piece.piece for piece in design.pieces}
    for positions in _lists(data.get("arrangement")):
        counts.subtract(own[one] for one in positions if isinstance(one, str) and one in own)
    more = [
        {
            "name": line.name, "shape": line.shape.kind, "count": counts[line.name],
            "role": line.role, **{name: _typed(size) for name, size in line.sizes.items()},
        }
        for line in design.lines if line.name not in listed and counts[line.name] > 0
    ]  # fmt: skip
    return {**data, "pieces": [*written, *more]}


def _typed(inches: float) -> str:
    """Return a length as one would type it, but to the last bit."""
    short = f"{inches:g}"
    return f"{short if float(short) == inches else repr(inches)} in"


def _lists(arrangement: Any) -> list[list[Any]]:
    known = arrangement if isinstance(arrangement, Mapping) else {}
    return [one for one in known.values() if isinstance(one, list)]
