"""Things that are not measured: what is said first, by which letter, and where it is drawn."""

from pathlib import Path

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import Polygon, box

from scrapstore.photo import Refusal, open_photo, preview, refused_preview, said_of_left_out
from scrapstore.photo.forms import RefusalCode
from scrapstore.photo.measurement.left_out import letters, most_helpful_first
from tests.support.photographed import loose, photographed, reading, refusal, scrap

RECTANGLE = box(-3, -2, 3, 2)


def _left_out(code: RefusalCode, side: float, reason: str = "why") -> Refusal:
    ring = np.array([(0, 0), (side, 0), (side, side), (0, side)], float)
    return Refusal(code, reason, "do", ring if side else None)


def test_what_lies_over_the_scale_comes_first_then_the_largest() -> None:
    corner, crease = _left_out("leaves the picture", 0), _left_out("no contrast", 10)
    cloth, covers = _left_out("leaves the picture", 90), _left_out("over the scale", 30)
    ordered = most_helpful_first([corner, crease, cloth, covers])
    assert list(map(id, ordered)) == list(map(id, (covers, cloth, crease, corner)))


def test_equal_reasons_are_one_sentence_with_all_their_letters() -> None:
    edge = [_left_out("leaves the picture", 9, "over the edge") for _ in range(3)]
    others = [_left_out("no contrast", 5, "alike"), _left_out("leaves the picture", 0, "a corner")]
    assert said_of_left_out([edge[0], others[0], *edge[1:], others[1]]) == [
        "A, C and D in the preview: over the edge; do",
        "B in the preview: alike; do",
        "a corner; do",
    ]
    (many,) = said_of_left_out([edge[0]] * 30)
    assert many.startswith("A, B, C, D, E, F, G, H and 22 more in the preview: over the edge")
    assert said_of_left_out([]) == []


def test_letters_go_on_after_z() -> None:
    named = letters([_left_out("no contrast", 5)] * 54)
    assert (named[0], named[25], named[26], named[27], named[52]) == ("A", "Z", "AA", "AB", "BA")
    assert len(set(named)) == 54


def test_each_thing_left_out_is_drawn_and_lettered(tmp_path: Path) -> None:
    """Beside a measured scrap, one beyond the edge and one of nearly the table's colour."""
    pieces = [
        scrap(affinity.translate(RECTANGLE, 4.5, -1), colour=(40, 90, 150)),
        scrap(affinity.translate(RECTANGLE, -12.5, 0)),
        scrap(affinity.translate(RECTANGLE, -3.5, -1), colour=(203, 200, 193)),
    ]
    found = reading(photographed(tmp_path, pieces, loose()))
    said = said_of_left_out(found.left_out)
    assert ["edge of the picture" in one for one in said] == [False, True]
    assert [one[:16] for one in said] == ["A in the preview", "B in the preview"]
    drawn = np.asarray(preview(found, long_side=1600), int)
    for one in found.left_out:
        assert one.in_picture is not None
        x, y = Polygon(one.in_picture).buffer(0).representative_point().coords[0]
        label = drawn[round(y) - 15 : round(y) + 15, max(0, round(x) - 40) : round(x) + 40]
        assert np.any(np.all(label == (255, 255, 240), axis=2)), "its label lies on it"


def test_where_nothing_is_measured_the_first_reason_is_the_one_to_act_on(tmp_path: Path) -> None:
    pieces = [
        scrap(affinity.translate(RECTANGLE, -12.5, 0)),
        scrap(affinity.translate(RECTANGLE, -4.6, 4.6), colour=(40, 90, 150)),
    ]
    path = photographed(tmp_path, pieces, loose())
    told = refusal(path)
    assert (told.code, [one.code for one in told.others]) == (
        "over the scale",
        ["leaves the picture"],
    )
    drawn = np.asarray(refused_preview(open_photo(path), told, long_side=800), int)
    plain = np.asarray(refused_preview(open_photo(path), Refusal("no scrap", "", "")), int)
    assert drawn.shape == (600, 800, 3)
    assert plain.shape == (1200, 1600, 3)
    assert np.any(np.all(drawn == (255, 255, 240), axis=2))


@pytest.mark.parametrize("place", [(-280.0, -280.0), (780.0, 580.0)])
def test_a_label_lies_in_the_picture_though_the_thing_reaches_beyond(
    tmp_path: Path, place: tuple[float, float]
) -> None:
    path = photographed(tmp_path, [], loose())
    ring = np.array([(0, 0), (300, 0), (300, 300), (0, 300)], float) + place
    shown = refused_preview(
        open_photo(path), Refusal("no contrast", "why", "do", ring * 2), long_side=800
    )
    assert np.any(np.all(np.asarray(shown) == (255, 255, 240), axis=2))
