"""Kept plans as the command line keeps them."""

from scrapstore.actions.plan import keep_answer
from scrapstore.json_output.match import match_document
from scrapstore.planning.result import MatchResult
from scrapstore.settings import Settings
from scrapstore.store import NewCut, Plan, Store, Writer, book_cuts, finish_plan, plan_named

__all__ = ["cut_and_finish", "keep"]


def keep(
    store: Store, result: MatchResult, name: str | None = None, settings: Settings | None = None
) -> Plan:
    """Keep an answer with the JSON that ``match`` prints of it."""
    return keep_answer(store, result, match_document(result), name, settings)


def cut_and_finish(writer: Writer, name: str) -> Plan:
    """Use up all that a plan holds, as if it had been cut to nothing, and close it."""
    plan = plan_named(writer, name)
    book_cuts(writer, name, [
        *(NewCut(scrap_id=number) for number in plan.scrap_ids),
        *(NewCut(yardage_id=number, inches=inches) for number, inches in plan.yardage.items()),
    ])  # fmt: skip
    return finish_plan(writer, name, {})
