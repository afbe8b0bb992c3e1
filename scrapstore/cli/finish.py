"""``finish``: the binding of a trimmed top."""

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, bundle, command
from scrapstore.cli.filters import StockFilters
from scrapstore.cli.tables import Shown, stack, table
from scrapstore.errors import UsageError
from scrapstore.units import parse_degrees, parse_size

if TYPE_CHECKING:
    from scrapstore.actions.finish import FinishResult
    from scrapstore.finishing import TopOutline

__all__ = ["app"]

app = typer.Typer()

_MOST_LISTED = 8


@bundle
class OutlineOptions:
    """The trimmed outline of a top in one of three ways."""

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

    def read(self, call: Call) -> "TopOutline":
        """Return the outline; UsageError unless it is given in one way, ShapeError."""
        from scrapstore.finishing import hexagon, measured_outline, rectangle

        if sum(text is not None for text in (self.size, self.hexagon, self.sides)) != 1:
            raise UsageError("finish: give the trimmed top as one of --size, --hexagon or --sides")
        if self.corners is not None and self.sides is None:
            raise UsageError("--corners: goes with --sides; leave it out")
        if self.size is not None:
            return rectangle(*parse_size(self.size, field="--size", default_unit=call.units))
        if self.hexagon is not None:
            return hexagon(call.length(self.hexagon, field="--hexagon"))
        sides = [call.length(text, field="--sides") for text in (self.sides or "").split(",")]
        angles = None if self.corners is None else list(map(_angle, self.corners.split(",")))
        return measured_outline(sides, angles)


def _angle(text: str) -> float:
    degrees = parse_degrees(text, 180)
    if degrees is None:
        msg = f"--corners: {text.strip()!r} is no angle; write degrees such as '120, 120, 60'"
        raise UsageError(msg)
    return degrees


@command(app, "finish")
def finish(
    call: Call,
    outline: OutlineOptions,
    filters: StockFilters,
    strip: Annotated[
        list[str] | None,
        typer.Option(
            "--strip",
            metavar="NUMBER",
            help="Binding strips as listed, such as 3-7 (else all that are available); may be "
            "repeated.",
        ),
    ] = None,
    finished_width: Annotated[
        str, o.text_option("--finished-width", "How wide it finishes.", metavar="LENGTH")
    ] = "1/4 in",
    seam: Annotated[
        str, o.text_option("--seam", "Its seam, also of the joins.", metavar="LENGTH")
    ] = "1/4 in",
    clearance: Annotated[
        str,
        o.text_option("--clearance", "How far off corners joins should be.", metavar="LENGTH"),
    ] = "2 in",
    hem: Annotated[
        list[str] | None,
        typer.Option(
            "--hem",
            metavar="'SIDE: FROM to TO'",
            help="Lapped hems of the back, which joins keep off, from the corner before them, such "
            "as '2: 7 to 11'; may be repeated.",
        ),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(
            "--picture", metavar="FILE", help="Draw the edge and its joins, .svg or .png."
        ),
    ] = None,
) -> None:
    """Tell whether the binding reaches, before the first stitch, and where to start it.

    Measure the trimmed top. From your binding strips it says which to join in which order, which
    ends to recut, and where to start so that no join lands on a corner. Where they are short it
    says what to cut in addition. Corner 1 is where the first side begins, clockwise; nothing in
    the store is changed.
    """
    top = outline.read(call)
    hems = tuple(_hem(call, text, top) for text in hem or ())
    if picture is not None:
        from scrapstore.report.picture_file import checked_picture_path

        checked_picture_path(picture)
    numbers = o.number_list(strip or ())
    only = filters.read(call)
    from scrapstore.actions.finish import BindingAsked, plan_finish
    from scrapstore.json_output.finish import finish_out

    asked = BindingAsked(
        outline=top,
        seam=call.length(seam, field="--seam"),
        finished_width=call.length(finished_width, field="--finished-width"),
        clearance=call.length(clearance, field="--clearance", zero=True),
        hems=hems,
    )
    result = call.in_store(plan_finish, asked, only, numbers, call.settings, picture)
    call.show(lambda: finish_out(result), lambda: _text(call, result))
    if picture is not None:
        call.say(f"Picture: {picture}")


def _hem(call: Call, text: str, top: "TopOutline") -> tuple[float, float]:
    """Return the stretch that ``2: 7 to 11`` names, in inches from corner 0; UsageError."""
    found = re.fullmatch(r"\s*(\d{1,3})\s*:(.+)\bto\b(.+)", text)
    if found is None:
        raise UsageError(f"--hem: cannot read {text!r}; write side, from and to, as '2: 7 to 11'")
    side = int(found[1])
    low = call.length(found[2].strip(), field="--hem", zero=True)
    high = call.length(found[3].strip(), field="--hem")
    if not 1 <= side <= len(top.sides):
        raise UsageError(f"--hem: there is no side {side}; the top has {len(top.sides)}")
    if not low < high <= top.sides[side - 1] + 1e-6:
        msg = f"--hem: {text!r} does not lie on side {side}, which is"
        raise UsageError(f"{msg} {call.shown(top.sides[side - 1])} long; first from, then to")
    before = sum(top.sides[: side - 1])
    return before + low, before + min(high, top.sides[side - 1])


def _text(call: Call, result: "FinishResult") -> Shown:
    from rich.text import Text

    from scrapstore.report.binding_text import (
        BINDING_CAUTION,
        binding_notes,
        place_on_edge,
        reach_line,
        strip_rows,
    )

    plan, asked = result.plan, result.asked
    top = asked.outline
    numbers = [strip.id for strip in result.strips]
    parts: list[str] = [reach_line(plan, call.units)]
    if plan.extra is not None:
        parts += _lacking(call, result)
        parts.append("\nAs far as they reach, they are joined like this:")
    else:
        near = f"No join is nearer to a corner than {call.shown(plan.clearance)}"
        if plan.kept_off is not None:
            near += f", or to a lapped hem than {call.shown(plan.kept_off)}"
        parts += [
            f"Start {place_on_edge(plan.joins[0], top, call.units)}: there the ends meet. {near}.",
            "\nLay the strips right side up, left to right, and join them in this order:",
        ]
    columns = ("strip", "lies", "recut", "cut off", "join", "starts")
    rows = list(strip_rows(plan, top, numbers, call.units))
    shown = table(columns, rows, right=("strip",), none="None of them gives any length.")
    notes = binding_notes(
        plan, top, [(strip.id, strip.width) for strip in result.strips], seam=asked.seam,
        finished_width=asked.finished_width, units=call.units,
    )  # fmt: skip
    rest = [Text(line) for line in ("", *notes, BINDING_CAUTION)]
    return stack(*(Text(part) for part in parts), shown, *rest)


def _lacking(call: Call, result: "FinishResult") -> list[str]:
    """Say what is the shortest strip to cut in addition, and which scraps it can come from."""
    from scrapstore.units import format_cut

    plan = result.plan
    length = format_cut(plan.extra or 0.0, call.units, call.settings.mark)
    said = [f"Cut one more strip, {call.shown(plan.width)} wide, {length} or longer, square ends."]
    scraps = result.long_enough
    if not scraps:
        return [*said, "No scrap that these filters let through is long enough for it."]
    listed = "; ".join(
        f"scrap {scrap.id}, {scrap.title}" + (f" ({scrap.place})" if scrap.place else "")
        for scrap in scraps[:_MOST_LISTED]
    )
    more = len(scraps) - _MOST_LISTED
    return [*said, f"Long enough: {listed}" + (f"; and {more} more." if more > 0 else ".")]
