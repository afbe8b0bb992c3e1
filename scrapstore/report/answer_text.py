"""What the first lines of an answer say: what can be made now, and what is to be bought for it."""

from scrapstore.planning.result import MatchResult
from scrapstore.report.yardage_text import buy_text
from scrapstore.sentences import several
from scrapstore.units import Units

__all__ = ["can_make", "limit_words", "statement"]


def can_make(result: MatchResult, units: Units) -> str:
    """Return the first line: what comes from what you have, and what is to be bought."""
    got = result.together
    lengths = [hand for shortage in result.shortages for hand in shortage.on_hand]
    from_lengths = sum(sum(hand.plan.pieces.values()) for hand in lengths)
    missing = got.wanted - got.covered - from_lengths
    fabrics = several(list(dict.fromkeys(hand.yardage.fabric.name for hand in lengths)))
    if not missing:
        now = "You can make this now"
        if result.unmet:
            now += ", though a condition is not kept (see below)"
        every = "the one piece comes" if got.wanted == 1 else f"all {got.wanted} pieces come"
        if not lengths:
            return f"{now}: {every} from what you have."
        if not got.covered:
            return f"{now}: {every} from yardage you have ({fabrics})."
        return (
            f"{now}: {got.covered} of {_pieces(got.wanted)} from scraps and "
            f"ready-cut pieces, {from_lengths} from yardage you have ({fabrics})."
        )
    verb = "is" if 1 in (got.covered, got.wanted) else "are"
    own = f"{got.covered} of {_pieces(got.wanted)} {verb} covered"
    own += " by scraps and ready-cut pieces"
    if lengths:
        own += f", {from_lengths} by yardage you have ({fabrics})"
    buys = several(
        [
            f"{buy_text(shortage, units)} for {shortage.role}"
            for shortage in result.shortages
            if shortage.buy
        ]
    )
    return f"{own}; {missing} to cut from new fabric: buy {buys}."


def statement(result: MatchResult) -> str:
    """Say in one sentence what is covered, what is proven, and what was merely not found."""
    got = result.together
    if got.covered == got.wanted:
        every = "The one piece is" if got.wanted == 1 else f"All {got.wanted} pieces are"
        return f"{every} covered."
    pieces = "1 piece is" if got.wanted == 1 else f"{got.wanted} pieces are"
    return f"{got.covered} of {pieces} covered. {limit_words(result)}"


def limit_words(result: MatchResult) -> str:
    """Say how much more scraps and ready-cut pieces could give; nothing where nothing is short."""
    got = result.together
    if got.covered == got.wanted:
        return ""
    if got.covered < result.best_covered:
        return f"The first answer covers {result.best_covered}."
    if got.at_most == got.covered:
        return "However they are cut, your scraps and ready-cut pieces cannot cover more (proven)."
    stopped = " before you stopped the search" if result.stopped else ""
    return (
        f"Your scraps and ready-cut pieces cover {got.at_most} at the very most (proven); a plan "
        f"with more than {got.covered} was not found{stopped}."
    )


def _pieces(count: int) -> str:
    return "1 piece" if count == 1 else f"{count} pieces"
