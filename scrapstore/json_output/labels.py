"""What ``labels`` and ``find --label`` print with ``--json``."""

from pathlib import Path

from scrapstore.json_output.base import FromForm
from scrapstore.json_output.stock_schema import ScrapOut

__all__ = ["LabelsInPhotoOut", "PrintedOut"]


class PrintedOut(FromForm):
    """The file of labels, and the numbers of the scraps on it in their order there."""

    file: Path
    numbers: list[int]


class LabelsInPhotoOut(FromForm):
    """The scraps whose labels a photo shows.

    `unknown` are numbers that no scrap of this store has, `others` texts of codes that are no
    labels.
    """

    photo: Path
    scraps: list[ScrapOut]
    unknown: list[int]
    others: list[str]
