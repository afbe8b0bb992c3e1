"""What ``stocktake --json`` prints."""

from scrapstore.actions.stocktake import Stocktake
from scrapstore.json_output.base import FromForm
from scrapstore.json_output.stock_schema import ScrapOut
from scrapstore.store import Scrap

__all__ = ["CutUpOut", "StocktakeOut", "stocktake_out"]


class CutUpOut(FromForm):
    """A scrap that was cut up and is said to be there, and why it cannot come back."""

    id: int
    reason: str


class StocktakeOut(FromForm):
    """What lies in a place beside what is recorded there.

    The parts are as they were before the change; `changed` is as it was written, empty when nothing
    was changed.
    """

    place: str
    here: list[ScrapOut]
    missing: list[ScrapOut]
    elsewhere: list[ScrapOut]
    used_up: list[ScrapOut]
    cut_up: list[CutUpOut]
    unknown: list[int]
    changed: list[ScrapOut]


def stocktake_out(taken: Stocktake, changed: tuple[Scrap, ...]) -> StocktakeOut:
    """Return the JSON form of a stocktake and what was put right."""
    named = {key: value for key, value in vars(taken).items() if key != "cut_up"}
    cut_up = [CutUpOut(id=number, reason=reason) for number, reason in taken.cut_up]
    return StocktakeOut.model_validate({**named, "cut_up": cut_up, "changed": changed})
