"""Working forms of kept plans: what is to be kept, and what a plan in the store holds."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

__all__ = ["NewPlan", "Plan"]


@dataclass(frozen=True, kw_only=True)
class NewPlan:
    """An answer to be kept: `document` is what ``match --json`` printed for it.

    `scrap_ids` are the scraps it cuts; `ready` maps lots of ready-cut pieces to how many it takes,
    `yardage` lengths to the inches it takes of them.
    """

    name: str
    project: str
    document: Mapping[str, Any]
    scrap_ids: tuple[int, ...] = ()
    ready: Mapping[int, int] = field(default_factory=dict)
    yardage: Mapping[int, float] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Plan:
    """A kept plan, with the numbers of the scraps and of the ready-cut lots set aside for it.

    `taken_from` maps lots that were counted off to those they come from, `yardage` lengths to the
    inches it holds of them.
    """

    id: int
    name: str
    project: str
    document: Mapping[str, Any]
    scrap_ids: tuple[int, ...]
    ready_ids: tuple[int, ...]
    created: datetime
    taken_from: Mapping[int, int] = field(default_factory=dict)
    yardage: Mapping[int, float] = field(default_factory=dict)
