"""What is tuned in tracing outlines: every threshold, with its unit and its meaning.

Where nothing else is said, a value was set by hand on rendered photographs with known outlines
(`tests.render`; the benchmark `tests.benchmarks.photo_measure` gives the errors and how often the
stated uncertainty holds), and how far it may be moved is not known. Figures that were measured on
single scenes stand beside their value.

in: inches on the table. Samples: places along a profile across the edge, a pixel of the photo
apart. Colour: a distance of `log_opponent` features, natural logarithms of light. Share: 0 to 1.
"""

from typing import Final

import numpy as np

# --- the edge: profiles and the path across them ------------------------------------------------
SPACING: Final = 0.05  # in between profiles
LEAST_PROFILES: Final = 12  # of a ring; fewer show no edge
REACHES: Final = (0.14, 0.09)  # in to either side in which the edge is sought, one after the other
PLAIN_TOLERANCE: Final = 0.04  # in: of the plainer ring along which profiles are laid
SMOOTHED_CORNER: Final = float(np.cos(np.radians(35)))  # cosine: sides that turn more are a corner
END_SHARE: Final = 4  # the outer quarters of the profiles are surely scrap, surely background
BACKGROUND_REACH: Final = 3  # profiles to either side over which the background is averaged
STRETCH: Final = 6  # profiles to either side on which a colour of the scrap must show to count
STRETCH_INNER: Final = (2, 5)  # two fifths of a profile: its inner part, where colours show
STRETCH_SHARE: Final = 0.04  # share of it below which a colour does not show
ABSENT: Final = 0.2  # colour: how much farther a colour counts that does not show there
SHARPEST: Final = 0.6  # colour: a sharper step counts no more, or a print's black lines would
SHARP_GAIN: Final = 2.0  # worth of a step; the sharpest outweighs three samples on the wrong side
STIFFNESS: Final = 0.08  # cost of a jump by one sample from one profile to the next
STIFFNESS_AT_CORNER: Final = 0.005  # the same where the ring turns
JUMP_POWER: Final = 1.5  # larger jumps cost this power of their size
MOST_JUMP: Final = 3  # samples from one profile to the next
OVERLAP: Final = 60  # profiles round again, so that the path closes
ASTRAY: Final = 0.03  # cost of a sample beyond the middle of a tip: it belongs to another edge
ASTRAY_SCALE: Final = 60  # pixels an inch of the distance map that finds those
ASTRAY_SHARE: Final = 0.85  # of a sample's offset: nearer to another side of the ring
ASTRAY_SLACK: Final = 0.02  # in: less than that
THREAD_REACH: Final = 4  # profiles to either side whose median puts a single one back in line
THREAD: Final = 0.03  # in: what stands out farther is a loose thread
HALFWAY_REACH: Final = 2  # samples to either side of the path where half the light is sought
HALFWAY_STEP: Final = 0.02  # light, 0 to 1: a smaller step has no reliable half-way point
HALFWAY_MOST: Final = 1.5  # samples by which the edge moves from the path

# --- what is not background ---------------------------------------------------------------------
BESIDE: Final = (0.05, 0.15, 5)  # in from the rough edge where it is surely background; places
BESIDE_SPACING: Final = 0.2  # in between such rows of places
OFF: Final = 0.1  # colour: what is farther off than nearly all of it is neither that nor its shadow

# --- tips ahead of corners ----------------------------------------------------------------------
TIP_BASE: Final = 0.05  # in before a corner where the cloth that goes on is looked for
TIP_REACH: Final = 0.25  # in past it to which a tip is followed
TIP_HALF: Final = 0.15  # in to either side; what is wider is no tip
TIP_LEAST: Final = 0.03  # in by which a corner moves at least

# --- corners and straight edges -----------------------------------------------------------------
TOLERANCE: Final = 1 / 40  # in: an outline stays this close to its edge points, corners excepted
FINAL_TOLERANCE: Final = 0.6  # of the tolerance: what the finished outline may still lose
SHORTEST_LINE: Final = 0.3  # in: a shorter straight edge is a bit of curve
LINE_POINTS: Final = 6  # points of a straight edge at least
LINE_SHARE: Final = 0.9  # share of its points within the tolerance
LINE_TRIM: Final = (6, 4)  # a sixth of its points, four at most, at each end: corners are rounded
SHORT_RUN: Final = 0.12  # in: of so short a run a few points may stray: threads, frayed corners
SHORT_RUN_SHARE: Final = 0.95  # share of its points within the tolerance
BLUR: Final = 0.045  # in from its tip that a right corner is seen rounded
BLUR_HALF: Final = (
    0.75,
    0.3,
)  # sharper corners lose more: 0.75 / cosine of half the turn, 0.3 least
DROPPED_BLUR: Final = 0.7  # of it, where short runs lie between the two edges
WIDEST_BLUNT: Final = 0.45  # in round a corner that may be rounded by the picture; longer is cut
FARTHEST_TIP: Final = 0.6  # in from the last place seen; no blur takes more of even a sharp tip
BEHIND_TIP: Final = -0.05  # in: how far a tip may lie behind the end of an edge
CUT_OFF: Final = 0.03  # in: what is seen farther out than a tip does not give way to it
UNSEEN_TIP: Final = 0.15  # in: the farthest tip where nobody can say what is scrap
TIP_ENDS: Final = 0.06  # in along both edges that close the region asked about
TIP_PLACES: Final = (0.02, 0.8, 9)  # shares of its area, from the tip on, and how many are asked
TIP_SHARE: Final = 0.55  # share of scrap there from which on the tip is real
NOTCH_TIP_SHARE: Final = 0.45  # the same where the outline turns inwards: less is
MOST_DROPPED: Final = 3  # short runs that may give way to one corner
PARALLEL: Final = 0.1  # sine: lines that meet at a smaller angle do not meet
WIDEST_BUMP: Final = 0.45  # in: a thread or a printed line is narrower where it leaves an edge
WIDEST_NOTCH: Final = 0.8  # in: motifs in the background's colour bite no wider into an edge
MOST_BUMP_RUNS: Final = 5  # runs that a bump or notch is made of
BUMP_SHOULDER: Final = (1.2, 0.2)  # straight edge on both sides: 1.2 × its width + 0.2 in
BUMP_OFFSET: Final = 2  # tolerances by which the two edges may miss one line
SLIVER: Final = 0.055  # in: half the width of what is too narrow to be cloth
SLIVER_LENGTH: Final = 0.15  # in: what opening takes off a blunt corner is shorter
SLIVER_KEEPS: Final = 0.8  # share of the area that must remain
SLIVER_SLACK: Final = 0.01  # in round what remains
SLIVER_SHARE: Final = 0.6  # share of scrap from which on it is a sharp corner
SLIVER_SPACING: Final = 0.03  # in between the places asked about
SLIVER_INWARD: Final = 0.4  # of the way from its rim to its centre

# --- stalks -------------------------------------------------------------------------------------
STALK: Final = (0.06, 0.2, 5)  # in from the outline all along which cloth goes on; places
STALK_SPACING: Final = 0.04  # in between such rows of places
STALK_WIDTH: Final = (0.07, 0.4)  # in: narrower is a thread, wider another scrap

# --- what is no scrap ---------------------------------------------------------------------------
CREASE_WIDTH: Final = 0.45  # in: 2 × area / perimeter, near the width of a long strip. Measured:
# creased sheets and boards that were no scraps 0.17 to 0.41
CREASE_FILLS: Final = 0.94  # share of its hull that a straight strip fills. Measured: creases 0.36
# to 0.93
CREASE_EDGE: Final = 0.6  # contrast of three quarters of a crooked strip's edge. Measured: most
# creases had less; crimson on a pale table 0.68

# --- uncertainty --------------------------------------------------------------------------------
SMALL_PART: Final = 0.05  # of a standard deviation: what the camera's errors do is linear there
PIXELS: Final = 1.5  # pixels of the photo
DIM: Final = 0.6  # contrast below which an edge is not plain to see
STRETCH_PLACES: Final = 5  # places of the edge in a row, 0.25 in, that stray together
SHORT_SIDE: Final = 0.5  # in: few scraps have shorter ones by themselves
ODD_TURN: Final = 0.3  # radians that a corner beside one turns at least
ODD_CORNERS: Final = 8  # a curve has more, and is no worse for it
# Fitted by tests.benchmarks.photo_doubt, which says how. In: of 1 and of the square roots of the
# five signs, in the order of `EdgeSigns`. The first was then raised by 0.014 in, so that 95 of 100
# hold on patterned tables and on photos of tests.benchmarks.photo_measure too, taken together.
SIGN_WEIGHTS: Final = np.array([-0.002, 0.027, 0.070, 0.067, 0.117, 0.011])
