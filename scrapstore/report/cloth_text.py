"""What cloth that is to be bought must be like, in words: the conditions of its role."""

from collections.abc import Iterable

from scrapstore.planning.allocate import Shortage
from scrapstore.sentences import several

__all__ = ["cloth_words"]


def cloth_words(shortage: Shortage) -> str:
    """Say which conditions the cloth to be bought must keep; nothing where there are none."""
    rule = shortage.rule
    must = [
        f"{verb} {_or(words)}"
        for verb, words in (
            ("be called", rule.fabrics),
            ("be", rule.families),
            ("be", rule.values),
            ("be of", rule.fibres),
        )
        if words
    ]
    if shortage.other_than:
        must.append(f"not be {_or(shortage.other_than)}, of which the plan has its share")
    if rule.same_fabric_sets:
        must.append(f"give each piece in sets of {rule.same_fabric_sets} from one fabric")
    said = [f"The cloth must {'; '.join(must)}."] if must else []
    if shortage.one_way:
        said.append("It may be a one-way print: lay all strips the same way round.")
    return " ".join(said)


def _or(words: Iterable[str]) -> str:
    return several(sorted(words), "or")
