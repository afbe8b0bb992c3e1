"""Which batting, form and zip will do."""

from datetime import UTC, datetime

import pytest

from scrapstore.planning.notions import batting_for, form_for, zip_for
from scrapstore.store import Notion, NotionKind


def _some(kind: NotionKind, *sizes: tuple[float | None, float], count: int = 1) -> list[Notion]:
    moment = datetime(2026, 3, 1, tzinfo=UTC)
    return [
        Notion(id=number, created=moment, kind=kind, width=width, length=length, count=count)
        for number, (width, length) in enumerate(sizes, 1)
    ]


def _numbers(found: tuple[Notion, ...]) -> list[int]:
    return [one.id for one in found]


def test_the_smallest_piece_of_batting_that_covers_it() -> None:
    pieces = _some("batting", (40, 40), (20, 30), (19, 60))
    assert _numbers(batting_for(pieces, (28, 20))) == [2]


def test_two_pieces_are_butted_where_one_is_too_small() -> None:
    pieces = _some("batting", (12, 22), (22, 11), (30, 3))
    assert _numbers(batting_for(pieces, (22, 22))) == [1, 2]
    assert batting_for(pieces, (24, 24)) == ()
    assert _numbers(batting_for(_some("batting", (11, 22), count=2), (22, 22))) == [1, 1]
    assert batting_for(_some("batting", (11, 22)), (22, 22)) == ()


@pytest.mark.parametrize(("wanted", "found"), [((19, 19), 2), ((12, 16), 3), ((24, 24), None)])
def test_the_nearest_form(wanted: tuple[float, float], found: int | None) -> None:
    forms = _some("form", (18, 18), (19, 19), (16, 12), (20, 20))
    form = form_for(forms, wanted)
    assert (form.id if form else None) == found
    assert form_for(forms, (16.0,)) is None


@pytest.mark.parametrize(("opening", "found"), [(16, 2), (15, 1), (20, 2), (10, 1), (40, None)])
def test_the_longest_zip_that_an_opening_takes(opening: float, found: int | None) -> None:
    one = zip_for(_some("zip", (None, 14), (None, 16)), opening)
    assert (one.id if one else None) == found
