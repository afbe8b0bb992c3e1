"""A project file for a design: its piece list and a role for each kind of cloth, to be changed."""

from collections.abc import Sequence
from typing import Final

from scrapstore.designs import Design, DesignPiece, Makes
from scrapstore.projects.schema import COLOUR_FAMILIES, FORMAT
from scrapstore.shapes import KINDS, corners_of
from scrapstore.units import Units, format_typed, read_length

__all__ = ["design_text"]

_HEAD: Final = """\
# A project for scrapstore, made from the design "{design}".
# Lines that start with # are comments; take the # away to use what stands behind it. Sizes are
# FINISHED sizes, in inches where no unit stands; the seam allowance is added for you.
# `scrapstore guide projects` says what else may stand here.

format = {format}
name = "{title}"
notes = "{notes}"

seam_allowance = "{seam}"
tips = "trimmed"           # sharp corners: "pointed", or "trimmed" so that raw edges line up
"""
_CUSHION: Final = """
[cushion]                  # finished size
width = "{width}"
height = "{height}"
"""
_ROLES: Final = """
# One table for each role that cloth plays, with the conditions it must keep; none: any cloth.
{first}
# families = ["blue", "green"]   # {families}
# values = ["medium", "dark"]    # light, medium, dark
# same_fabric_sets = 6           # each fabric gives 6, 12, 18 ... of a piece
# min_fabrics = 2                # at least so many different fabrics
{others}
"""
_DESIGN: Final = """
# From here comes the place of every piece. It must agree with the piece list; to change it, start
# the design anew.
[design]
"""


CutLines = Sequence[tuple[DesignPiece, Makes | None]]
"""The lines of a piece list, and what those that are cut for units make."""


def design_text(
    design: Design, seam_allowance: float, units: Units = "in", cut: CutLines | None = None
) -> str:
    """Return the text of a project file with the piece list of `design`; it loads as it stands.

    `cut` are its lines where units are made of squares (`squares_for`), else those of the design. A
    size that is on no mark is written to a billionth of an inch.
    """
    width, height = (_length(side, units) for side in design.sides)
    notes = f"{format_typed(design.size, units)} {design.measured}, {len(design.pieces)} pieces."
    notes = " ".join([notes, *design.notes])
    lines = [(line, None) for line in design.lines] if cut is None else cut
    roles = [f"[roles.{_key(role)}]" for role in dict.fromkeys(one.role for one in design.lines)]
    parts = [
        _HEAD.format(
            design=design.name, format=FORMAT, title=design.title, notes=notes,
            seam=_length(seam_allowance, units),
        ),
        _CUSHION.format(width=width, height=height) if design.is_rectangle else "",
        f"\n[quilting]\nshrinkage = {design.shrinkage:g}  # per cent of each side, drawn in\n"
        if design.shrinkage
        else "",
        _ROLES.format(
            first=roles[0], families=", ".join(COLOUR_FAMILIES),
            others="".join(f"\n{role}" for role in roles[1:]),
        ).rstrip() + "\n",
        *(_piece(line, makes, units) for line, makes in lines),
        _design(design, units),
    ]  # fmt: skip
    return "".join(parts)


def _design(design: Design, units: Units) -> str:
    known: dict[str, float | int | str] = {"name": design.name, **design.parameters}
    if design.wanted is not None:
        known["wanted"] = design.wanted
    lines = []
    for key, value in known.items():
        written = f'"{_exact(value, units)}"' if isinstance(value, float) else value
        lines.append(f'{key} = "{written}"' if isinstance(value, str) else f"{key} = {written}")
    return _DESIGN + "".join(f"{line}\n" for line in lines)


def _exact(inches: float, units: Units) -> str:
    """Return a length that reads back so exactly that a whole top made of it does, too."""
    text = _length(inches, units)
    return text if abs(read_length(text) - inches) < 1e-13 else repr(inches)


def _piece(line: DesignPiece, makes: Makes | None, units: Units) -> str:
    sizes = [f'{name} = "{_length(size, units)}"' for name, size in line.sizes.items()]
    if not sizes:
        corners = [
            [_length(x, units), _length(y, units)] for x, y in corners_of(line.shape.outline)
        ]
        sizes = [f"corners = {corners}".replace("'", '"')]
    lines = [
        "\n[[pieces]]", f'name = "{line.name}"', f'shape = "{KINDS[line.shape.kind].title}"',
        *sizes, f"count = {line.count}", f'role = "{line.role}"',
        *([f'makes = {{ piece = "{makes.piece}", each = {makes.each} }}'] if makes else []),
    ]  # fmt: skip
    return "\n".join(lines) + "\n"


def _key(role: str) -> str:
    return role if role.isalpha() else f'"{role}"'


def _length(inches: float, units: Units) -> str:
    """Return a length as a project file has it, exact to a billionth of an inch.

    With less, a strip that is on a mark of a ruler in millimetres would be cut to the next one.
    """
    text = format_typed(inches, units)
    return f"{inches:.9f}" if text.startswith("~") else text.removesuffix(" in")
