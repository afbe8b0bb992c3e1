"""How surely labels are read in photos of a table: rendered photos, labels as they are printed.

Run by hand, for example::

    python -m tests.benchmarks.labels 50
    python -m tests.benchmarks.labels 100 --height 30

Each photo shows six labels, any way round, among scraps and squares, on one of the rendered tables
under one or two lamps: from 60 cm (23.6 in) above, tilted by up to 25°, with the blur, sharpening
and noise of a phone, kept as JPEG. A label that is not read, or read as another number, is printed
with its photo; so is a code that nobody laid there.
"""

import argparse
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from scrapstore.photo import open_photo
from scrapstore.photo.codes import read_codes
from scrapstore.photo.label_texts import label_number
from tests.render.arrange import Options
from tests.support.labels import labels_photo

_EACH = 6


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("labels", type=int, help="how many")
    parser.add_argument("--height", type=float, default=23.6, help="camera above the table, inches")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--folder", type=Path, help="where the photos are kept")
    asked = parser.parse_args()
    folder = asked.folder or Path(tempfile.mkdtemp())
    folder.mkdir(parents=True, exist_ok=True)
    laid = right = wrong = photos = 0
    seconds, scales = 0.0, []
    while laid < asked.labels:
        seed = asked.seed + photos
        numbers = tuple(range(laid + 1, min(laid + _EACH, asked.labels) + 1))
        options = Options(scraps=4, camera_height=asked.height)
        photo, numbers, each = labels_photo(seed, numbers, options)
        file = folder / f"labels-{seed}.jpg"
        photo.save_jpeg(file)
        start = time.process_time()
        codes = read_codes(open_photo(file).pixels)
        seconds += time.process_time() - start
        read = [label_number(code.text) for code in codes]
        missed = sorted(set(numbers) - set(read))
        strange = [number for number in read if number not in numbers]
        if missed or strange:
            print(f"{file}: not read {missed}, read and not there {strange}")
        laid += len(numbers)
        right += len(numbers) - len(missed)
        wrong += len(strange)
        photos += 1
        scales += each
    print(f"labels {laid}, read {right}, wrong {wrong}; photos {photos}")
    print(f"pixels an inch at a label: {min(scales):.0f} to {max(scales):.0f}")
    print(f"processor seconds a photo: {seconds / photos:.1f}")


if __name__ == "__main__":
    main()
