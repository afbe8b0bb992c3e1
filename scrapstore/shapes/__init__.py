"""Piece shapes: finished outline, cut outline, grain, measures for the ruler.

A *finished* outline is what shows when the piece is sewn; the *cut* outline adds the seam allowance
all round. Everything here is pure geometry: inches, y up, degrees counter-clockwise.

>>> diamond = make_shape("diamond-60", side=3)
>>> diamond.label
'60° diamond, side 3 in'
>>> [(m.name, m.on_ruler) for m in cut_measures(diamond, 0.25)]
[('height', 3.125), ('side', 3.625)]
"""

from scrapstore.shapes.catalog import (
    KINDS,
    ShapeKind,
    first_edge_side,
    label_in,
    make_polygon,
    make_shape,
    shape_kind,
)
from scrapstore.shapes.cuts import (
    Cut,
    CutPiece,
    CuttingPlan,
    Frame,
    Line,
    RulerFrom,
    labelled,
    piece_letters,
)
from scrapstore.shapes.cutting import Tips, cut_outline, cut_shape
from scrapstore.shapes.grain import (
    Grain,
    GrainDirection,
    GrainEdge,
    GrainFree,
    rotations_deg,
)
from scrapstore.shapes.measures import CutMeasure, bounding_sides, cut_measures, sides_as_drawn
from scrapstore.shapes.outline import Shape, checked_outline, corners_of
from scrapstore.shapes.parts import cut_parts
from scrapstore.shapes.precuts import Precut, precuts
from scrapstore.shapes.symmetry import is_mirror_symmetric, rotation_order, same_outline

__all__ = [
    "KINDS",
    "Cut",
    "CutMeasure",
    "CutPiece",
    "CuttingPlan",
    "Frame",
    "Grain",
    "GrainDirection",
    "GrainEdge",
    "GrainFree",
    "Line",
    "Precut",
    "RulerFrom",
    "Shape",
    "ShapeKind",
    "Tips",
    "bounding_sides",
    "checked_outline",
    "corners_of",
    "cut_measures",
    "cut_outline",
    "cut_parts",
    "cut_shape",
    "first_edge_side",
    "is_mirror_symmetric",
    "label_in",
    "labelled",
    "make_polygon",
    "make_shape",
    "piece_letters",
    "precuts",
    "rotation_order",
    "rotations_deg",
    "same_outline",
    "shape_kind",
    "sides_as_drawn",
]
