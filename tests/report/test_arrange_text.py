"""What can be arranged, in words."""

from types import SimpleNamespace
from typing import cast

from scrapstore.planning.arranging.result import Arranged
from scrapstore.report.arrange_text import how_many


def test_of_one_scheme_all_ways_are_counted_where_only_some_are_shown() -> None:
    """Twelve ways by round, six of them shown: no other scheme is spoken of."""
    way, found = (
        SimpleNamespace(),
        SimpleNamespace(scheme="rounds", arrangements=(1,), complete=True, count=12),
    )
    arranged = SimpleNamespace(ways=(way,) * 6, schemed=SimpleNamespace(schemes=(found,)))
    said = how_many(cast("Arranged", arranged))
    assert said == "12 ways can be cut without buying, and no others; the best 6:"
