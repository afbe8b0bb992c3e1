"""``guide``: the pages that people read beyond the README."""

from typing import Annotated

import typer

from scrapstore.cli.base import Call, command
from scrapstore.cli.tables import table
from scrapstore.errors import UsageError

__all__ = ["app"]


app = typer.Typer()


@command(app, "guide")
def guide(
    call: Call,
    topic: Annotated[
        str | None, typer.Argument(metavar="TOPIC", help="A page; without one, the list of pages.")
    ] = None,
) -> None:
    """Show a page of the guide, or list its pages."""
    from pydantic import BaseModel
    from rich.markdown import Markdown

    from scrapstore.guide import page, topics
    from scrapstore.near_words import did_you_mean

    class PageOut(BaseModel):
        topic: str
        text: str

    class TopicsOut(BaseModel):
        topics: dict[str, str]

    known = dict(topics())
    if topic is None:
        call.show(
            TopicsOut(topics=known), lambda: table(("topic", "what it tells"), list(known.items()))
        )
        return
    text = page(topic)
    if text is None:
        raise UsageError(f"guide: there is no page {topic!r}; {did_you_mean(topic, known)}")
    call.show(PageOut(topic=topic, text=text), lambda: Markdown(text))
