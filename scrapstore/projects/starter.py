"""A project file to start from: it loads as it stands, and its comments say what may be changed."""

from typing import Final

from scrapstore.projects.schema import COLOUR_FAMILIES, FORMAT
from scrapstore.shapes import KINDS

__all__ = ["starter_text", "stock_list_text"]

_TEXT: Final = """\
# A project for scrapstore: what you want to make, piece by piece, and which cloth it may come from.
# Lines that start with # are comments; take the # away to use what stands behind it.
#
# Lengths go in quotes, as you would write them: "3 1/2", "3½", "9 cm", "90 mm", "1/4 yd".
# A length without a unit is in inches (see `units` below). Sizes are FINISHED sizes: what shows
# when it is sewn. The seam allowance is added for you.

format = {format}
name = "Bench cushion, pinwheel"
notes = "Sixteen squares of 3 in, eight of them from two triangles each."

# units = "cm"             # what lengths without a unit are in, in this file
seam_allowance = "1/4"     # left out: the one in your settings
# usable_width = "40"      # of fabric from the bolt, between the selvages
tips = "trimmed"           # sharp corners: "pointed", or "trimmed" so that raw edges line up

[cushion]                  # finished size; may be left out
width = "12"
height = "12"

# Tables [quilting], [back] and [binding] say how the top is finished; the pieces of a back are
# cut with all others. `scrapstore guide projects` has their keys.

# One table for each role that cloth plays, with the conditions it must keep; none: any cloth.
[roles.sails]
families = ["blue", "green"]   # {families}
values = ["medium", "dark"]    # light, medium, dark
# fabrics = ["blue work shirt", "sail canvas"]   # only these fabrics
# fibres = ["cotton", "linen"]   # only cloth of these fibres, as the fabric says
same_fabric_sets = 4           # each fabric gives 4, 8, 12 ... of a piece
min_fabrics = 2                # at least so many different fabrics
# max_per_fabric = 8           # no more than so many pieces from one fabric

[roles.sky]
values = ["light"]

# One [[pieces]] for each kind of piece.
[[pieces]]
name = "sail"
shape = "half-square triangle"
short_side = "3"
count = 8
role = "sails"
# tips = "pointed"             # for this piece alone
# How it lies on the cloth. Left out: "straight", a straight edge along or across the grain.
#   "lengthwise", "crosswise"                     that edge along, or across, the lengthwise grain
#   "free"                                        any direction
#   "one-way"                                     a one-way print runs up the piece as drawn
#   {{ edges = [2], along = "lengthwise" }}         the second edge, counted from 1
#   {{ one_way_deg = 45 }}                          a one-way print runs at 45°
#   {{ free_every_deg = 5 }}                        any direction, tried every 5°
grain = "straight"
# mirror = true                # left and right will both do

[[pieces]]
name = "sky triangle"
shape = "half-square triangle"
short_side = "3"
count = 8
role = "sky"

[[pieces]]
name = "sky square"
shape = "square"
side = "3"
count = 8
role = "sky"

# Any other shape goes by its corners, in order round it:
#   shape = "polygon"
#   corners = [["0", "0"], ["6", "0"], ["6", "2"], ["0", "4 1/2"]]
#
# The shapes and their sizes:
{shapes}
"""

_STOCK_LIST: Final = """\
# Sizes that you always keep in stock, as a project file: a role for each kind of cloth, a table for
# each size, and how many of it you like to have. To use it:
#   scrapstore settings set stock_list FILE
# `gives` and `log` then say which of them your new scraps give, beside the ready-cut pieces that
# you have. Sizes are FINISHED sizes; the names here say the cut size, with a seam of 1/4 in.
# `scrapstore project new FILE`, without --stock-list, shows all that a project file may say.

format = {format}
name = "Sizes in stock"
seam_allowance = "1/4"

[roles.any]                # any cloth
# [roles.light]
# values = ["light"]       # light, medium, dark
# fibres = ["cotton"]

[[pieces]]
name = "square 5"
shape = "square"
side = "4 1/2"
count = 20
role = "any"

[[pieces]]
name = "square 2 1/2"
shape = "square"
side = "2"
count = 40
role = "any"

[[pieces]]
name = "brick 2 1/2 x 4 1/2"
shape = "rectangle"
width = "4"
height = "2"
count = 20
role = "any"
"""


def starter_text() -> str:
    """Return a commented project file, ready to be changed; it loads without a fault."""
    rows = [
        f"#   {kind.title:<26}{', or '.join(' + '.join(names) for names in kind.takes)}"
        for kind in KINDS.values()
        if not kind.by_corners
    ]
    return _TEXT.format(format=FORMAT, families=", ".join(COLOUR_FAMILIES), shapes="\n".join(rows))


def stock_list_text() -> str:
    """Return a commented list of sizes to keep in stock, ready to be changed; it loads as well."""
    return _STOCK_LIST.format(format=FORMAT)
