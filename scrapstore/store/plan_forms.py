"""Working forms of kept plans: what is to be kept, what a plan holds, what was cut of it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Literal

from scrapstore.store.forms import NewReadyCut, NewScrap

__all__ = ["BookedCut", "NewCut", "NewPlan", "PieceState", "Plan", "PlanPiece"]

PieceState = Literal["cut", "spoilt", "not cut"]


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
    inches it holds of them. `binding_ids` are the strips set aside for its edge. `pieces` says what
    became of those that were to be cut, by label.
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
    binding_ids: tuple[int, ...] = ()
    pieces: Mapping[str, "PlanPiece"] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class PlanPiece:
    """What became of a piece: the lot that it is in, or the scrap that it is now."""

    label: str
    state: PieceState
    ready_cut_id: int | None = None
    scrap_id: int | None = None


@dataclass(frozen=True, kw_only=True)
class NewCut:
    """What became of one scrap of a plan, of so many `inches` of a length, or `taken` pieces.

    Those are of a lot of ready-cut pieces. `lots` are pieces that are all alike with their labels,
    `spare` are more than the plan asks for, `spoilt` pieces that became scraps. `held`: the plan
    holds this cloth; else it is free stock. `untouched`: none of it was cut, and the plan lets go
    of it.
    """

    scrap_id: int | None = None
    yardage_id: int | None = None
    inches: float = 0.0
    ready_cut_id: int | None = None
    taken: int = 0
    lots: tuple[tuple[NewReadyCut, tuple[str, ...]], ...] = ()
    spare: tuple[NewReadyCut, ...] = ()
    spoilt: Mapping[str, NewScrap] = field(default_factory=dict)
    not_cut: tuple[str, ...] = ()
    offcuts: tuple[NewScrap, ...] = ()
    held: bool = True
    untouched: bool = False


@dataclass(frozen=True, kw_only=True)
class BookedCut:
    """What a cut made of the store: numbers of lots and scraps."""

    lots: tuple[int, ...]
    spoilt: Mapping[str, int]
    offcuts: tuple[int, ...]
