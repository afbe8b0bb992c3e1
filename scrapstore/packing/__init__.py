"""One usable region: which pieces can be cut from it, and where.

>>> from shapely.geometry import box
>>> square = PieceKind("square", box(0, 0, 2.5, 2.5), 99, (0.0,), mirror=False)
>>> layout = fill(box(0, 0, 22, 18), [square])
>>> len(layout.placements)
56
"""

from scrapstore.packing.cutting import PlannedCuts, cut_faults, plan_cuts
from scrapstore.packing.fill import fill
from scrapstore.packing.pieces import Layout, PieceKind, Placement
from scrapstore.packing.regions import union_of, usable_region
from scrapstore.packing.ruler_cuts import RulerMeasure, ruler_measure
from scrapstore.packing.verify import VERIFY_TOLERANCE, verify

__all__ = [
    "VERIFY_TOLERANCE",
    "Layout",
    "PieceKind",
    "Placement",
    "PlannedCuts",
    "RulerMeasure",
    "cut_faults",
    "fill",
    "plan_cuts",
    "ruler_measure",
    "union_of",
    "usable_region",
    "verify",
]
