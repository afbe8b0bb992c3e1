"""A picture of the edge of a top: corners, joins, where the binding starts and ends."""

import math
from collections.abc import Sequence
from itertools import accumulate, pairwise
from pathlib import Path
from typing import Final

import shapely
from shapely import LineString, Point, Polygon

from scrapstore.finishing import BindingPlan, TopOutline
from scrapstore.report.forms import Rgb
from scrapstore.report.painting import Area, Drawing, Part, TextLine
from scrapstore.report.picture_file import write_picture
from scrapstore.units import Paper

__all__ = ["binding_drawing", "write_binding_picture"]

_ACROSS: Final = 420.0  # points of the longer side of the top
_BESIDE: Final = 104.0  # left and right, for words
_OVER: Final = 48.0
_BAND: Final = 14.0
_HEMS: Final = 1.9  # bands that a lapped hem is drawn wide
_TOP: Final[Rgb] = (246, 244, 238)
_STRIPS: Final[tuple[Rgb, ...]] = ((190, 205, 222), (226, 214, 190))
_THIRD: Final[Rgb] = (205, 218, 195)
_HEM: Final[Rgb] = (120, 120, 120)
_JOIN: Final[Rgb] = (26, 26, 26)
_START: Final[Rgb] = (168, 40, 40)


def write_binding_picture(
    file: Path,
    outline: TopOutline,
    plan: BindingPlan,
    numbers: Sequence[int],
    hems: Sequence[tuple[float, float]],
    paper: Paper = "letter",
) -> Path:
    """Write the picture; `numbers` are those of the strips. Return where it is.

    Raises as `write_picture` does.
    """
    drawing = binding_drawing(outline, plan, numbers, hems)
    title = "The binding round the top"
    return write_picture(drawing, file, "binding", title=title, paper=paper)


class _Course:
    """The edge on paper: points by inches from corner 0."""

    def __init__(self, outline: TopOutline, across: float) -> None:
        inches = outline.corners()
        shape = Polygon(inches)
        left, top, right, bottom = shape.bounds
        scale = across / max(right - left, bottom - top)
        self.corners = [
            ((x - left) * scale + _BESIDE, (y - top) * scale + _OVER) for x, y in inches
        ]
        self.size = ((right - left) * scale + 2 * _BESIDE, (bottom - top) * scale + 2 * _OVER)
        self._sides = outline.sides
        self.around = outline.perimeter

    def at(self, inches: float) -> tuple[float, float, float, float]:
        """Return the point, and the direction of its side as a unit vector."""
        left, at = inches % self.around, 0
        while left > self._sides[at] and at < len(self._sides) - 1:
            left -= self._sides[at]
            at += 1
        share = min(left / self._sides[at], 1.0)
        (x, y), (to_x, to_y) = self.corners[at], self.corners[(at + 1) % len(self.corners)]
        long = math.hypot(to_x - x, to_y - y)
        return (
            x + (to_x - x) * share, y + (to_y - y) * share, (to_x - x) / long, (to_y - y) / long,
        )  # fmt: skip

    def _turns(self, start: float, end: float) -> list[float]:
        """Return both places, less than a round apart, and the corners between them, in order."""
        end = end if end > start else end + self.around
        marks = list(accumulate(self._sides, initial=0.0))[:-1]
        corners = (mark + lap for lap in (0.0, self.around) for mark in marks)
        return [start, *(mark for mark in corners if start < mark < end), end]

    def between(self, start: float, end: float) -> LineString:
        """Return the edge from one place on to the other."""
        return LineString([self.at(each)[:2] for each in self._turns(start, end)])

    def longest_run(self, start: float, end: float) -> float:
        """Return the middle of the longest straight run between two places."""
        low, high = max(
            pairwise(self._turns(start, end)), key=lambda run: (round(run[1] - run[0], 6), -run[0])
        )
        return (low + high) / 2


def binding_drawing(
    outline: TopOutline,
    plan: BindingPlan,
    numbers: Sequence[int],
    hems: Sequence[tuple[float, float]] = (),
    *,
    across: float = _ACROSS,
) -> Drawing:
    """Return the top seen from the front, sewn clockwise; without joins where strips are short.

    Its longer side is `across` points.
    """
    course = _Course(outline, across)
    top = Polygon(course.corners)
    parts: list[Part] = [Area(top, _TOP, 1.0)]
    parts += [part for hem in hems for part in _hem(course, hem)]
    if plan.joins:
        parts += _strips(course, plan, numbers, inward=_HEMS * _BAND + 10)
    parts.append(Area(top, None, 1.0))
    centre = top.centroid
    for at, (x, y) in enumerate(course.corners):
        far = math.hypot(x - centre.x, y - centre.y)
        out = 1 + 30 / far
        parts.append(
            TextLine(
                f"corner {at + 1}", centre.x + (x - centre.x) * out,
                centre.y + (y - centre.y) * out + 4, 10, anchor="middle",
            )
        )  # fmt: skip
    said = (
        ["Seen from the front;", "sew clockwise"] if plan.joins else ["The strips do not", "reach"]
    )
    if hems:
        said.append("grey: lapped hems")
    for line, text in enumerate(said):
        y = centre.y + 15 * (line - (len(said) - 1) / 2)
        parts.append(TextLine(text, centre.x, y, 11, anchor="middle"))
    return Drawing(*course.size, tuple(parts))


def _hem(course: _Course, hem: tuple[float, float]) -> list[Part]:
    line = course.between(*hem)
    return [Area(_band(line, _HEMS * _BAND), _HEM)]


def _band(line: LineString, wide: float) -> Polygon:
    """Return what lies within `wide` points of `line` on the side of the top."""
    band = line.buffer(wide, cap_style="flat", join_style="mitre", single_sided=True)
    largest: Polygon = max(shapely.get_parts(band).tolist(), key=lambda part: float(part.area))
    return largest


def _strips(
    course: _Course, plan: BindingPlan, numbers: Sequence[int], *, inward: float
) -> list[Part]:
    """Return the binding strip by strip, with joins across it and words beside it."""
    parts: list[Part] = []
    words: list[Part] = []
    count = len(plan.joins)
    for at, (placed, start) in enumerate(zip(plan.strips, plan.joins, strict=True)):
        end = plan.joins[(at + 1) % count]
        # A ring of one strip has no neighbour to be told from; an odd one has two alike otherwise.
        fill = _THIRD if at == count - 1 and count % 2 else _STRIPS[at % 2]
        line = course.between(start, end)
        parts.append(Area(_band(line, _BAND), fill, 0.6))
        x, y, along_x, along_y = course.at(start)
        colour = _START if at == 0 else _JOIN
        mark = LineString(
            [
                (x + along_y * 5, y - along_x * 5),
                (x - along_y * (_BAND + 5), y + along_x * (_BAND + 5)),
            ]
        )
        words.append(Area(mark.buffer(1.6 if at == 0 else 1.1), colour))
        name = "start and end" if at == 0 else f"join {at}"
        words.append(_beside(name, course.at(start), 14, bold=at == 0))
        middle = course.at(course.longest_run(start, end))
        words.append(_beside(f"strip {numbers[placed.index]}", middle, -inward))
    return [*parts, *words]


def _beside(
    text: str, place: tuple[float, float, float, float], away: float, *, bold: bool = False
) -> TextLine:
    """Return words `away` points outside the edge, or inside for less than 0."""
    x, y, along_x, along_y = place
    out_x, out_y = along_y, -along_x
    at = Point(x + out_x * away, y + out_y * away)
    to_right = out_x * away
    anchor = "middle" if abs(to_right) < abs(away) * 0.5 else "start" if to_right > 0 else "end"
    return TextLine(text, at.x, at.y + 4, 10, bold, anchor)  # type: ignore[arg-type]
