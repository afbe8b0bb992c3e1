"""The background of a photo without a scale: what its rim shows, followed across the picture.

One scrap lies about the middle of the picture on a table that shows all round it. As light falls
off, the table's colour changes smoothly; a quadratic trend is fitted to the rim, without what else
lies there.
"""

from dataclasses import dataclass

import numpy as np

from scrapstore.photo.arrays import Floats, Mask
from scrapstore.photo.segmentation import tuning

__all__ = ["RimBackground", "fit_rim_background"]


@dataclass(frozen=True, eq=False)
class RimBackground:
    """The table's colour everywhere.

    `residuals`: the picture less the fitted colour, rows × columns × 3, CIELAB; `limit`: per
    channel, beyond which a colour is not the table's.
    """

    residuals: Floats
    limit: Floats

    @property
    def foreground(self) -> Mask:
        """Pixels whose colour the table cannot have at that place."""
        far = (self.residuals**2).sum(axis=-1) > tuning.RIM_LEAST_DIFFERENCE**2
        return np.asarray((((self.residuals / self.limit) ** 2).sum(axis=-1) > 1) & far)


def fit_rim_background(lab: Floats) -> RimBackground:
    """Return the background of a picture (rows × columns × 3, CIELAB), at least 5 pixels a side."""
    rows, columns = lab.shape[:2]
    y, x = np.mgrid[-1 : 1 : rows * 1j, -1 : 1 : columns * 1j]
    terms = np.stack([np.ones_like(x), x, y, x * y, x * x, y * y], axis=-1)
    width = max(2, round(tuning.RIM_SHARE * min(rows, columns)))
    rim = np.ones((rows, columns), dtype=bool)
    rim[width:-width, width:-width] = False
    rim_terms, rim_lab = terms[rim], lab[rim]
    table = np.ones(len(rim_lab), dtype=bool)
    for _ in range(3):  # again without what lies on the table at the rim
        # Six normal equations: quicker than a least-squares routine over every pixel of the rim.
        chosen = rim_terms[table]
        # The trifle added keeps them solvable when table shows along one side only.
        normal = chosen.T @ chosen + 1e-6 * np.eye(terms.shape[-1])
        fit = np.linalg.solve(normal, chosen.T @ rim_lab[table])
        residuals = rim_lab - rim_terms @ fit
        deviation = 1.4826 * np.median(np.abs(residuals[table]), axis=0)
        limit = tuning.RIM_LIMIT * (deviation + tuning.RIM_NOISE)
        table = ((residuals / limit) ** 2).sum(axis=-1) < 1
        if table.sum() < len(table) // 4:
            break
    return RimBackground(lab - terms @ fit, limit)
