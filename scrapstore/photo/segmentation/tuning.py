"""What is tuned in segmentation: every threshold and size, with its unit and its meaning.

Where nothing else is said, a value was set by hand on rendered photographs with known truth
(`tests.render`; the benchmark `tests.benchmarks.photo_measure` counts the errors), and how far it
may be moved is not known. Those of the background model were set on such photographs with pictures
of real cloth, on plain and patterned tables (`tests.benchmarks.photo_cloth`). Figures that were
measured on single scenes stand beside their value.

in, in²: inches and square inches on the table. Colour: a distance of `log_opponent` features,
natural logarithms of light, most of them weighed by `CHANNEL_WEIGHTS`. Share: 0 to 1. Numbers of
pixels hold at the working resolution of the rectified image, 20 to 60 pixels an inch; where FINE is
named, at that one.
"""

from typing import Final

import numpy as np

# --- features -----------------------------------------------------------------------------------
DARKEST_LIGHT: Final = 0.012  # light, 0 to 1: added before the logarithm, against noise in black
SMOOTHING: Final = 0.14  # in: median over the features; wider than twice a mat's printed line
SMOOTHING_PIXELS: Final = (4, 8)  # least and most of it

# --- the table as far as it is known ------------------------------------------------------------
FINE: Final = 25.0  # pixels an inch, about, at which the table is compared with itself
PAPER_SHADOW: Final = 0.12  # in beside the paper where its shadow may lie
BESIDE: Final = 0.5  # in beside the paper that are table, if nothing lies there
RIM: Final = 0.3  # in along the picture's rim that are table or floor, if nothing lies there
VOUCHING: Final = 1500  # number of such places that are compared with each other
FAR_APART: Final = 0.45  # share of the picture's short side: places nearer may be of one scrap and
# are not compared
STRANGE: Final = 3.0  # times what three quarters of these differ by: more is no table
LEAST_NOVEL: Final = 0.04  # colour: what light alone may differ by
ALL_ROUND: Final = 0.85  # share of the strip round one square that is enough to say it lies on it

# --- light on the table -------------------------------------------------------------------------
LIGHT_PLACES: Final = 4000  # number of places from which the light is read
LIGHT_ROUNDS: Final = 4  # number of times the table's colours are told apart anew
LIGHT_LEVELS: Final = 3  # number of colours of the table
EVENNESS: Final = 1e-3  # weight of even light against each place
LOCAL_STEP: Final = 4  # pixels (at FINE) for one in which local light is followed
LOCAL_REACH: Final = 0.7  # in: standard deviation of the table's local mean
LOCAL_PRIOR: Final = 0.15  # share: weight of the whole table's mean against the local one

# --- patches, and what is unlike all of the table's ---------------------------------------------
PATCH_STEP: Final = 0.15  # in between patches
PATCH_REACHES: Final = (0.1, 0.22)  # in, standard deviations of a patch's circles
PATCHES: Final = 2000  # number of the table's patches that all others are compared with
COLOUR_BIN: Final = 0.05  # colour: width of the bins in which colours are counted
SCORE_REACH: Final = 0.03  # in, standard deviation over which neighbours decide together
LEAST_SHARE: Final = 1e-5  # share of a colour never seen
SEAM: Final = 3.4  # times a patch's reach: so far to either side of a seam places are novel

# --- from the background model to pixels --------------------------------------------------------
BACKGROUND_OPENING: Final = 0.03  # in: radius that separates parts of background joined by a thread
BACKGROUND_CORE: Final = 0.3  # in: side of the square of known background that a part must hold
NEAR_BROAD: Final = 0.06  # in beside what lies there, where no texture of the background is read
THREAD: Final = 0.13  # in: half the width of what is opened away as line, number or thread
REGROWN: Final = 0.7  # of that radius: how much of a corner rounded by opening comes back

# --- steps of colour: what they enclose, and cloth's edge ---------------------------------------
STEP_MEDIAN: Final = 7  # pixels (at FINE) of the median that takes printed lines out beforehand
STEP_BLUR: Final = 1.5  # pixels (at FINE), standard deviation at which a step's height is read
SLOPE_BLUR: Final = 4.0  # the same, at which slopes seem higher
STEP_SHARP: Final = 0.48  # share of its height at SLOPE_BLUR: less is a slope
SOFT_STEP: Final = 0.08  # colour: half of cloth's edge is a higher step. Measured: cloth 0.28 and
# more, a lamp's reflection 0.01 to 0.04
EDGE_REACH: Final = 0.1  # in from where cloth seems to end, within which its step is
STEP_HEIGHTS: Final = (0.05, 0.08, 0.12, 0.18, 0.27)  # colour: looked at one after the other
STEP_OWN_PERCENT: Final = 50  # percent of all places that are no higher than the table's own grain
STEP_OVER_OWN: Final = 2.5  # times that: lower steps are the table's own
STEP_GAP: Final = 0.05  # in: a gap in a step twice as wide is closed
STEP_AREA: Final = 0.6  # in² within the step: one square inch with its rim
STEP_MOST: Final = 0.4  # share of the picture: no scrap has more
STEP_WIDTH: Final = 0.5  # in: narrower parts are seams and grain
ALIKE_LISTED: Final = 0.1  # share of a candidate that such parts take, from which on it is listed;
# and of such a part that candidates take, from which on it is not listed by itself

# --- candidates and their holes -----------------------------------------------------------------
LEAST_AREA: Final = 0.5  # in²: smaller is no scrap
LEAST_WIDTH: Final = 0.4  # in: narrower is a line, a thread or a label
EDGE_PIXELS: Final = 2  # pixels from the edge of what is seen within which a candidate is cut off
LINES_AT_RIM: Final = 0.25  # in along the rim that printed lines may take
LEAST_HOLE: Final = 0.15  # in²
HOLE_MARGIN: Final = 0.05  # in, three times over: holes lie so far within
LEAST_SOLIDITY: Final = 0.8  # share of its convex hull that a hole fills
PLAIN_SOLIDITY: Final = 0.9  # the same for one of several
PLAIN_HOLE: Final = 0.4  # in²: a motif in the background's colour is seldom so large and plain
FAR_LARGER: Final = 3  # times the third largest: of many pieces, so large a one may be a hole
MOST_EQUAL_HOLES: Final = 6  # more holes of one size are printed dots
EQUAL_AREA: Final = 0.2  # of the median area: holes this close are of one size
HOLE_COLOUR: Final = 0.09  # colour: distance of a hole's median from the background
SHADED: Final = (
    0.09  # colour: what is nearer to the shaded background is listed only; small ones twice this
)
SMALL_AREA: Final = 1.5  # in²: what counts as small there
MAYBE_BACKGROUND: Final = 0.16  # colour: farther is surely not background
NOTCH_SHARE: Final = 0.004  # share of a scrap like the background: its print has that colour
MOST_SPLITS: Final = 3  # times one candidate is split again
AROUND: Final = 0.4  # in round a candidate in which its edge is sought
AROUND_SPLIT: Final = 1.0  # in round one scrap of a heap: background enough, not all the others
CORE_MARGIN: Final = 0.1  # in from the edge: surely inside
TOUCHING_PAPER: Final = 1.5  # in along the paper: more is a scrap over the scale

# --- a printed square that was not read ---------------------------------------------------------
CODE_MARGIN: Final = 0.12  # of its paper's side by which a code lies within it
CODE_STOUT: Final = 0.45  # short by long side; folded on its diagonal, paper has 0.5
CODE_AREA: Final = (0.3, 1.4)  # of the area of a square's paper
CODE_PERCENTILES: Final = (12, 88)  # percent: black and white
CODE_RATIO: Final = 4  # white by black, in light
CODE_BETWEEN: Final = 0.3  # most share of pixels between black and white
CODE_MIDDLE: Final = 0.25  # of the step from black to white: what is between
CODE_TINT: Final = 0.08  # standard deviation of the white's tint: paper is of one white

# --- colour models ------------------------------------------------------------------------------
CHANNEL_WEIGHTS: Final = np.array([0.6, 1.6, 1.2], dtype=np.float32)  # brightness, two tints
MOST_DISTANCE: Final = 0.35  # colour: a single stray pixel does not outvote its neighbours
MOST_NOISE: Final = 0.25  # colour: what weave, grain and noise account for
DEEPEST_SHADOW: Final = 0.9  # brightness (logarithm × √3)
SHADOW_COST: Final = 0.2  # colour: cost of so deep a shadow; full light is likelier
RARE_SHARE: Final = 0.2  # share below which a colour is rare
RARE_COST: Final = 0.12  # colour: cost of explaining a pixel by a rare one, such as a line
CLEAR_COLOUR: Final = 0.07  # colour: farther from the background speaks for a scrap
MOTIF_SHARE: Final = 0.12  # share below which a colour is that of a motif, hardly of a whole edge
CLEAR_MOTIF: Final = 0.26  # colour: as CLEAR_COLOUR, for a motif's, which often is background
PENALTY_STEP: Final = 8  # pixels for one in which penalties are computed: backgrounds are smooth
PALETTE_SAMPLES: Final = 2000  # pixels clustered
PALETTE_LEAST: Final = 0.03  # share: rarer colours are left out
PALETTE_FEWEST: Final = 10  # samples below which each is a colour of its own
SCRAP_COLOURS: Final = 8  # colours of a candidate at most
BACKGROUND_COLOURS: Final = 4  # colours of the background's texture at most
SCRAP_SAMPLES: Final = 1000  # places on a candidate whose colour is read
GRAIN: Final = 0.5  # colour: below it, texture is grain and not rare, else printed lines
BORROWED: Final = 0.1  # colour: nearer to the background is not the scrap's; motifs twice this
OWN_SHARE: Final = 0.4  # share from which on a colour is the scrap's own in any case
DEEP: Final = 0.2  # in from the core's rim: no background was taken in there
DEEP_SAMPLES: Final = 400
DEEP_SHARE: Final = 0.5  # of a colour's share: if it is so common deep inside, it is the scrap's
TEXTURE_AROUND: Final = 0.75  # in round a candidate from which the background's texture is read
TEXTURE_CLEAR: Final = 0.22  # in from the candidate: nearer may be its own fringe
TEXTURE_PIXELS: Final = 200  # pixels: with fewer, the near ones count too

# --- refining a region --------------------------------------------------------------------------
NEIGHBOURS: Final = 0.12  # colour: weight of neighbours that are all of one side
NEIGHBOUR_REACH: Final = 1.5  # pixels, standard deviation
NEIGHBOUR_ROUNDS: Final = 8  # after these hardly a pixel changes sides
SCORE_BLUR: Final = 0.6  # pixels, standard deviation
KNOWN_BONUS: Final = 0.1  # colour: for what is surely inside, against what is surely outside
OUTSIDE: Final = 0.15  # in from the candidate: surely outside
LOOSE_THREAD: Final = 0.05  # in: half the width of threads and bits of lines that go
LEAST_KEPT: Final = 0.5  # share of the core, and of a part, that must remain
PART_SIDE: Final = 0.15  # in: side of the square that a part cut off by a print must hold
APART: Final = 0.12  # in: where the second look takes in more, the first one holds. Measured: of
# outlines good to 0.06 in, 95 of 100 take in less
PRINTED_GAP: Final = 0.08  # in: half the width of a gap in the background's colour that is closed

# --- splitting scraps that touch ----------------------------------------------------------------
NECK: Final = 0.12  # in: half the width of the widest place at which a candidate is split
SEED_AREA: Final = 0.6  # in², rim taken off: smaller stays with what it lies beside
PART_AREA: Final = 0.5  # in² of what lies by itself
NO_MOTIF: Final = 4.0  # in²: no motif is so large
GAP_SHARE: Final = 0.6  # share of the line where two pieces meet that shows the background
GAP_REACH: Final = 0.15  # in: pieces no farther apart than twice this are looked at together
LINE_REACH: Final = 0.5  # in from that line in which the pieces' widths are compared
LINE_ACROSS: Final = 0.75  # of a piece's width: so long a line goes right across it
CORNER_CONTACT: Final = 0.6  # in: pieces that meet along less meet at a corner
OTHER_CLOTH: Final = 0.3  # colour: distance of the median colours of two cloths

# --- without a scale: one scrap of typed size ---------------------------------------------------
CLOTH_SIDE: Final = 240  # pixels of the long side looked at: weave and print blur, the scrap stays
CLOTH_SAMPLED_SIDE: Final = 1200  # pixels of the long side from which colours are handed out
CLOTH_LEAST_SIDE: Final = 16  # pixels of the short side looked at; of less, the middle is taken
CLOTH_SHARE: Final = (0.015, 0.9)  # least and most share of the picture that is the scrap
RIM_SHARE: Final = 0.04  # of the short side: taken for table
RIM_LEAST_DIFFERENCE: Final = 7.0  # CIELAB: paler differences are light and shadow
RIM_LIMIT: Final = 3.5  # standard deviations of the rim's colour: farther is not the table
RIM_NOISE: Final = 0.5  # CIELAB, added to that standard deviation
