"""Strips and lengths of fabric from the bolt: what to cut and how much to buy.

Strips are cut across the width of the fabric (WOF), selvage to selvage; pieces are sub-cut along
them. Everything here is arithmetic on cut outlines: inches in, inches out.

>>> squares_from(22, 18, 2.5)
56
"""

from scrapstore.yardage.filling import Run, Strip
from scrapstore.yardage.grid import grid_count, squares_from
from scrapstore.yardage.nesting import Row, StripPiece, lay_row
from scrapstore.yardage.plan import (
    RolePlan,
    StripPlan,
    length_to_buy,
    plan_role,
    plan_strips,
    plan_yardage,
)
from scrapstore.yardage.quarters import FAT_QUARTER, QuarterPlan, plan_quarters

__all__ = [
    "FAT_QUARTER",
    "QuarterPlan",
    "RolePlan",
    "Row",
    "Run",
    "Strip",
    "StripPiece",
    "StripPlan",
    "grid_count",
    "lay_row",
    "length_to_buy",
    "plan_quarters",
    "plan_role",
    "plan_strips",
    "plan_yardage",
    "squares_from",
]
