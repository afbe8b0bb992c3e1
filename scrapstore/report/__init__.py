"""Pictures and sheets made from the results of the other rooms."""

from scrapstore.report.contact import (
    ContactSection,
    ContactSheet,
    Tile,
    contact_drawing,
    tile_lines,
)
from scrapstore.report.contact_page import checked_sheet_path, render_contact, write_contact
from scrapstore.report.cut_words import CutStep, CutWords, cut_words
from scrapstore.report.drawing import draw_cutting
from scrapstore.report.folder import check_folder
from scrapstore.report.forms import (
    ClothDrawing,
    ClothPicture,
    CuttingReport,
    PieceLine,
    RoleShort,
    ScrapSheet,
    StripPicture,
    StripSource,
)
from scrapstore.report.page import CAUTIONS, render_page, write_sheets
from scrapstore.report.ruler_words import GrainWay, labels_text

__all__ = [
    "CAUTIONS",
    "ClothDrawing",
    "ClothPicture",
    "ContactSection",
    "ContactSheet",
    "CutStep",
    "CutWords",
    "CuttingReport",
    "GrainWay",
    "PieceLine",
    "RoleShort",
    "ScrapSheet",
    "StripPicture",
    "StripSource",
    "Tile",
    "check_folder",
    "checked_sheet_path",
    "contact_drawing",
    "cut_words",
    "draw_cutting",
    "labels_text",
    "render_contact",
    "render_page",
    "tile_lines",
    "write_contact",
    "write_sheets",
]
