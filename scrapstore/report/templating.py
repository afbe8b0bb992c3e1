"""HTML from the templates of this room: everything escaped, and fit to be shown."""

from functools import cache
from typing import TYPE_CHECKING, Any

from scrapstore.printable import printable

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

__all__ = ["drawn", "templates"]


@cache
def templates() -> "Environment":
    """Return the environment that all pages are rendered in."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("scrapstore.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_fit,
    )


def drawn(svg: str) -> "Markup":
    """Return a drawing as markup: made of numbers and of words that are escaped already."""
    from markupsafe import Markup

    return Markup(svg)  # noqa: S704


def _fit(shown: Any) -> Any:
    from markupsafe import Markup

    return printable(shown) if isinstance(shown, str) and not isinstance(shown, Markup) else shown
