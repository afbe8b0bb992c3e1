"""What the aims of the schemes measure, on a whole arrangement."""

from collections.abc import Sequence

import numpy as np

from scrapstore.designs.arranging.forms import Job, TopPlaces

__all__ = ["borders", "contrast", "fabrics_shown"]


def borders(top: TopPlaces, block_of: Sequence[int]) -> list[tuple[int, int]]:
    """Return the pairs of places that share an edge and lie in different blocks."""
    return [
        (i, j)
        for i, beside in enumerate(top.neighbours)
        for j in sorted(beside)
        if i < j and block_of[i] != block_of[j]
    ]


def contrast(
    job: Job, cloth_of: Sequence[int], pairs: Sequence[tuple[int, int]]
) -> tuple[float, float]:
    """Return the least and the mean CIEDE2000 between the cloths of these pairs of places.

    Rounded to a tenth, so that the last bit of a processor ranks nothing; zeros without pairs.
    """
    if not pairs:
        return 0.0, 0.0
    differences = job.unlike[[cloth_of[i] for i, _ in pairs], [cloth_of[j] for _, j in pairs]]
    return round(float(np.min(differences)), 1), round(float(np.mean(differences)), 1)


def fabrics_shown(job: Job, cloth_of: Sequence[int]) -> int:
    """Return how many different fabrics the arrangement shows."""
    return len({job.cloths[cloth].fabric for cloth in cloth_of})
