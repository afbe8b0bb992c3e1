"""Many scraps and one piece list: which scrap gives which pieces, and what stays short."""

from scrapstore.matching.check import faults
from scrapstore.matching.forms import (
    Answer,
    Need,
    ReadyStock,
    RoleRule,
    ScrapStock,
    ScrapUse,
    Supply,
)
from scrapstore.matching.match import match
from scrapstore.matching.patterns import kind_on
from scrapstore.matching.ready import congruent

__all__ = [
    "Answer",
    "Need",
    "ReadyStock",
    "RoleRule",
    "ScrapStock",
    "ScrapUse",
    "Supply",
    "congruent",
    "faults",
    "kind_on",
    "match",
]
