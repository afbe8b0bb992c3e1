"""What every set of sheets says of itself: how its drawings are read, and what to take care of."""

from collections.abc import Sequence
from fractions import Fraction

from scrapstore.report.scale import scale_text
from scrapstore.units import Units

__all__ = ["CAUTIONS", "TOP_NOTE", "how_to_read"]

TOP_NOTE = (
    "Every piece shows the part of its scrap that it is cut from, and has its label; a letter "
    "without a number is a ready-cut piece. Cloth without a photo, lengths of fabric and what is "
    "still to be bought are in plain colour."
)

CAUTIONS = (
    "A rotary cutter is a razor: close or cover the blade every time you lay it down, cut away "
    "from yourself on a cutting mat, hold the ruler with spread fingers well back from its edge, "
    "and keep cutter, blades, pins and needles away from children and animals.",
    "An iron burns and scorches: use the heat the fibre allows, and unplug it when you leave.",
    "Follow the makers' instructions for your tools, and local rules; if in doubt, ask somebody "
    "trained.",
)


def how_to_read(scale: Fraction, smaller: Sequence[int], units: Units) -> str:
    """Say how the drawings of cuts are read; those of the scraps `smaller` have their own scale."""
    but = ""
    if smaller:
        several = "s" if len(smaller) > 1 else ""
        but = f", but for the large scrap{several} {', '.join(map(str, smaller))}, drawn smaller"
    return (
        "Make the cuts in their order; each goes only through the cloth that its heavy line "
        "crosses. Every distance is measured square to the cut or edge it starts from, as a ruler "
        "lies. A black dot marks the corner that a cut at an angle starts from; where there is "
        "none, make that cut just where it leaves the pieces whole. All drawings are at one scale, "
        f"{scale_text(scale)}{but}; the figures along them are "
        f"{'inches' if units == 'in' else 'centimetres'}. The dotted line is the edge of what may "
        "be cut, and a piece with a broken edge is cut by template."
    )
