"""Cuts in words: how the ruler lies for each, what it frees, and what is left to a template.

Every figure is one of the plan's own, so all of them lie on marks of its ruler. Distances are
always measured square to the cut, which is said where it is slanted. Cuts that repeat one another
share a sentence.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from scrapstore.report.corners import Corner, lettered_corners
from scrapstore.report.ruler_words import (
    CutDescriber,
    DescribedCut,
    GrainWay,
    RulerPlace,
    labels_text,
)
from scrapstore.shapes import CuttingPlan
from scrapstore.units import Units

__all__ = ["CutStep", "CutWords", "cut_words"]


@dataclass(frozen=True)
class CutStep:
    """A sentence for the cuts `first` to `last`, which are numbered from 1.

    `shown` are the numbers of those whose ruler lies anew: the first of a row, all of one piece.
    """

    first: int
    last: int
    text: str
    shown: tuple[int, ...]

    @property
    def number(self) -> str:
        """``3``, or ``3 to 6``."""
        return str(self.first) if self.first == self.last else f"{self.first} to {self.last}"


@dataclass(frozen=True)
class CutWords:
    """All there is to say about how a piece of cloth is cut.

    `corners` are those that the sentences name by letter. `by_template` says which pieces no
    straight cut reaches, or is empty. `places` are those of the ruler, cut by cut.
    """

    steps: tuple[CutStep, ...]
    by_template: str
    corners: tuple[Corner, ...]
    places: tuple[RulerPlace, ...]


def cut_words(plan: CuttingPlan, units: Units, *, grain: GrainWay = None) -> CutWords:
    """Return the sentences for a plan; `grain` says which way the lengthwise grain runs in it.

    Raises PlanError for a distance that is on no mark of the plan's ruler.
    """
    describer = CutDescriber(plan, units, grain)
    cuts = [describer.describe(index) for index in range(len(plan.cuts))]
    steps: list[CutStep] = []
    start = 0
    while start < len(cuts):
        blocks = _blocks(cuts, start)
        count = sum(len(block) for block in blocks)
        if len(blocks) > 1 or (count > 1 and _trims(blocks[0])):
            text, alone = _cut_out(blocks), len(blocks[0])
        else:
            count, alone = _row(cuts, start), 1
            text = _sentence(cuts[start : start + count])
        shown = tuple(range(start + 1, start + 1 + alone))
        steps.append(CutStep(start + 1, start + count, text, shown))
        start += count
    lettered = lettered_corners(plan.outline) if describer.lettered else ()
    places = tuple(cut.place for cut in cuts)
    return CutWords(tuple(steps), _by_template(plan), lettered, places)


def _by_template(plan: CuttingPlan) -> str:
    left = [piece.label for piece in plan.pieces if piece.template]
    if not left:
        return ""
    each, them = ("it", "it") if len(left) == 1 else ("each", "them")
    cut = f"Cut {each} from the cloth left for {them}, round a paper template of the cut size."
    if not plan.cuts:
        # Nothing on the sheet would say why there are no steps.
        cut = f"No straight cut frees {'it' if len(left) == 1 else 'any of them'} where "
        cut += f"{'it lies' if len(left) == 1 else 'they lie'}: cut {each} as drawn, round a paper "
        cut += "template of the cut size."
    return f"By template: {labels_text(left)}. {cut}"


def _row(cuts: Sequence[DescribedCut], start: int) -> int:
    """Return how many cuts from `start` on make a row, each as far from the one before."""
    first, end = cuts[start], start + 1
    while end < len(cuts) and cuts[end].onward and cuts[end].onward == first.onward:
        # The last of a row of pieces only loses what is left beside it.
        last = first.kind == "frees" and cuts[end].kind == "takes off" and cuts[end].parts
        if cuts[end].kind != first.kind and not last:
            break
        end += 1
    return end - start


def _blocks(cuts: Sequence[DescribedCut], start: int) -> list[Sequence[DescribedCut]]:
    """Return the cuts from `start` on that go through cloth for one piece, piece by piece.

    Only pieces that are cut alike; none where such cuts belong to a row through several.
    """
    blocks: list[Sequence[DescribedCut]] = []
    while start < len(cuts) and len(cuts[start].cloth) == 1 and _row(cuts, start) == 1:
        end = start + 1
        while end < len(cuts) and cuts[end].cloth == cuts[start].cloth:
            end += 1
        block = cuts[start:end]
        if blocks and not _alike(blocks[0], block):
            break
        blocks.append(block)
        start = end
    return blocks


def _alike(one: Sequence[DescribedCut], other: Sequence[DescribedCut]) -> bool:
    """Return whether two pieces are cut in the same way, each from its own sides."""
    kinds = [[(cut.kind, bool(cut.templates)) for cut in cuts] for cuts in (one, other)]
    return kinds[0] == kinds[1] and all(cut.alike for cut in one) and _ways(one) == _ways(other)


def _ways(block: Sequence[DescribedCut]) -> list[str]:
    """Return how the ruler lies for each cut, said of one of several pieces."""
    return [block[0].alike, *(cut.onward or cut.alike for cut in block[1:])]


def _trims(block: Sequence[DescribedCut]) -> bool:
    """Return whether cuts only trim tips, the last of which makes the piece whole."""
    return all(cut.kind == "tip" for cut in block)


def _cut_out(blocks: Sequence[Sequence[DescribedCut]]) -> str:
    """Return the sentence for pieces that are each cut out of cloth of their own."""
    labels = labels_text([block[0].cloth[0] for block in blocks])
    several = len(blocks) > 1
    ways = _ways(blocks[0]) if several else [cut.ruler for cut in blocks[0]]
    how = "; then ".join(ways)
    if blocks[0][-1].templates:
        return f"The cloth for {labels}{', each' if several else ''}: {how}."
    does = "Trim" if _trims(blocks[0]) else "Cut out"
    return f"{does} {labels}{', each' if several else ''}: {how}."


def _sentence(cuts: Sequence[DescribedCut]) -> str:
    """Return the sentence for one cut, or for a row of them."""
    first, several = cuts[0], len(cuts) > 1
    how = f"each {first.onward}" if several else first.ruler
    # A sentence that ends with the name of the one piece need not begin with it.
    named = len(first.cloth) == 1 and first.kind in ("gives", "tip")
    said = f"{first.called}, {how}" if first.called and not named else how
    does = _does(cuts)
    waiting = [label for one in cuts for label in one.templates]
    if waiting:
        does += f"{', ' if does else ''}leaves the cloth for {labels_text(waiting)}"
    return f"{said[0].upper()}{said[1:]}: {does}."


def _does(cuts: Sequence[DescribedCut]) -> str:
    """Say what becomes of the cloth."""
    first = cuts[0]
    freed = [labels for one in cuts for labels in one.parts]
    match first.kind:
        case "gives":
            pieces = _joined(one.pieces for one in cuts)
            return f"gives {labels_text(pieces)}" if pieces else ""
        case "frees":
            strips = [labels_text(labels) for labels in freed if len(labels) > 1]
            ones = _joined(labels for labels in freed if len(labels) == 1)
            said = (
                [f"the strip{'s' if len(strips) > 1 else ''} {'; '.join(strips)}"] if strips else []
            )
            said += [f"the cloth for {labels_text(ones)}"] if ones else []
            return f"frees {' and '.join(said)}"
        case "tip":
            return f"trims a tip of {first.cloth[0]}"
        case "parts":
            return f"parts {labels_text(freed[0])} from {first.rest}"
        case "takes off":
            return f"takes off {first.rest}"


def _joined(labels: Iterable[tuple[str, ...]]) -> list[str]:
    return [label for some in labels for label in some]
