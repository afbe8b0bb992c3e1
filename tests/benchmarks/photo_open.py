"""Open photographs of a flat object of known size: what is measured, against what it is.

Three phone photos (github.com/JTvD/arcu_colorchecker, commit 0a1db96, MIT licence) of a colour
card, nominally 63.5 × 109 mm, between four squares of 17.64 mm on curled paper. They are not part
of this repository; the run looks for them in ``../shared/data/photos`` or the folder given, and
says so when they are not there.
"""

import argparse
import time
from pathlib import Path

from scrapstore.photo import SquareSet, measure
from scrapstore.shapes import bounding_sides

_SQUARES = SquareSet("4x4_50", (0, 1, 2, 3), 17.64 / 25.4)
_TRUE_MM = (109.0, 63.5)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    default = Path(__file__).parents[3] / "shared" / "data" / "photos"
    parser.add_argument("--folder", type=Path, default=default)
    folder = parser.parse_args().folder
    photos = sorted(folder.glob("card-*.jpg"))
    if not photos:
        print(f"no card-*.jpg in {folder}: nothing measured")
    for path in photos:
        begin = time.perf_counter()
        reading = measure(path, squares=_SQUARES)
        seconds = time.perf_counter() - begin
        if not reading:
            print(f"{path.name}: refused, {reading}")
            continue
        for scrap in reading.scraps:
            sides = [side * 25.4 for side in bounding_sides(scrap.outline)]
            off = [side / true - 1 for side, true in zip(sides, _TRUE_MM, strict=True)]
            ratio = (1 + off[0]) / (1 + off[1]) - 1
            print(
                f"{path.name}: {sides[0]:.2f} × {sides[1]:.2f} mm ({off[0]:+.2%}, {off[1]:+.2%}; "
                f"one to the other {ratio:+.2%}), "
                f"± {scrap.uncertainty * 25.4:.1f} mm, "
                f"tilt {reading.tilt_deg:.0f}°, {seconds:.2f} s"
            )


if __name__ == "__main__":
    main()
