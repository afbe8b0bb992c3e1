"""What is tuned in reading the scale: every threshold, with its unit and its meaning.

Where nothing else is said, a value was set by hand on rendered photographs with known cameras
(`tests.render`; benchmarks `tests.benchmarks.photo_measure` and, on three open photographs,
`tests.benchmarks.photo_open`), and how far it may be moved is not known.

in: inches on the table. px: pixels of the photo. Sides: of the black square. Light: 0 to 1.
"""

from typing import Final

# --- finding the squares ------------------------------------------------------------------------
WORKING_SIDE: Final = 2000  # px of the copy's long side in which codes are looked for
STRONG: Final = (31, 25)  # window (px) and step (grey values) of the adaptive threshold
FAINT: Final = (23, 12)  # the same for faint and blurred squares
ENOUGH_SQUARES: Final = 4  # with fewer, the faint threshold is tried as well
LEAST_PERIMETER: Final = 0.03  # of the copy's long side: a smaller quadrangle is no square
DARK_WHITE: Final = 200  # grey value of the picture's white (99 %) below which it is brightened,
BRIGHT_WHITE: Final = 230  # to this value,
MOST_BRIGHTENED: Final = 6.0  # by no more than this factor

# --- exact corners ------------------------------------------------------------------------------
SIDE_REACHES: Final = (0.09, 0.06)  # sides to either side in which the edge is sought, in turn
LEAST_REACH: Final = 3.0  # px of it
SIDE_SPAN: Final = (0.1, 0.9)  # part of a side along which its edge is read; corners are rounded
SIDE_PROFILES: Final = (12, 40)  # least and most profiles of a side, one every three px
LEAST_SIDE: Final = 8  # px: a shorter side has no edge worth reading
LEAST_RISE: Final = 0.004  # light from one sample to the next: less is no edge
RISE_SHARE: Final = 0.15  # of the steepest rise: less is noise
FAR_CORNER: Final = (2.0, 0.1)  # px, and part of the diagonal, by which a corner may move
LEAST_CROSSING: Final = 0.05  # sine: two sides that meet at less have no corner

# --- a square cut off at the picture's edge -----------------------------------------------------
MIRROR_PART: Final = 8  # an eighth of the short side is mirrored at each edge
ON_EDGE: Final = 2.5  # px of the copy: a quadrangle so near the edge is half a square
CODED_SIDES: Final = (16, 6)  # px: longest and shortest side of it at least
CODED_AREA: Final = 100  # px²
CODED_PERCENTILES: Final = (15, 85)  # percent: black and white
CODED_STEP: Final = 80  # grey values from one to the other
CODED_MIDDLE: Final = 0.25  # of that step: what lies between black and white,
CODED_BETWEEN: Final = 0.25  # most share of it
CODED_BLACK: Final = 0.4  # least share of black

# --- the lens before the squares are looked at --------------------------------------------------
# Focal lengths in long sides of the picture, with relative standard errors.
FOCAL_UNKNOWN: Final = (0.8, 0.3)  # main cameras of phones 23 to 28 mm equivalent, compacts to 50
FOCAL_CROPPED: Final = (0.9, 0.4)  # of a part of the frame the long side is shorter
FOCAL_EXIF_SIGMA: Final = 0.04  # whole millimetres, and a view trimmed by the camera's corrections
FOCAL_EXIF_MM: Final = (8, 300)  # equivalents that are believed
K1_SIGMA: Final = 0.05  # of the radial distortion, about 0
K1_SIGMA_LOOSE: Final = 2  # times smaller for loose squares: most cameras straighten pictures

# --- the camera's pose --------------------------------------------------------------------------
CORNER_SIGMA: Final = 0.25  # px: expected error of a corner
PRINT_SIGMA: Final = 0.003  # sides: expected error of a printed corner (cut, crease, printer)
ROBUST_SCALE: Final = 3.0  # standard errors beyond which a corner counts for less
SIGMA_RATIO: Final = (0.4, 4)  # least and most factor from the first fit's scatter
LEAST_FREEDOM: Final = 4  # errors of size one added: few equations say little of the scatter
BENT_RATIO: Final = 4  # times the median error from which on a square does not lie flat,
BENT_LEAST: Final = (1.0, 0.012)  # and at least so many px, and sides
CARD_STRAY: Final = 0.05  # sides: loose squares this close to the card's layout are the card,
CARD_STRAY_MORE: Final = 0.05  # and this part more for each square
CARD_TURN_DEG: Final = 4  # degrees by which they may be turned

# --- when the scale does not serve --------------------------------------------------------------
SMALLEST_PICTURE: Final = 600  # px on the shorter side
MOST_RESIDUAL: Final = (1.5, 0.012)  # px, and sides: larger of both
MOST_TILT: Final = 50.0  # degrees
COARSEST: Final = 20.0  # px an inch: below, a sixteenth of an inch is not to be seen
MOST_BLUR: Final = 0.05  # in, standard deviation: beyond it edges are guesswork
MOST_OUTSIDE: Final = 0.5  # share of a card's squares outside the picture

# --- why no square was read (set on the kinds of photo of `tests.benchmarks.photo_reasons`) -----
TOO_DARK: Final = 45  # grey value of the picture's white (99 %) below which it is too dark
BLUR_SIDE: Final = 600  # px of the copy in which sharpness is looked at
BLUR_WINDOW: Final = 4  # px around in which an edge rises
STRONG_EDGE: Final = (6.0, 0.35)  # grey values, and part of the picture's strongest (99 %)
ON_SLOPE: Final = 0.6  # of the steepest slope around: a pixel on the edge, not beside it
EDGE_WAYS: Final = (22.5, 17.0)  # degrees from one direction to the next, and about each
EDGE_PIXELS: Final = 150  # least px on such edges of one direction
STEEPEST: Final = 98  # percent: their sharpness
SOFT: Final = 0.23  # of an edge's rise from one px to the next: where none has more, it is blur,
FAINT_EDGES: Final = 0.1  # unless edges rise by less than this part of white
SOFT_ONE_WAY: Final = 0.31  # the same for the edges of one direction: a camera that moved,
PLAIN_EDGES: Final = 0.25  # where edges rise by more than this: soft things have softer edges
CODE_PIXELS: Final = 96  # px a side of the picture of what may be a square, seen straight,
CODE_AT: Final = 16  # px round it that should be paper
CODE_STEPS: Final = (1, 2, 3)  # copies, times smaller, in which it is looked for
CODE_LEAST: Final = 10.0  # px: shortest side
CODE_OBLONG: Final = 1.8  # longest side over the shortest at most
CODE_CONTRAST: Final = 0.3  # of the paper's grey value, least step to the frame
CODE_WHITE: Final = 0.35  # of that step that the lightest cells rise above the frame
CODE_BLACK: Final = (0.2, 0.95)  # least and most share of black cells
MOST_BRIGHTENED_CODES: Final = 20.0  # factor
CODE_REACH: Final = 0.12  # sides to either side in which its edge is looked at
CODE_SPREAD: Final = 0.035  # sides, standard deviation: beyond it cells run into one another,
CODE_SOFT: Final = 0.027  # the same of squares that are read and give no camera that can be,
CODE_SHARP: Final = 1.4  # px of it: less is no blur, and the square is small

# --- the table from above -----------------------------------------------------------------------
MOST_PIXELS: Final = 1_100_000  # of the rectified image; what is found is refined in the photo
FINEST: Final = 60.0  # px an inch of the rectified image
FARTHEST: Final = 45.0  # in from the middle of the squares that are looked at
NODE: Final = 16  # px between the nodes at which the lens is computed exactly
OVERSAMPLED: Final = 1.2  # px of the photo to one of the image: coarser photos are not averaged

# --- paper and grey patches ---------------------------------------------------------------------
STRIP: Final = 0.45  # in: width of the strip round the paper where the background begins
CUT_SLACK: Final = 0.06  # in: paper cut by hand reaches a little beyond its line
LOOSE_SHEET: Final = 1.7  # sides: paper of a square cut out with a margin of somebody's choice
QUIET_BAND: Final = (0.25, 0.75)  # of the quiet zone: where its white is read
PATCH_INNER: Final = (0.2, 0.8, 9)  # part of a patch that is read, and in how many steps
NEAR_PATCH: Final = 3.0  # in added to the distance of a patch before it is weighed
FLAT_LIGHT: Final = 4.0  # weight of a level light: five squares in a row say nothing across
LIGHT_SLACK: Final = 0.1  # natural logarithm beyond what the patches show
TONE_PART: Final = 0.75  # of the tone curve's exponent: printers miss the grey as well
TONE_LIMITS: Final = (0.7, 1.4)  # of that exponent
TONE_DARK: Final = 0.003  # light of the grey patch below which it says nothing,
TONE_BRIGHT: Final = 0.9  # or above this part of the white's,
TONE_BURNT: Final = 252  # or with the white above this sRGB value
