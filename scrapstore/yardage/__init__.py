"""Strips and lengths of fabric from the bolt: what to cut and how much to buy.

Strips are cut across the width of the fabric (WOF), selvage to selvage, or along it where that buys
less; pieces are sub-cut from them, narrower ones from their ends. Inches in, inches out.
"""

from scrapstore.yardage.nesting import Row, StripPiece
from scrapstore.yardage.plan import (
    TRIES,
    BoughtAs,
    RolePlan,
    length_to_buy,
    plan_length,
    plan_role,
    unwashed,
)
from scrapstore.yardage.shares import fabric_shares
from scrapstore.yardage.strips import NarrowStrip, Rest, Run, Strip
from scrapstore.yardage.ways import rows_to_lie

__all__ = [
    "TRIES",
    "BoughtAs",
    "NarrowStrip",
    "Rest",
    "RolePlan",
    "Row",
    "Run",
    "Strip",
    "StripPiece",
    "fabric_shares",
    "length_to_buy",
    "plan_length",
    "plan_role",
    "rows_to_lie",
    "unwashed",
]
