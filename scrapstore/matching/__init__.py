"""Many scraps and one piece list: which scrap gives which pieces, and what stays short."""

from scrapstore.matching.aims import AIMS, DEFAULT_AIMS, Aim, checked_aims
from scrapstore.matching.check import faults
from scrapstore.matching.forms import (
    Answer,
    Need,
    ReadyStock,
    RoleRule,
    ScrapStock,
    ScrapUse,
    Supply,
    Together,
)
from scrapstore.matching.match import match
from scrapstore.matching.patterns import kind_on
from scrapstore.matching.ready import congruent

__all__ = [
    "AIMS",
    "DEFAULT_AIMS",
    "Aim",
    "Answer",
    "Need",
    "ReadyStock",
    "RoleRule",
    "ScrapStock",
    "ScrapUse",
    "Supply",
    "Together",
    "checked_aims",
    "congruent",
    "faults",
    "kind_on",
    "match",
]
