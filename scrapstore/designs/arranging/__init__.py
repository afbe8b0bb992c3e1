"""Arranging the colours of a top: schemes, and what can be cut of them.

What the store can give comes in as plain counts (`OfferedCloth.gives`); who asks makes sure that
they are of layouts that can be cut.
"""

from scrapstore.designs.arranging.forms import (
    Amount,
    Arrangement,
    By,
    Job,
    NearMiss,
    OfferedCloth,
    RoleConditions,
    SchemeFound,
    TopPlace,
    TopPlaces,
    can_give,
    plus,
    top_of,
    undominated_amounts,
)
from scrapstore.designs.arranging.pins import named_places, with_pins, with_swap
from scrapstore.designs.arranging.schemes import SCHEMES, Scheme, Schemed, arrange

__all__ = [
    "SCHEMES",
    "Amount",
    "Arrangement",
    "By",
    "Job",
    "NearMiss",
    "OfferedCloth",
    "RoleConditions",
    "Scheme",
    "SchemeFound",
    "Schemed",
    "TopPlace",
    "TopPlaces",
    "arrange",
    "can_give",
    "named_places",
    "plus",
    "top_of",
    "undominated_amounts",
    "with_pins",
    "with_swap",
]
