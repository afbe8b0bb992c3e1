"""``zip``: zips for the backs of covers."""

from scrapstore.cli.notions import notion_commands

__all__ = ["app"]

app = notion_commands(
    "zip",
    "zips",
    size="How long, between its stops.",
    example="zip add --length 16",
    about="Zips: add, list, show, edit, retire, reinstate.",
)
