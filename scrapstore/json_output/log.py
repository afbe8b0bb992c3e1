"""What ``log --json`` prints."""

from pathlib import Path

from pydantic import Field

from scrapstore.actions.log import LogResult
from scrapstore.json_output.base import FromForm
from scrapstore.json_output.stock_schema import ScrapOut

__all__ = ["LogOut", "LoggedOut", "RefusedOut", "SkippedOut", "log_out"]


class LoggedOut(FromForm):
    """A photo that went in, and its scraps; `numbers` are theirs in the preview and the notes."""

    file: Path = Field(validation_alias="path")
    scraps: list[ScrapOut]
    preview: Path | None
    numbers: list[int]
    notes: list[str]


class SkippedOut(FromForm):
    """A photo that the store has already, and the numbers of its scraps."""

    file: Path = Field(validation_alias="path")
    scraps: list[int]


class RefusedOut(FromForm):
    """A photo that did not go in, and why."""

    file: Path = Field(validation_alias="path")
    reason: str


class LogOut(FromForm):
    """What became of the photos; `left` are those that an interrupt kept out."""

    logged: list[LoggedOut]
    skipped: list[SkippedOut]
    refused: list[RefusedOut]
    left: list[Path]


def log_out(result: LogResult) -> LogOut:
    """Return the JSON form of what became of the photos."""
    return LogOut.model_validate(result)
