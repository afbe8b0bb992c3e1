"""Many scraps and one piece list: which scrap gives which pieces, and what stays short."""

from scrapstore.matching.aims import AIMS, DEFAULT_AIMS, Aim, checked_aims
from scrapstore.matching.bought import ToBuy
from scrapstore.matching.check import faults
from scrapstore.matching.forms import (
    Answer,
    Need,
    ReadyStock,
    RoleRule,
    ScrapStock,
    ScrapUse,
    Supply,
    Totals,
)
from scrapstore.matching.match import DIFFER, EFFORT, Progress, match, match_answers
from scrapstore.matching.patterns import PackAll, Task, kind_on, pack, pack_all
from scrapstore.matching.pieced import Pieced, pieced_from_two
from scrapstore.matching.ready import congruent, serves
from scrapstore.matching.why import HelpfulChange, Miss, Reason, helpful_changes, nearest_misses

__all__ = [
    "AIMS",
    "DEFAULT_AIMS",
    "DIFFER",
    "EFFORT",
    "Aim",
    "Answer",
    "HelpfulChange",
    "Miss",
    "Need",
    "PackAll",
    "Pieced",
    "Progress",
    "ReadyStock",
    "Reason",
    "RoleRule",
    "ScrapStock",
    "ScrapUse",
    "Supply",
    "Task",
    "ToBuy",
    "Totals",
    "checked_aims",
    "congruent",
    "faults",
    "helpful_changes",
    "kind_on",
    "match",
    "match_answers",
    "nearest_misses",
    "pack",
    "pack_all",
    "pieced_from_two",
    "serves",
]
