"""What ``finish`` is told of a top: its outline, its measures, where hems and the start lie."""

import re
from typing import TYPE_CHECKING, Annotated

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, bundle
from scrapstore.errors import UsageError
from scrapstore.units import parse_degrees, parse_size

if TYPE_CHECKING:
    from scrapstore.finishing import TopOutline

__all__ = ["OutlineOptions", "hem_of", "measures_of", "start_of"]


@bundle
class OutlineOptions:
    """The trimmed outline of a top in one of three ways, where no project says it."""

    size: Annotated[
        str | None,
        o.text_option("--size", "A square or rectangle, such as '18 x 18'.", metavar="'W x H'"),
    ] = None
    hexagon: Annotated[
        str | None,
        o.text_option("--hexagon", "An even hexagon by its trimmed side.", metavar="SIDE"),
    ] = None
    sides: Annotated[
        str | None,
        o.text_option(
            "--sides",
            "Any convex outline by its trimmed sides in order, clockwise.",
            metavar="'A, B, ...'",
        ),
    ] = None
    corners: Annotated[
        str | None,
        o.text_option(
            "--corners",
            "With --sides: the angle after each, in degrees; four are square where not given.",
            metavar="'DEG, ...'",
        ),
    ] = None

    def read(self, call: Call, name: str | None) -> "TopOutline | None":
        """Return the outline, None where a project or plan is named in its place.

        Raises UsageError unless the top is given in one way, ShapeError.
        """
        from scrapstore.finishing import hexagon, measured_outline, rectangle

        given = (name, self.size, self.hexagon, self.sides)
        if sum(text is not None for text in given) != 1:
            msg = "finish: name a project file or a kept plan, or give the trimmed top as one of"
            raise UsageError(f"{msg} --size, --hexagon or --sides")
        if self.corners is not None and self.sides is None:
            raise UsageError("--corners: goes with --sides; leave it out")
        if self.size is not None:
            return rectangle(*parse_size(self.size, field="--size", default_unit=call.units))
        if self.hexagon is not None:
            return hexagon(call.length(self.hexagon, field="--hexagon"))
        if self.sides is None:
            return None
        sides = [call.length(text, field="--sides") for text in self.sides.split(",")]
        angles = None if self.corners is None else list(map(_angle, self.corners.split(",")))
        return measured_outline(sides, angles)


def _angle(text: str) -> float:
    degrees = parse_degrees(text, 180)
    if degrees is None:
        msg = f"--corners: {text.strip()!r} is no angle; write degrees such as '120, 120, 60'"
        raise UsageError(msg)
    return degrees


def measures_of(call: Call, text: str | None, option: str) -> tuple[float, ...] | None:
    """Return the measures that ``18 1/4 x 18 1/8`` or ``16`` names, None for None."""
    if text is None:
        return None
    if re.search(r"[x×]", text.lower()):
        return parse_size(text, field=option, default_unit=call.units)
    return (call.length(text, field=option),)


def hem_of(call: Call, text: str, top: "TopOutline") -> tuple[float, float]:
    """Return the stretch that ``2: 7 to 11`` names, in inches from corner 0; UsageError."""
    found = re.fullmatch(r"\s*(\d{1,3})\s*:(.+)\bto\b(.+)", text)
    if found is None:
        raise UsageError(f"--hem: cannot read {text!r}; write side, from and to, as '2: 7 to 11'")
    low = call.length(found[2].strip(), field="--hem", zero=True)
    high = call.length(found[3].strip(), field="--hem")
    before, side = _side(found[1], top, "--hem")
    if not low < high <= side + 1e-6:
        msg = f"--hem: {text!r} does not lie on side {found[1]}, which is"
        raise UsageError(f"{msg} {call.shown(side)} long; first from, then to")
    return before + low, before + min(high, side)


def start_of(call: Call, text: str | None, top: "TopOutline") -> float | None:
    """Return where ``side 1, 3 in`` is, in inches from corner 0; None for None; UsageError."""
    if text is None:
        return None
    found = re.fullmatch(r"\s*(?:side\s*)?(\d{1,3})\s*[,:](.+)", text, re.IGNORECASE)
    if found is None:
        msg = f"--start: cannot read {text!r}; write the side and how far along it: 'side 1, 3 in'"
        raise UsageError(msg)
    at = call.length(found[2].strip(), field="--start", zero=True)
    before, side = _side(found[1], top, "--start")
    if at > side + 1e-6:
        raise UsageError(f"--start: side {found[1]} is {call.shown(side)} long; give less")
    return before + at


def _side(number: str, top: "TopOutline", option: str) -> tuple[float, float]:
    """Return how far along the edge a side begins, and how long it is."""
    side = int(number)
    if not 1 <= side <= len(top.sides):
        raise UsageError(f"{option}: there is no side {side}; the top has {len(top.sides)}")
    return sum(top.sides[: side - 1]), top.sides[side - 1]
