"""The filters of lists: options written once, which `command` gives to each list as one object."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, TypeVar

from scrapstore.cli.base import Call, bundle
from scrapstore.cli.options import text_option
from scrapstore.units import parse_size

if TYPE_CHECKING:
    from scrapstore.store import StockFilter

__all__ = ["FabricFilters", "ScrapFilters", "StockFilters"]

_Word = TypeVar("_Word")
_Texts = list[str] | None


@bundle
class FabricFilters:
    """What a list of fabrics can be filtered by; an option given twice lets either through."""

    family: Annotated[
        _Texts,
        text_option(
            "--family",
            "Only this colour family, also as an accent or a scrap's tint; --colour is the same.",
        ),
    ] = None
    value: Annotated[_Texts, text_option("--value", "Only light, medium or dark.")] = None

    def read(self, call: Call) -> "StockFilter":
        """Return the filter that was typed; UsageError suggests words near an unknown one."""
        from scrapstore.stock_entry.words import known_family, known_value
        from scrapstore.store import StockFilter

        call.filtered = any(vars(self).values())
        families = _each(known_family, self.family)
        for word, family in zip(self.family or (), families, strict=True):
            if family != word.strip().lower():
                call.say(f"{word} counts as {family}.")
        return StockFilter(families=families, values=_each(known_value, self.value))


@bundle
class StockFilters(FabricFilters):
    """What a list of yardage, ready-cut pieces or binding strips can be filtered by."""

    fabric: Annotated[_Texts, text_option("--fabric", "Only of this fabric.")] = None
    place: Annotated[_Texts, text_option("--place", "Only what is kept there.")] = None
    at_least: Annotated[
        str | None,
        text_option(
            "--at-least",
            "Only what is this large both ways, such as '5 x 8', by the smallest rectangle round "
            "it.",
            metavar="SIZE",
        ),
    ] = None
    status: Annotated[
        _Texts,
        text_option("--status", "available (as when not given), set aside, used up, or all."),
    ] = None

    def read(self, call: Call) -> "StockFilter":
        """Return the filter that was typed; UsageError, and LengthError for a size."""
        from scrapstore.stock_entry.words import known_status
        from scrapstore.store import STATUSES

        words = self.status or ["available"]
        return replace(
            super().read(call),
            fabrics=_each(str.strip, self.fabric),
            places=_each(str.strip, self.place),
            statuses=STATUSES if "all" in words else _each(known_status, words),
            at_least=None
            if self.at_least is None
            else parse_size(self.at_least, field="--at-least", default_unit=call.units),
        )


@bundle
class ScrapFilters(StockFilters):
    """What a list of scraps can be filtered by."""

    from_project: Annotated[
        _Texts, text_option("--from-project", "Only what was left over from this project or plan.")
    ] = None

    def read(self, call: Call) -> "StockFilter":
        """Return the filter that was typed; UsageError, and LengthError for a size."""
        return replace(super().read(call), from_projects=_each(str.strip, self.from_project))


def _each(read: Callable[[str], _Word], texts: Iterable[str] | None) -> tuple[_Word, ...]:
    return tuple(map(read, texts or ()))
