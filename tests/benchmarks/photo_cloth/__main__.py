"""How well scraps of real cloth are measured, by the kind of table they lie on.

Run by hand, with a folder of small pictures of cloth (PNG, about 140 × 100 pixels)::

    python -m tests.benchmarks.photo_cloth --cloth FOLDER --scenes 22
    python -m tests.benchmarks.photo_cloth --cloth FOLDER --half even --tables gingham,printed

Eleven kinds of table take turns. ``--half even`` and ``--half odd`` use every other cloth, to fit
on one half and check on the other. ``--folder`` keeps the photos for the next run. ``--what alike``
dyes the cloth nearly like the table, ``--what prints`` lays black-and-white prints as large as a
printed square's paper in its place, ``--what bare`` lays nothing.

A scrap is "found" when it and what was measured cover each other by more than half, "listed" when a
reason was given for a place on it, "silent" otherwise; "faint" scraps differ from the table by less
than 3 (CIEDE2000) along the edge. Of the found, "edge" is the distance within which 95 % of the two
outlines lie to each other, "worst" the largest; "time" is over Pillow's for decoding.
"""

import argparse
import pickle
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, cast

import numpy as np
import shapely
from shapely.geometry import Polygon

from scrapstore.colour import delta_e, srgb_to_lab
from scrapstore.photo import MeasuredScrap, Measurement, Refusal, measure
from tests.benchmarks.photo_cloth.scenes import Scrap, Truth, read_cloths, render, save
from tests.benchmarks.photo_cloth.tables import KINDS, PATTERNED
from tests.benchmarks.photo_measure import boundary_error, fitted, match, pillow_seconds

PLAIN_TO_SEE = 3.0  # CIEDE2000 along the edge


@dataclass
class Tally:
    """What is counted on one kind of table; lists have one entry for each scrap found."""

    scenes: int = 0
    refused: int = 0
    plain: int = 0
    plain_found: int = 0
    faint: int = 0
    faint_found: int = 0
    listed: int = 0
    silent: int = 0
    false: int = 0
    squares: int = 0
    edge: list[float] = field(default_factory=list)
    worst: list[float] = field(default_factory=list)
    stated: list[float] = field(default_factory=list)
    ratio: list[float] = field(default_factory=list)

    def add(self, other: "Tally") -> None:
        """Add what another counted."""
        for name, value in vars(other).items():
            setattr(self, name, getattr(self, name) + value)


def contrast(scrap: Scrap) -> float:
    """CIEDE2000 between cloth and table, the median along the edge."""
    lab = srgb_to_lab(scrap.beside)
    return float(np.median([delta_e(inside, outside) for inside, outside in lab]))


def edge_error(first: Polygon, second: Polygon) -> float:
    """Distance within which 95 % of each outline lie to the other, inches."""

    def most(a: Polygon, b: Polygon) -> float:
        points = shapely.points(shapely.get_coordinates(shapely.segmentize(a.boundary, 0.02)))
        return float(np.percentile(shapely.distance(points, b.boundary), 95))

    return max(most(first, second), most(second, first))


def is_listed(scrap: Scrap, reasons: tuple[Refusal, ...]) -> bool:
    """Say whether a reason's place covers a fifth of the scrap in the picture."""
    own = Polygon(scrap.in_picture).buffer(0)
    places = [
        Polygon(reason.in_picture).buffer(0)
        for reason in reasons
        if reason.in_picture is not None and len(reason.in_picture) > 2
    ]
    return bool(shapely.union_all(places).intersection(own).area > 0.2 * own.area)


def one_photo(path: Path, truth: Truth) -> tuple[Tally, list[str]]:
    """Count one photo; return also what is worth looking at."""
    tally, said = Tally(scenes=1), []
    baseline = min(pillow_seconds(path) for _ in range(2))
    begin = time.perf_counter()
    reading = measure(path)
    tally.ratio.append((time.perf_counter() - begin) / baseline)
    pairs: list[tuple[Any, MeasuredScrap, Polygon]] = []
    if isinstance(reading, Measurement):
        pairs, tally.false = match(reading, cast("Any", truth))  # it has what is asked of it
    else:
        tally.refused = 1
        said.append(f"refused: {reading}")
    reasons = reading.left_out if isinstance(reading, Measurement) else (reading,)
    tally.squares = sum("printed square lies" in reason.reason for reason in reasons)
    found = {id(true) for true, _, _ in pairs}
    for true in truth.scraps:
        kind = "plain" if contrast(true) >= PLAIN_TO_SEE else "faint"
        setattr(tally, kind, getattr(tally, kind) + 1)
        name = (
            f"{true.cloth} {true.form} ΔE {contrast(true):.1f} at {true.in_picture.mean(0).round()}"
        )
        if id(true) in found:
            setattr(tally, f"{kind}_found", getattr(tally, f"{kind}_found") + 1)
        elif is_listed(true, reasons) or not isinstance(reading, Measurement):
            tally.listed += 1
            said.append(f"listed {name}")
        else:
            tally.silent += 1
            said.append(f"SILENT {name}")
    for true, scrap, placed in pairs:
        best = fitted(placed, true.outline)
        tally.edge.append(edge_error(best, true.outline))
        tally.worst.append(boundary_error(best, true.outline))
        tally.stated.append(scrap.uncertainty)
        if tally.worst[-1] > scrap.uncertainty:
            holes = len(placed.interiors) - len(true.outline.interiors)
            said.append(
                f"{true.cloth} {true.form} off {tally.edge[-1]:.3f} to {tally.worst[-1]:.3f} "
                f"± {scrap.uncertainty:.3f}{f', holes {holes:+d}' if holes else ''} "
                f"at {true.in_picture.mean(0).round()}"
            )
    if tally.false:
        said.append(f"{tally.false} false")
    said += [f"seen: {reason.reason}" for reason in reasons] if len(said) else []
    return tally, said


_HEAD = (
    "table", "scenes", "refused", "found", "faint", "listed", "silent", "false", "edge", "95 %",
    "stated", "95 %", "edge in ±", "worst in ±", "time",
)  # fmt: skip


def row(name: str, tally: Tally) -> list[str]:
    """Return the tally as a row of the table."""
    edge, worst, stated = (np.array(v or [np.nan]) for v in (tally.edge, tally.worst, tally.stated))
    return [
        name,
        f"{tally.scenes}",
        f"{tally.refused}",
        f"{tally.plain_found}/{tally.plain}",
        f"{tally.faint_found}/{tally.faint}",
        f"{tally.listed}",
        f"{tally.silent}",
        f"{tally.false}",
        f"{np.median(edge):.3f}",
        f"{np.percentile(edge, 95):.3f}",
        f"{np.median(stated):.3f}",
        f"{np.percentile(stated, 95):.3f}",
        f"{np.mean(edge <= stated):.1%}",
        f"{np.mean(worst <= stated):.1%}",
        f"{np.median(tally.ratio or [np.nan]):.1f}",
    ]


def report(tallies: dict[str, Tally]) -> str:
    """Return the table: a row a kind, the plain ones, the patterned ones, all."""
    rows = [list(_HEAD), *(row(kind, tally) for kind, tally in tallies.items())]
    for name, chosen in (
        ("plain", [k for k in tallies if k not in PATTERNED]),
        ("patterned", [k for k in tallies if k in PATTERNED]),
        ("all", list(tallies)),
    ):
        total = Tally()
        for kind in chosen:
            total.add(tallies[kind])
        rows.append(row(name, total))
    wide = [max(len(line[k]) for line in rows) for k in range(len(_HEAD))]
    return "\n".join(
        "  ".join(cell.rjust(w) for cell, w in zip(line, wide, strict=True)) for line in rows
    )


def main() -> None:
    """Render or read the photos, measure them, print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cloth", type=Path, required=True)
    parser.add_argument("--scenes", type=int, default=22)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--tables", default=",".join(KINDS))
    parser.add_argument("--half", choices=["all", "even", "odd"], default="all")
    parser.add_argument("--what", choices=["cloth", "alike", "prints", "bare"], default="cloth")
    parser.add_argument("--folder", type=Path, default=None)
    given = parser.parse_args()
    kinds = given.tables.split(",")
    cloths = read_cloths(given.cloth)
    if given.half != "all":
        cloths = dict(list(cloths.items())[given.half == "odd" :: 2])
    tallies = {kind: Tally() for kind in kinds}
    with tempfile.TemporaryDirectory() as spare:
        folder = given.folder or Path(spare)
        folder.mkdir(parents=True, exist_ok=True)
        for number in range(given.first, given.first + given.scenes):
            kind, seed = kinds[number % len(kinds)], number // len(kinds)
            path = folder / f"{given.what}-{given.half}-{kind}-{seed}.jpg"
            kept = path.with_suffix(".truth")
            if not kept.exists():
                photo, truth = render(seed, kind, cloths, given.what)
                save(photo, path, seed)
                kept.write_bytes(pickle.dumps(truth))
            truth = pickle.loads(kept.read_bytes())  # noqa: S301 - our own file
            tally, said = one_photo(path, truth)
            tallies[kind].add(tally)
            if said:
                print(f"{path.stem}: " + "\n    ".join(said), flush=True)
    print(report(tallies))
    taken = sum(tally.squares for tally in tallies.values())
    print(f"scraps taken for a printed square: {taken}")


if __name__ == "__main__":
    main()
