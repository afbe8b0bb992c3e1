"""One cut in words: through which cloth, how the ruler lies, and what becomes of it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import shapely
from shapely import Polygon

from scrapstore.errors import PlanError
from scrapstore.report.corners import edge_along, lettered_corners, line_from_corners
from scrapstore.report.directions import (
    ADJECTIVES,
    between,
    corner_of,
    from_line,
    is_level,
    is_upright,
    leaning,
    side,
    side_on_cloth,
)
from scrapstore.shapes import Cut, CuttingPlan, Line, cut_parts
from scrapstore.units import Units, format_length

__all__ = ["CutDescriber", "DescribedCut", "GrainWay", "RulerPlace", "labels_text"]

GrainWay = Literal["level", "upright"] | None
"""Which way the lengthwise grain runs in a drawing, if known."""

_SAME: Final = 1e-6
_TIP: Final = 0.25  # of the part: a corner larger than that is no tip
_TRIANGLE: Final = 3
_CONVERGING_DEG: Final = 165  # the sum of the angles at its cut
_NEAR_LINE: Final = 1e-5  # inches
_SLIM: Final = 4.0  # times as long as wide: a strip
_FULL: Final = 0.9  # of its box, at least
_NEAR: Final = 1 / 8  # inches; an edge that ends so near a corner is named by it
_SQUARE: Final = ", square to it"


@dataclass(frozen=True)
class RulerPlace:
    """How the ruler lies for a cut, to be drawn: against `base`, None for a cut without one.

    `figure` is what is read off it there: the distance, or the angle to the base where the cut is
    not `parallel`. `point_figure` is the distance of the cut from its point, else empty.
    """

    base: Line | None = None
    figure: str = ""
    parallel: bool = False
    point_figure: str = ""


@dataclass(frozen=True)
class DescribedCut:
    """One cut, ready to be put into a sentence.

    `cloth`: the labels in the part it goes through; `called`: what to call that, empty where there
    is no other. `ruler`: how the ruler lies; `onward`: the same for one of a row of cuts, empty
    where it is none; `alike`: the same for one of several pieces that are cut alike. `pieces`: what
    is whole now; `parts`: the labels of each part that is freed and cut on; `templates`: what waits
    for its template; `rest`: what falls off, or lies on the other side; `place`: the ruler's.
    """

    cloth: tuple[str, ...]
    called: str
    ruler: str
    onward: str
    alike: str
    kind: Literal["gives", "frees", "parts", "takes off", "tip"]
    pieces: tuple[str, ...] = ()
    parts: tuple[tuple[str, ...], ...] = ()
    templates: tuple[str, ...] = ()
    rest: str = ""
    place: RulerPlace = RulerPlace()


def labels_text(labels: list[str] | tuple[str, ...]) -> str:
    """Return labels in order, runs of numbers shortened.

    >>> labels_text(["A2", "A1", "A3", "B2"]), labels_text(["A1", "A2"])
    ('A1 to A3, B2', 'A1, A2')
    """
    runs: list[list[tuple[str, int]]] = []
    for letters, number in sorted(_split(label) for label in labels):
        if runs and runs[-1][-1] == (letters, number - 1):
            runs[-1].append((letters, number))
        else:
            runs.append([(letters, number)])
    said = []
    for run in runs:
        names = [f"{letters}{number}" for letters, number in run]
        said.append(f"{names[0]} to {names[-1]}" if len(names) > 2 else ", ".join(names))
    return ", ".join(said)


def _split(label: str) -> tuple[str, int]:
    """Return the letters of a label and its number at the end."""
    letters = label.rstrip("0123456789")
    return letters, int(label[len(letters) :] or 0)


def _angle_deg(before: Sequence[float], at: Sequence[float], after: Sequence[float]) -> float:
    """Return the angle at a corner, 0 to 180."""
    (ax, ay), (bx, by) = ((x - at[0], y - at[1]) for x, y in (before, after))
    return math.degrees(math.acos((ax * bx + ay * by) / math.hypot(ax, ay) / math.hypot(bx, by)))


def _is_strip(outline: Polygon) -> bool:
    """Return whether cloth is a level strip from the outset."""
    left, bottom, right, top = outline.bounds
    box = (right - left) * (top - bottom)
    return right - left >= _SLIM * (top - bottom) and outline.area > _FULL * box


def _angle_to_base(cut: Cut) -> float:
    """Return the angle between a cut and the line its ruler lies against, 0 to 90 degrees."""
    angle = abs(cut.angle_deg or 0.0) % 180
    angle = min(angle, 180 - angle)
    return angle if angle > _SAME else 0.0


class CutDescriber:
    """Describes the cuts of a plan in words, one after another in their order.

    `lettered`: whether a corner was named by its letter.
    """

    def __init__(self, plan: CuttingPlan, units: Units, grain: GrainWay) -> None:
        self._plan = plan
        self._units = units
        self._grain = grain
        self._parts = cut_parts(plan)
        self._strips: set[int] = {0} if _is_strip(plan.outline) else set()
        self._cut_on = {cut.part for cut in plan.cuts}
        self._labels: dict[int, list[str]] = {number: [] for number in range(len(self._parts))}
        self._templates = {piece.label for piece in plan.pieces if piece.template}
        of = {part: cut.part for cut in plan.cuts for part in cut.gives}
        for piece in plan.pieces:
            number: int | None = piece.part
            while number is not None:
                self._labels[number].append(piece.label)
                number = of.get(number)
        self._open = {0} & self._cut_on
        self.lettered = False

    def describe(self, index: int) -> DescribedCut:
        """Return cut `index` in words, with the place of its ruler."""
        return replace(self._described(index), place=self._place(self._plan.cuts[index]))

    def _place(self, cut: Cut) -> RulerPlace:
        if cut.corners or cut.ruler_from is None:
            return RulerPlace()
        base, *_ = self._base(cut)
        if angle := _angle_to_base(cut):
            far = self._show(cut.point_distance) if cut.point_distance else ""
            return RulerPlace(base, f"{angle:g}°", point_figure=far)
        return RulerPlace(base, self._show(cut.distance or 0.0), parallel=True)

    def _described(self, index: int) -> DescribedCut:
        cut = self._plan.cuts[index]
        called = self._called(cut.part) if len(self._open) > 1 else ""
        ruler, onward, alike = self._ruler(index)
        self._open.remove(cut.part)
        self._open.update(number for number in cut.gives if number in self._cut_on)
        cloth = tuple(self._labels[cut.part])

        whole = [x for n in cut.gives if n not in self._cut_on for x in self._labels[n]]
        pieces = tuple(x for x in whole if x not in self._templates)
        templates = tuple(x for x in whole if x in self._templates)
        waste = [n for n in cut.gives if not self._labels[n]]
        cut_on = [n for n in cut.gives if n in self._cut_on]
        freed = [n for n in cut_on if self._lies_between(n, cut)]
        self._strips.update(cut_on if cut.part in self._strips else freed)
        said = (cloth, called, ruler, onward, alike)
        if waste and len(cloth) == 1 and self._is_tip(waste[0], cut):
            return DescribedCut(*said, "tip")
        if whole:
            return DescribedCut(*said, "gives", pieces, templates=templates)
        parts = tuple(tuple(self._labels[n]) for n in freed)
        if freed and len(parts[0]) < len(cloth):
            return DescribedCut(*said, "frees", parts=parts)
        if len(cut_on) > 1:
            one, *others = (tuple(self._labels[n]) for n in cut_on)
            rest = labels_text([label for other in others for label in other])
            return DescribedCut(*said, "parts", parts=(one,), rest=rest)
        return DescribedCut(*said, "takes off", parts=parts, rest=self._waste(cut, waste))

    def _called(self, number: int) -> str:
        labels = self._labels[number]
        if len(labels) == 1:
            return labels[0]
        return f"{'strip' if number in self._strips else 'the cloth for'} {labels_text(labels)}"

    def _waste(self, cut: Cut, waste: list[int]) -> str:
        if not waste:
            return "what lies beyond"
        middle = self._parts[waste[0]].centroid
        name = side(from_line(cut.line, (middle.x, middle.y)))
        left, bottom, right, top = self._parts[cut.part].bounds
        along = ("right of", "left of") if right - left > top - bottom else ("above", "below")
        end = cut.part in self._strips and name in along
        return f"the {ADJECTIVES[name]} {'end' if end else 'edge'}"

    def _ruler(self, index: int) -> tuple[str, str, str]:
        """Return how the ruler lies; for one of a row of cuts; for one of pieces cut alike."""
        cut = self._plan.cuts[index]
        if cut.corners:
            lean = leaning(cut.line)
            return (f"from corner to corner{lean and f', leaning {lean}'}",) * 3
        if cut.ruler_from is None:
            return self._first_line(cut), "", ""
        base, name, own = self._base(cut)
        if angle := _angle_to_base(cut):
            square = abs(angle - 90) < _SAME
            position = "square to" if square else f"the ruler's {angle:g}° line on"
            lean = "" if square or not leaning(cut.line) else f"leaning {leaning(cut.line)}"
            more = "".join(f", {x}" for x in (lean, self._from_point(cut)) if x)
            return f"{position} {name}{more}", "", f"{position} {own}{more}"
        far = f"{self._show(cut.distance or 0.0)} {side(between(base, cut.line))}"
        more = _SQUARE if leaning(cut.line) else ""
        onward = f"{far} the cut before{more}" if cut.ruler_from == index - 1 else ""
        return f"{far} {name}{more}", onward, f"{far} {own}{more}"

    def _base(self, cut: Cut) -> tuple[Line, str, str]:
        """Return the line that a ruler lies against, its name, and its name for cuts alike."""
        if cut.ruler_from is None or cut.ruler_from == "edge":
            edge = edge_along(
                self._plan.outline, cut.line, cut.distance or 0.0, cut.angle_deg or 0.0
            )
            return edge, self._edge_name(edge), self._edge_name(edge)
        base = self._plan.cuts[cut.ruler_from].line
        name = f"cut {cut.ruler_from + 1}"
        middle = self._parts[cut.part].representative_point()
        x, y = from_line(base, (middle.x, middle.y))
        return base, name, f"its {ADJECTIVES[side((-x, -y))]} side"

    def _from_point(self, cut: Cut) -> str:
        """Say where along its line an angled cut lies: through a corner, or so far from it."""
        if cut.point is None:
            return ""
        middle = self._parts[cut.part].centroid
        outwards = cut.point[0] - middle.x, cut.point[1] - middle.y
        corner = f"the {corner_of(outwards)} corner"
        if not cut.point_distance:
            return f"through {corner}"
        x, y = from_line(cut.line, cut.point)
        far = f"{self._show(cut.point_distance)} {side_on_cloth((-x, -y), outwards)} {corner}"
        return far + (_SQUARE if leaning(cut.line) else "")

    def _first_line(self, cut: Cut) -> str:
        way = ""
        if self._grain and (is_level(cut.line) or is_upright(cut.line)):
            along = is_level(cut.line) == (self._grain == "level")
            way = "along the lengthwise grain" if along else "straight across the lengthwise grain"
        where = line_from_corners(self._plan.outline, cut.line, self._show, self._plan.step)
        self.lettered = self.lettered or bool(where)
        said = ", ".join(filter(None, (way, where))) or "as drawn"
        return f"lay the ruler {said}"

    def _edge_name(self, edge: Line) -> str:
        """Return ``the lower edge``: by the side of the cloth on which it lies."""
        middle = self._plan.outline.representative_point()
        x, y = from_line(edge, (middle.x, middle.y))
        if leaning(edge):
            corners = lettered_corners(self._plan.outline)
            ends = [
                c.letter
                for at in edge
                for c in corners
                if abs(c.x - at[0]) + abs(c.y - at[1]) < 0.2
            ]
            if len(ends) == 2:
                self.lettered = True
                return f"the edge from {ends[0]} to {ends[1]}"
        name = side((-x, -y))
        end = 0 in self._strips and name in ("right of", "left of")
        return f"the {ADJECTIVES[name]} {'end' if end else 'edge'}"

    def _lies_between(self, number: int, cut: Cut) -> bool:
        """Return whether a part lies between the cut and the parallel line it is measured from."""
        if cut.ruler_from is None or cut.angle_deg or not cut.distance:
            return False
        base, _, _ = self._base(cut)
        middle = self._parts[number].representative_point()
        to_part, to_base = from_line(cut.line, (middle.x, middle.y)), between(cut.line, base)
        return to_part[0] * to_base[0] + to_part[1] * to_base[1] > 0

    def _is_tip(self, number: int, cut: Cut) -> bool:
        """Return whether a part that falls off is a small corner: its sides run together."""
        tip, part = (self._parts[n].simplify(_SAME) for n in (number, cut.part))
        ring = shapely.get_coordinates(tip)[:-1].tolist()
        if shapely.get_num_coordinates(part) < _TRIANGLE + 2 or tip.area > _TIP * part.area:
            return False
        on = [math.hypot(*from_line(cut.line, corner)) < _NEAR_LINE for corner in ring]
        if sum(on) != 2:
            return False
        ends = [i for i, at in enumerate(on) if at]
        angles = [_angle_deg(ring[i - 1], ring[i], ring[(i + 1) % len(ring)]) for i in ends]
        return sum(angles) < _CONVERGING_DEG

    def _show(self, inches: float) -> str:
        step = self._plan.step
        if abs(inches / step - round(inches / step)) > _SAME / step:
            msg = f"a cut {inches} in from the one before is on no mark of the ruler"
            raise PlanError(f"{msg}; please report this")
        return format_length(inches, self._units, step)
