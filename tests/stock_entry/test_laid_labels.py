"""Which scrap a label lies by, and what is the label's own paper; the table is laid by hand."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from shapely import Polygon, box

from scrapstore.photo.codes import ReadCode
from scrapstore.stock_entry.laid_labels import LaidLabel, laid_labels

CLOTH = box(0, 0, 9, 6)
FAR = box(20, 0, 25, 5)


def laid(monkeypatch: pytest.MonkeyPatch, scraps: list[Polygon], text: str, x: float) -> Any:
    """What is said of a code of 1.1 in at (x, 2) among things in a photo of an inch a pixel."""
    corners = np.asarray(box(x, 2, x + 1.1, 3.1).exterior.coords)[:4]
    monkeypatch.setattr(
        "scrapstore.stock_entry.laid_labels.read_codes", lambda _: (ReadCode(text, corners),)
    )
    reading: Any = SimpleNamespace(
        photo=SimpleNamespace(pixels=None),
        view=SimpleNamespace(to_table=lambda pixels: pixels),
        scraps=tuple(SimpleNamespace(on_table=scrap) for scrap in scraps),
    )
    return laid_labels(reading)


@pytest.mark.parametrize(
    ("x", "things", "beside", "paper"),
    [
        (4.0, [CLOTH, FAR], 1, set()),  # pinned on the cloth
        (10.0, [CLOTH, FAR, box(9.8, 1.7, 13.3, 3.45)], 1, {3}),  # its paper was measured, too
        (10.0, [CLOTH, box(10.1, 2.1, 10.5, 2.5)], 1, {2}),  # a spot of the code was
        (14.5, [CLOTH, FAR], None, set()),  # near neither
    ],
)
def test_a_label_belongs_to_the_nearest_cloth_and_its_paper_is_none(
    monkeypatch: pytest.MonkeyPatch, x: float, things: list[Polygon], beside: int | None,
    paper: set[int],
) -> None:  # fmt: skip
    (label,) = laid(monkeypatch, things, "SCRAP 12", x)
    assert label == LaidLabel(12, beside, frozenset(paper))


def test_a_code_that_is_no_label_is_passed_over(monkeypatch: pytest.MonkeyPatch) -> None:
    assert laid(monkeypatch, [CLOTH], "washing at 30", 4.0) == ()
