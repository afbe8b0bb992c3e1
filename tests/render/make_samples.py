"""Make the sample photos: ``python -m tests.render.make_samples [FOLDER]``.

Most scraps are photographed together with the printed scale, to be measured; one is alone, with its
size typed. ``scraps.toml`` beside them tells what was noted at the table.
"""

import sys
from pathlib import Path
from typing import Final

import numpy as np

from tests.render.samples import SAMPLES, Sample, photograph
from tests.render.table_samples import LAYOUTS, Layout, grain_words, lay_out, photograph_table

FOLDER: Final = Path(__file__).parents[2] / "sample_photos"
ALONE: Final = tuple(sample for sample in SAMPLES if sample.file == "tea-towel-green.jpg")
_SAMPLE: Final = {sample.file: sample for sample in SAMPLES}


def sidecar() -> str:
    """The list of what was noted at the table, one TOML table a photo, one below it a scrap."""
    lines = [
        "# Left-over cloth in the Tern Quay ferry waiting room, photo by photo. Numbers are those",
        "# in the preview, sizes are inches. The grain runs along the longest straight edge",
        "# (suggested), across it, or so many degrees from the level of the picture; where a size",
        "# was typed, along the measure typed first or second.",
    ]
    for number, layout in enumerate(LAYOUTS):
        lines += _measured(layout, number)
    for sample in ALONE:
        kind, size, grain = sample.typed
        lines += ["", f'["{sample.file}"]', f'{kind} = "{size}"', *_notes(sample, grain)]
    return "\n".join(lines) + "\n"


def _measured(layout: Layout, number: int) -> list[str]:
    laid = lay_out(layout, np.random.default_rng([2026, 5, number]))
    lines = ["", f'["{layout.file}"]', "measure = true"]
    for place, file in enumerate(layout.scraps, start=1):
        lines += ["", f'["{layout.file}".scraps.{place}]']
        lines += _notes(_SAMPLE[file], grain_words(layout, laid, file))
    return lines


def _notes(sample: Sample, grain: str) -> list[str]:
    notes = [
        f'name = "{sample.name}"',
        f'grain = "{grain}"',
        f'fabric = "{sample.fabric}"',
        f'place = "{sample.place}"',
    ]
    return [*notes, "one_way = true"] if sample.one_way else notes


def main(folder: Path) -> None:
    """Write every sample photo to `folder`, and the list."""
    folder.mkdir(parents=True, exist_ok=True)
    photos = [
        (layout.file, photograph_table(layout, number), 84) for number, layout in enumerate(LAYOUTS)
    ] + [(sample.file, photograph(sample), 86) for sample in ALONE]
    for number, (name, photo, quality) in enumerate(photos):
        path = folder / name
        photo.save_jpeg(path, quality=quality, taken=f"2026:05:16 10:{5 + 3 * number:02d}:00")
        print(f"{name}: {len(photo.truth.scraps)} scraps, {path.stat().st_size / 1e6:.1f} MB")
    (folder / "scraps.toml").write_text(sidecar(), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER)
