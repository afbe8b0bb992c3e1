"""The pages that people read beyond the README; shipped with the program."""

from pathlib import Path

__all__ = ["page", "topics"]

_FOLDER = Path(__file__).parent


def topics() -> tuple[tuple[str, str], ...]:
    """Return (topic, title) of every page, by name; the title is the page's first heading."""
    return tuple(
        (path.stem, path.read_text(encoding="utf-8").partition("\n")[0].removeprefix("# ").strip())
        for path in sorted(_FOLDER.glob("*.md"))
    )


def page(topic: str) -> str | None:
    """Return the Markdown of one page, or None when there is no such topic."""
    if topic not in dict(topics()):
        return None
    return (_FOLDER / f"{topic}.md").read_text(encoding="utf-8")
