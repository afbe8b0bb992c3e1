"""The picture of what a cut leaves: nothing runs over its edge, offcuts show in their colour."""

import io
from pathlib import Path

import numpy as np
from PIL import Image
from shapely import box

from scrapstore.actions.cut import look_at_cut
from scrapstore.planning.cut_request import CutRequest
from scrapstore.report.after_cut_picture import after_cut_picture
from scrapstore.store import NewFabric, NewScrap, Store
from tests.actions.test_cut import SETTINGS, kept, project, store

__all__ = ["store"]  # the fixture


def test_long_names_stay_on_the_picture(store: Store, tmp_path: Path) -> None:
    """Three narrow scraps with names as long as three quarters of a row: each has its own row."""
    with store.change("test") as writer:
        name = "red drill from the sails of the second boat in the shed by the old ferry"
        fabric = writer.add_fabric(NewFabric(name=name, family="red"))
        for _ in range(3):
            writer.add_scrap(NewScrap(outline=box(0, 0, 3.5, 6), fabric=fabric, grain_deg=0.0))
    kept(store, project(tmp_path, "three", ("red", "3", "3", 3)), "three")
    cuts = look_at_cut(store, "three", CutRequest(), SETTINGS).cuts
    assert [one.letter for cut in cuts for one in cut.offcuts] == ["a", "b", "c"]
    with Image.open(io.BytesIO(after_cut_picture(cuts, "in"))) as image:
        pixels = np.asarray(image.convert("RGB")).astype(int)
    assert (pixels[:, :30] == 255).all()
    assert (pixels[:, -30:] == 255).all()
    red, _, blue = np.moveaxis(pixels, 2, 0)
    scale = (1.5 * 30) ** 2  # pixels of a square inch
    offcuts = 3 * 3.5 * 2.5 * scale
    assert 0.6 * offcuts < (red - blue > 30).sum() < offcuts  # letters and edges lie on them
