"""``form``: pillow forms, which a cover is filled with."""

from scrapstore.cli.notions import notion_commands

__all__ = ["app"]

app = notion_commands(
    "form",
    "pillow forms",
    size="Width and height, such as '18 x 18'.",
    example="form add --size '18 x 18'",
    about="Pillow forms: add, list, show, edit, retire, reinstate.",
)
