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
from scrapstore.matching.why import Change, Miss, helpful_changes, nearest_misses

__all__ = [
    "AIMS",
    "DEFAULT_AIMS",
    "Aim",
    "Answer",
    "Change",
    "Miss",
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
    "helpful_changes",
    "kind_on",
    "match",
    "nearest_misses",
]
