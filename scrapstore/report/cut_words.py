"""Cuts in words: how the ruler lies for each, what it frees, and what is left to a template.

Every figure is one of the plan's own, so all of them lie on marks of its ruler. Distances are
always measured square to the cut. Cuts that repeat one another share a sentence.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import shapely
from shapely import Polygon

from scrapstore.errors import PlanError
from scrapstore.report.corners import Corner, edge_along, lettered_corners, line_from_corners
from scrapstore.shapes import Cut, CuttingPlan, Line, cut_parts
from scrapstore.units import Units, format_length

__all__ = ["CutStep", "CutWords", "GrainWay", "cut_words", "labels_text"]

_SAME: Final = 1e-6
_LEVEL: Final = 1e-3  # sine of an angle that nobody sees
_TIP: Final = 0.25  # of the part: a corner larger than that is no tip
_SQUARE: Final = ", measured square to it"

GrainWay = Literal["level", "upright"] | None
_Kind = Literal["gives", "frees", "parts", "takes off", "tip"]


@dataclass(frozen=True)
class CutStep:
    """A sentence for the cuts `first` to `last`, which are numbered from 1."""

    first: int
    last: int
    text: str

    @property
    def number(self) -> str:
        """``3``, or ``3 to 6``."""
        return str(self.first) if self.first == self.last else f"{self.first} to {self.last}"


@dataclass(frozen=True)
class CutWords:
    """All there is to say about how a piece of cloth is cut.

    `corners` are those that the sentences name by letter. `by_template` says which pieces no
    straight cut reaches, or is empty.
    """

    steps: tuple[CutStep, ...]
    by_template: str
    corners: tuple[Corner, ...]


def cut_words(plan: CuttingPlan, units: Units, *, grain: GrainWay = None) -> CutWords:
    """Return the sentences for a plan; `grain` says which way the lengthwise grain runs in it.

    Raises PlanError for a distance that is on no mark of the plan's ruler.
    """
    teller = _Teller(plan, units, grain)
    told = [teller.told(index) for index in range(len(plan.cuts))]
    steps: list[CutStep] = []
    start = 0
    for end in range(1, len(told) + 1):
        if end == len(told) or not _goes_on(told[start:end], told[end]):
            steps.append(CutStep(start + 1, end, _sentence(told[start:end])))
            start = end
    lettered = lettered_corners(plan.outline) if teller.lettered else ()
    return CutWords(tuple(steps), _by_template(plan), lettered)


def labels_text(labels: Sequence[str]) -> str:
    """Return labels with runs of numbers shortened.

    >>> labels_text(["A1", "A2", "A3", "B2"]), labels_text(["A1", "A2"])
    ('A1 to A3, B2', 'A1, A2')
    """
    runs: list[list[str]] = []
    for label in labels:
        if runs and _parts_of(label) == (
            _parts_of(runs[-1][-1])[0],
            _parts_of(runs[-1][-1])[1] + 1,
        ):
            runs[-1].append(label)
        else:
            runs.append([label])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)


def _parts_of(label: str) -> tuple[str, int]:
    """Return the letters of a label and its number at the end."""
    letters = label.rstrip("0123456789")
    return letters, int(label[len(letters) :] or 0)


def _by_template(plan: CuttingPlan) -> str:
    left = [piece.label for piece in plan.pieces if piece.template]
    if not left:
        return ""
    each, them = ("it", "it") if len(left) == 1 else ("each", "them")
    return (
        f"By template: {labels_text(left)}. Cut {each} from the cloth left for {them}, round a "
        "paper template of the cut size."
    )


@dataclass(frozen=True)
class _Told:
    """One cut, ready to be told.

    `part`: what to call the cloth it goes through, empty where there is no other. `ruler`: how the
    ruler lies; `onward`: the same for one of a row of cuts, each measured from the one before, or
    for several alike; empty where it is neither. `labels`: of each part that is freed, or that a
    tip is taken from; `rest`: the other side, where the cut parts two; `templates`: of pieces that
    now wait for their template.
    """

    part: str
    ruler: str
    onward: str
    kind: _Kind
    labels: tuple[tuple[str, ...], ...]
    rest: str = ""
    templates: tuple[str, ...] = ()


def _goes_on(so_far: Sequence[_Told], one: _Told) -> bool:
    """Tell whether a cut repeats those of a sentence, so that it can be told with them."""
    last = so_far[-1]
    return bool(one.onward) and one.onward == last.onward and one.kind == last.kind


def _sentence(told: Sequence[_Told]) -> str:
    first, several = told[0], len(told) > 1
    how = f"each {first.onward}" if several else first.ruler
    said = f"{first.part}, {how}" if first.part else how
    freed = [labels for one in told for labels in one.labels]
    match first.kind:
        case "gives":
            pieces = labels_text([label for labels in freed for label in labels])
            does = f"gives {pieces}" if pieces else ""
        case "frees":
            strips = "; ".join(labels_text(labels) for labels in freed)
            does = f"frees the strip{'s' if len(freed) > 1 else ''} {strips}"
        case "tip":
            pieces = labels_text(list(dict.fromkeys(x for labels in freed for x in labels)))
            does = f"trims a tip of {'each of ' if several else ''}{pieces}"
        case "parts":
            does = f"parts {labels_text(freed[0])} from {first.rest}"
        case "takes off":
            does = f"takes off {first.rest}"
    waiting = [label for one in told for label in one.templates]
    if waiting:
        does += f"{', ' if does else ''}leaves the cloth for {labels_text(waiting)}"
    return f"{said[0].upper()}{said[1:]}: {does}."


class _Teller:
    """Knows the parts of a plan, and tells one cut after another."""

    def __init__(self, plan: CuttingPlan, units: Units, grain: GrainWay) -> None:
        self._plan = plan
        self._units = units
        self._grain = grain
        self._parts = cut_parts(plan)
        self._strips: set[int] = set()
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

    def told(self, index: int) -> _Told:
        """Return how cut `index` is told; cuts are told in their order."""
        cut = self._plan.cuts[index]
        part = self._called(cut.part) if len(self._open) > 1 else ""
        ruler, onward = self._ruler(index)
        self._open.remove(cut.part)
        self._open.update(number for number in cut.gives if number in self._cut_on)

        whole = [n for n in cut.gives if n not in self._cut_on and self._labels[n]]
        pieces = tuple(x for n in whole for x in self._labels[n] if x not in self._templates)
        templates = tuple(x for n in whole for x in self._labels[n] if x in self._templates)
        waste = [n for n in cut.gives if not self._labels[n]]
        cut_on = [n for n in cut.gives if n in self._cut_on]
        freed = [n for n in cut_on if self._lies_between(n, cut)]
        self._strips.update(cut_on if cut.part in self._strips else freed)
        if waste and self._is_tip(waste[0], cut):
            tipped = tuple(self._labels[cut.part])
            return _Told(part, ruler, onward, "tip", (tipped,))
        if pieces or templates:
            several = onward or ("from corner to corner" if cut.corners else "")
            return _Told(part, ruler, several, "gives", (pieces,), templates=templates)
        if freed:
            kept = tuple(tuple(self._labels[n]) for n in freed)
            return _Told(part, ruler, onward, "frees", kept)
        if len(cut_on) > 1:
            one, *others = (tuple(self._labels[n]) for n in cut_on)
            rest = labels_text([label for other in others for label in other])
            return _Told(part, ruler, "", "parts", (one,), rest)
        return _Told(part, ruler, "", "takes off", (), self._waste(cut, waste))

    def _called(self, number: int) -> str:
        labels = labels_text(self._labels[number])
        return f"strip {labels}" if number in self._strips else f"the cloth for {labels}"

    def _waste(self, cut: Cut, waste: Sequence[int]) -> str:
        if not waste:
            return "what lies beyond"
        middle = self._parts[waste[0]].centroid
        name = _ADJECTIVES[_side(_from_line(cut.line, (middle.x, middle.y)))]
        return f"the {name} {'end' if cut.part in self._strips else 'edge'}"

    def _ruler(self, index: int) -> tuple[str, str]:
        """Return how the ruler lies, and the same for one of a row of cuts, or nothing."""
        cut = self._plan.cuts[index]
        if cut.corners:
            return "from corner to corner", ""
        if cut.ruler_from is None:
            return self._first_line(cut), ""
        if cut.ruler_from == "edge":
            edge = edge_along(
                self._plan.outline, cut.line, cut.distance or 0.0, cut.angle_deg or 0.0
            )
            base, name = edge, self._edge_name(edge)
        else:
            base, name = self._plan.cuts[cut.ruler_from].line, f"cut {cut.ruler_from + 1}"
        angle = abs(cut.angle_deg or 0.0) % 180
        angle = min(angle, 180 - angle)
        if angle > _SAME:
            square = abs(angle - 90) < _SAME
            laid = f"square to {name}" if square else f"the ruler's {angle:g}° line on {name}"
            lean = f"leaning {lean}" if (lean := _leaning(cut.line)) and not square else ""
            return ", ".join(filter(None, (laid, lean, self._from_point(cut)))), ""
        side = _side(_between(base, cut.line))
        far = self._show(cut.distance or 0.0)
        slanted = _SQUARE if _leaning(cut.line) else ""
        onward = f"{far} {side} the cut before{slanted}" if cut.ruler_from == index - 1 else ""
        return f"{far} {side} {name}{slanted}", onward

    def _from_point(self, cut: Cut) -> str:
        """Say where along its line an angled cut lies: through a corner, or so far from it."""
        if cut.point is None:
            return ""
        middle = self._parts[cut.part].centroid
        x, y = cut.point[0] - middle.x, cut.point[1] - middle.y
        corner = f"the {'upper' if y > 0 else 'lower'} {'right' if x > 0 else 'left'} corner"
        if not cut.point_distance:
            return f"through {corner}"
        way = _from_line(cut.line, cut.point)
        far = f"{self._show(cut.point_distance)} {_side((-way[0], -way[1]))} {corner}"
        return far + (_SQUARE if _leaning(cut.line) else "")

    def _first_line(self, cut: Cut) -> str:
        dx, dy = (b - a for a, b in zip(*cut.line, strict=True))
        length = math.hypot(dx, dy)
        level, upright = abs(dy) / length < _LEVEL, abs(dx) / length < _LEVEL
        way = ""
        if self._grain and (level or upright):
            along = level == (self._grain == "level")
            way = "along the lengthwise grain" if along else "straight across the lengthwise grain"
        where = line_from_corners(self._plan.outline, cut.line, self._show, self._plan.step)
        self.lettered = self.lettered or bool(where)
        said = ", ".join(filter(None, (way, where))) or "as drawn"
        return f"lay the ruler {said}"

    def _edge_name(self, edge: Line) -> str:
        """Return ``the lower edge``: by the side of the cloth on which it lies."""
        middle = self._plan.outline.representative_point()
        way = _from_line(edge, (middle.x, middle.y))
        name = f"the {_ADJECTIVES[_side((-way[0], -way[1]))]} edge"
        if not _leaning(edge):
            return name
        ends = []
        corners = lettered_corners(self._plan.outline)
        for x, y in edge:
            ends += [c.letter for c in corners if math.hypot(c.x - x, c.y - y) < 1 / 8]
        if len(ends) == 2:
            self.lettered = True
            return f"the edge from {ends[0]} to {ends[1]}"
        return name

    def _lies_between(self, number: int, cut: Cut) -> bool:
        """Tell whether a part lies between the cut and the parallel line it is measured from."""
        if cut.ruler_from is None or cut.angle_deg or not cut.distance:
            return False
        if cut.ruler_from == "edge":
            base = edge_along(self._plan.outline, cut.line, cut.distance, 0.0)
        else:
            base = self._plan.cuts[cut.ruler_from].line
        middle = self._parts[number].representative_point()
        to_part, to_base = _from_line(cut.line, (middle.x, middle.y)), _between(cut.line, base)
        return to_part[0] * to_base[0] + to_part[1] * to_base[1] > 0

    def _is_tip(self, number: int, cut: Cut) -> bool:
        tip, part = self._parts[number], self._parts[cut.part]
        small = tip.area < _TIP * part.area and len(tip.exterior.coords) == 4
        return small and len(self._labels[cut.part]) == 1 and _corners(part) > 3

    def _show(self, inches: float) -> str:
        step = self._plan.step
        if abs(inches / step - round(inches / step)) > _SAME / step:
            msg = f"a cut {inches} in from the one before is on no mark of the ruler"
            raise PlanError(f"{msg}; please report this")
        # Below a 64th a fraction is no help: such a ruler reads in tenths of a millimetre.
        return format_length(inches, self._units, min(step, 1 / 64))


_Way = tuple[float, float]
_ADJECTIVES: Final = {"above": "upper", "below": "lower", "right of": "right", "left of": "left"}


def _corners(part: Polygon) -> int:
    return int(shapely.get_num_coordinates(part.simplify(_SAME))) - 1


def _side(way: _Way) -> str:
    """Return on which side of a thing one is that lies `way` from it."""
    x, y = way
    if abs(y) >= abs(x):
        return "above" if y > 0 else "below"
    return "right of" if x > 0 else "left of"


def _from_line(line: Line, point: _Way) -> _Way:
    """Return the way from a line to a point, square to the line."""
    (x0, y0), (x1, y1) = line
    dx, dy = x1 - x0, y1 - y0
    off = ((point[0] - x0) * -dy + (point[1] - y0) * dx) / (dx * dx + dy * dy)
    return -dy * off, dx * off


def _between(base: Line, line: Line) -> _Way:
    """Return the way from one line to another that is parallel to it."""
    (x0, y0), (x1, y1) = line
    return _from_line(base, ((x0 + x1) / 2, (y0 + y1) / 2))


def _leaning(line: Line) -> str:
    """Return ``right`` or ``left`` for a line that leans so as it rises, else nothing."""
    (x0, y0), (x1, y1) = line
    dx, dy = x1 - x0, y1 - y0
    size = math.hypot(dx, dy)
    if min(abs(dx), abs(dy)) < _LEVEL * size:
        return ""
    return "right" if dx * dy > 0 else "left"
