"""What ``log --json`` prints."""

from pathlib import Path

from pydantic import BaseModel

from scrapstore.actions.log import LogResult
from scrapstore.json_output.stock import scrap_out
from scrapstore.json_output.stock_schema import ScrapOut

__all__ = ["LogOut", "LoggedOut", "RefusedOut", "SkippedOut", "log_out"]


class LoggedOut(BaseModel):
    """A photo that went in, and its scraps."""

    file: Path
    scraps: list[ScrapOut]
    preview: Path | None
    notes: list[str]


class SkippedOut(BaseModel):
    """A photo that the store has already, and the numbers of its scraps."""

    file: Path
    scraps: list[int]


class RefusedOut(BaseModel):
    """A photo that did not go in, and why."""

    file: Path
    reason: str


class LogOut(BaseModel):
    """What became of the photos; `left` are those that an interrupt kept out."""

    logged: list[LoggedOut]
    skipped: list[SkippedOut]
    refused: list[RefusedOut]
    left: list[Path]


def log_out(result: LogResult) -> LogOut:
    """Return the external form of what became of the photos."""
    return LogOut(
        logged=[
            LoggedOut(
                file=one.path,
                scraps=[scrap_out(scrap) for scrap in one.scraps],
                preview=one.preview,
                notes=list(one.notes),
            )
            for one in result.logged
        ],
        skipped=[SkippedOut(file=one.path, scraps=list(one.scraps)) for one in result.skipped],
        refused=[RefusedOut(file=one.path, reason=one.reason) for one in result.refused],
        left=list(result.left),
    )
