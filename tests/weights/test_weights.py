"""Weights as they are typed and printed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scrapstore.errors import UsageError
from scrapstore.weights import format_weight, parse_weight


@pytest.mark.parametrize(
    ("text", "grams"),
    [
        ("120 g", 120.0),
        ("120g", 120.0),
        ("0,5 kg", 500.0),
        # The avoirdupois pound is 453.59237 g exactly (international agreement of 1959).
        ("1 lb", 453.59237),
        ("16 oz", 453.59237),
        ("1/2 lb", 226.796185),
        ("1 1/2 lb", 680.388555),
        ("1 lb 8 oz", 680.388555),
    ],
)
def test_weights_are_read_in_either_system(text: str, grams: float) -> None:
    assert parse_weight(text, field="weight") == pytest.approx(grams, rel=1e-12)


@pytest.mark.parametrize("text", ["120", "", "0 g", "-3 g", "1/0 lb", "4 stone", "a bag", "2e9 kg"])
def test_what_is_no_weight_is_refused_with_what_to_write(text: str) -> None:
    with pytest.raises(UsageError, match="120 g, 4 oz or 1/2 lb"):
        parse_weight(text, field="weight")


@given(st.floats(1, 500_000))
def test_a_printed_weight_reads_as_the_weight_to_what_a_kitchen_scale_shows(grams: float) -> None:
    for units, close in (("in", 3.0), ("cm", 5.1)):
        again = parse_weight(format_weight(grams, units), field="weight")  # type: ignore[arg-type]
        assert again == pytest.approx(grams, abs=close)
