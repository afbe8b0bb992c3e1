"""``batting``: pieces of batting, which a top is quilted on."""

from scrapstore.cli.notions import notion_commands

__all__ = ["app"]

app = notion_commands(
    "batting",
    "pieces of batting",
    size="Width and length, such as '22 x 22'.",
    example="batting add --size '22 x 22'",
    about="Pieces of batting: add, list, show, edit, retire, reinstate.",
)
