"""The JSON form of the scale that was written."""

from pathlib import Path

from pydantic import BaseModel

__all__ = ["ScaleOut"]


class ScaleOut(BaseModel):
    """What ``scale --json`` prints."""

    file: Path
