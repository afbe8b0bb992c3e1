"""Kept plans as the command line keeps them."""

from scrapstore.actions.plan import keep_answer
from scrapstore.json_output.match import match_document
from scrapstore.planning.result import MatchResult
from scrapstore.settings import Settings
from scrapstore.store import Plan, Store

__all__ = ["keep"]


def keep(
    store: Store, result: MatchResult, name: str | None = None, settings: Settings | None = None
) -> Plan:
    """Keep an answer with the JSON that ``match`` prints of it."""
    return keep_answer(store, result, match_document(result), name, settings)
