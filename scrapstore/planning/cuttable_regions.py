"""Scraps on offer for cutting: regions in the grain frame, made for the whole store at once."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from scrapstore.matching import ScrapStock
from scrapstore.packing import usable_region
from scrapstore.store import CuttableScrap

__all__ = ["scrap_stock"]


def scrap_stock(scraps: Sequence[CuttableScrap]) -> list[ScrapStock]:
    """Return what may be cut of each scrap, turned so that its lengthwise grain lies at 0°.

    Without a known grain the scrap's own frame is taken.
    """
    families = {scrap.family: frozenset({scrap.family} if scrap.family else ()) for scrap in scraps}
    outlines = np.array([scrap.outline for scrap in scraps], dtype=object)
    areas = shapely.area(outlines)
    regions = _turned(
        _regions(scraps, outlines), np.array([-(scrap.grain_deg or 0.0) for scrap in scraps])
    )
    return [
        ScrapStock(
            id=scrap.id,
            fabric=scrap.fabric,
            families=families[scrap.family],
            value=scrap.value,
            fibre=scrap.fibre,
            region=region,
            true_area=float(area),
            grain_known=scrap.grain_deg is not None,
            one_way=scrap.one_way_print,
            sides_alike=scrap.alike,
        )
        for scrap, region, area in zip(scraps, regions, areas, strict=True)
    ]


def _regions(scraps: Sequence[CuttableScrap], outlines: NDArray[np.object_]) -> NDArray[np.object_]:
    """Return what may be cut, in each scrap's own inches; as `usable_region` has it."""
    regions = outlines.copy()
    edges = np.array([scrap.edge for scrap in scraps])
    all_round = np.array([scrap.old_edges is None for scrap in scraps], dtype=bool)
    framed = np.flatnonzero((edges > 0) & all_round)
    if len(framed):
        # The same inset as `usable_region` takes, for all scraps in one call.
        regions[framed] = shapely.buffer(
            regions[framed], -edges[framed], join_style="mitre", mitre_limit=2.0
        )
    for row, scrap in enumerate(scraps):
        if scrap.old_edges is not None:
            regions[row] = usable_region(outlines[row], scrap.flaws, scrap.edge, scrap.old_edges)
        elif scrap.flaws:
            regions[row] = usable_region(regions[row], scrap.flaws)
    return regions


def _turned(regions: NDArray[np.object_], turns_deg: NDArray[np.float64]) -> NDArray[np.object_]:
    """Rotate each region about the origin, counter-clockwise."""
    corners, owner = shapely.get_coordinates(regions, return_index=True)
    # Degrees at the quarter turns are exact, so that straight cloth stays straight.
    quarter, rest = np.divmod(turns_deg % 360, 90)
    angle = np.radians(rest)
    cos, sin = np.cos(angle), np.sin(angle)
    for _ in range(3):
        more = quarter > 0
        cos, sin = np.where(more, -sin, cos), np.where(more, cos, sin)
        quarter = quarter - more
    c, s = cos[owner], sin[owner]
    turned = np.stack(
        [corners[:, 0] * c - corners[:, 1] * s, corners[:, 0] * s + corners[:, 1] * c], axis=1
    )
    return np.asarray(shapely.set_coordinates(regions.copy(), turned), dtype=object)
