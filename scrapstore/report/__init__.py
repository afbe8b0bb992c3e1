"""Pictures and sheets made from the results of the other rooms."""

from scrapstore.report.contact import (
    ContactSection,
    ContactSheet,
    Tile,
    contact_drawing,
    tile_lines,
)
from scrapstore.report.contact_page import checked_sheet_path, render_contact, write_contact
from scrapstore.report.cut_words import CutStep, CutWords, cut_words, labels_text
from scrapstore.report.drawing import draw_scrap, draw_strip
from scrapstore.report.forms import (
    ClothPicture,
    CuttingReport,
    PieceLine,
    RoleShort,
    ScrapSheet,
    SheetPiece,
    StripPicture,
    StripSource,
)
from scrapstore.report.page import CAUTIONS, render_page, write_sheets
from scrapstore.report.steps import cutting_steps

__all__ = [
    "CAUTIONS",
    "ClothPicture",
    "ContactSection",
    "ContactSheet",
    "CutStep",
    "CutWords",
    "CuttingReport",
    "PieceLine",
    "RoleShort",
    "ScrapSheet",
    "SheetPiece",
    "StripPicture",
    "StripSource",
    "Tile",
    "checked_sheet_path",
    "contact_drawing",
    "cut_words",
    "cutting_steps",
    "draw_scrap",
    "draw_strip",
    "labels_text",
    "render_contact",
    "render_page",
    "tile_lines",
    "write_contact",
    "write_sheets",
]
