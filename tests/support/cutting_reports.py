"""Reports for sheets, made by hand from the plans of `cutting_plans`."""

from dataclasses import replace

from shapely import box

from scrapstore.report.forms import (
    ClothDrawing,
    CuttingReport,
    PieceLine,
    RoleShort,
    ScrapSheet,
    StripPicture,
    StripSource,
)
from scrapstore.shapes import CutPiece, make_shape
from tests.support.cutting_plans import SQUARES

__all__ = ["CLOTH", "line", "report", "sheet"]

CLOTH = ClothDrawing(
    region=box(0.125, 0.125, 8.875, 5.875), flaws=(box(7, 4, 8, 5),), grain_heads=2
)


def sheet(**changes: object) -> ScrapSheet:
    whole = ScrapSheet(
        scrap_id=12,
        title="deck stripe <offcut>",
        place="basket by the window",
        size="9 × 6 in",
        reads_as="medium blue",
        cutting=SQUARES,
        cloth=CLOTH,
        grain_known=True,
    )
    return replace(whole, **changes)  # type: ignore[arg-type]


def line(letter: str, name: str, wanted: tuple[int, int, int, int]) -> PieceLine:
    shape = make_shape("square", side=2)
    return PieceLine(letter, name, "top", shape.label, shape.outline, ("side 2 1/2 in",), *wanted)


def report(*sheets: ScrapSheet) -> CuttingReport:
    lines = (
        line("A", "square", (9, 1, 2, 6)),
        line("B", "half", (2, 0, 2, 0)),
        line("C", "leaf", (1, 0, 1, 0)),
    )
    cloth = box(0, 0, 40, 2.5)
    pieces = (CutPiece("A3", "square", box(0, 0, 2.5, 2.5), 0),)
    plan = replace(SQUARES, outline=cloth, cuts=(), pieces=pieces)
    strip = StripPicture("1 strip", "2 1/2 in wide", plan)
    short = (RoleShort("top", "1/8 yd", "6 pieces.", (StripSource("Buy it.", (strip,)),)),)
    return CuttingReport(
        "Bench & cushion", "16 × 16 in", "6 of 12 pieces.", "At most 8.", lines, sheets,
        ("1 square from the tin",), short, ("A note.",), "in",
    )  # fmt: skip
