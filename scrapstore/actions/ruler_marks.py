"""Moving what a plan cuts from a scrap onto the marks of the user's ruler."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from shapely import affinity

from scrapstore.matching import Answer, ScrapStock
from scrapstore.packing import on_marks
from scrapstore.settings import Settings
from scrapstore.store import Scrap

__all__ = ["answer_on_marks"]

_MILLIMETRE: Final = 1 / 25.4


def answer_on_marks(
    answer: Answer,
    stock: Mapping[int, ScrapStock],
    scraps: Mapping[int, Scrap],
    settings: Settings,
) -> Answer:
    """Return the answer with its rows of pieces on ruler marks, wherever there is room for that.

    The marks count from the lower left corner of the box round the scrap, as it lies with its grain
    level: there the rulers of its sheet begin.
    """
    step = _MILLIMETRE if settings.units == "cm" else settings.ruler_step
    uses = []
    for use in answer.scrap_uses:
        scrap = scraps[use.scrap_id]
        drawn = affinity.rotate(scrap.outline, -(scrap.grain_deg or 0.0), origin=(0, 0))
        left, bottom, _, _ = drawn.bounds
        region = stock[use.scrap_id].region
        placed = on_marks(region, use.placements, zero=(left, bottom), step=step)
        uses.append(replace(use, placements=placed))
    return replace(answer, scrap_uses=tuple(uses))
