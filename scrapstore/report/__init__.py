"""Pictures and sheets made from the results of the other rooms."""

from scrapstore.report.drawing import draw_scrap, draw_strip
from scrapstore.report.forms import (
    CuttingReport,
    PieceLine,
    RoleShort,
    ScrapSheet,
    SheetPiece,
    StripPicture,
)
from scrapstore.report.page import CAUTIONS, render_page, write_sheets
from scrapstore.report.steps import cutting_steps

__all__ = [
    "CAUTIONS",
    "CuttingReport",
    "PieceLine",
    "RoleShort",
    "ScrapSheet",
    "SheetPiece",
    "StripPicture",
    "cutting_steps",
    "draw_scrap",
    "draw_strip",
    "render_page",
    "write_sheets",
]
