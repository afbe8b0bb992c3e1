"""A piece of the list in words: what it finishes as, and by which sizes it is cut."""

from scrapstore.projects import PieceNeed
from scrapstore.shapes import cut_measures, cut_shape, label_in
from scrapstore.units import Units, format_cut

__all__ = ["cut_sizes", "finishes_as"]


def finishes_as(piece: PieceNeed, seam_allowance: float, units: Units) -> str:
    """Return the label of the finished piece in `units`; or what it becomes, or makes as a unit.

    Where tips are cut off, that is said: the cut sizes are then those of the trimmed piece. A piece
    without sharp corners has none to trim, whatever the project asks.
    """
    if piece.becomes is not None:
        return piece.becomes
    if piece.makes is not None:
        return f"{piece.makes.each} × {piece.makes.piece}, sewn and trimmed"
    pointed = cut_shape(piece.shape, seam_allowance, "pointed")
    trimmed = ", tips trimmed" if pointed.area - piece.cut.area > 1e-9 else ""
    return label_in(piece.shape, units) + trimmed


def cut_sizes(
    piece: PieceNeed, seam_allowance: float, units: Units, ruler_step: float
) -> tuple[str, ...]:
    """Return the cut sizes as a quilter calls them, on the ruler's marks, the one to cut by first.

    A side that trimming the tips has made shorter is called so, or one would cut the piece by it.
    """
    pointed = cut_measures(piece.shape, seam_allowance)
    named = []
    for whole, cut in zip(
        pointed, cut_measures(piece.shape, seam_allowance, tips=piece.tips), strict=True
    ):
        name = cut.name.replace("_", " ")
        shorter = "side" in name and cut.exact < whole.exact - 1e-9
        figure = format_cut(cut.exact, units, ruler_step)
        named.append(f"{'trimmed ' if shorter else ''}{name} {figure}")
    return tuple(named)
