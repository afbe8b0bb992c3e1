"""Pieces that were spoilt or not cut: where to look for them, in which order, on which terms.

First in the offcuts of the same cloth, then in all cloth of the same fabric, then in the store
under the conditions of the role, last in yardage. The conditions that hold over a whole role hold
for the plan with its replacements too.
"""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from scrapstore.planning.allocate import NO_NAME
from scrapstore.planning.cut_sources import CutSource, cut_sources
from scrapstore.planning.result import MatchResult
from scrapstore.projects import Project, Role
from scrapstore.store import Plan, Scrap

__all__ = ["Attempt", "Lost", "attempts", "covered_labels", "lost_pieces", "replacement_sources"]

_LOST: Final = ("spoilt", "not cut")


@dataclass(frozen=True)
class Lost:
    """Pieces of one role and one cloth that are wanted once more: labels by the piece's name.

    `fabric` is None where it is not known; the cloth then is the scrap with the number `scrap_id`.
    `others` counts the pieces of the role that the plan has, by their fabric.
    """

    role: Role
    labels: Mapping[str, tuple[str, ...]]
    fabric: str | None
    scrap_id: int | None
    others: Mapping[str, int]


@dataclass(frozen=True)
class Attempt:
    """One place to look. `scrap_ids` are the scraps looked at, `ready` and `yardage` what else."""

    role: Role
    scrap_ids: tuple[int, ...]
    ready: bool = False
    yardage: bool = False

    def project(self, whole: Project, labels: Mapping[str, tuple[str, ...]]) -> Project:
        """Return the project that asks for the pieces with these labels, and no others."""
        return replace(
            whole,
            roles={self.role.name: self.role},
            pieces=tuple(
                replace(piece, count=len(labels[piece.name]))
                for piece in whole.pieces
                if labels.get(piece.name)
            ),
            labels={name: some for name, some in labels.items() if some},
            design=None,
        )


def lost_pieces(plan: Plan, result: MatchResult) -> tuple[Lost, ...]:
    """Return what of `plan` was spoilt or not cut and has no replacement yet."""
    role_of = {piece.name: piece.role for piece in result.project.pieces}
    found: dict[tuple[str, str | None, int | None], dict[str, list[str]]] = {}
    others: dict[str, Counter[str]] = {role: Counter() for role in result.project.roles}
    for source in cut_sources(result):
        fabric, scrap_id = _cloth(source)
        for piece in (piece for one in source.plans for piece in one.pieces):
            role = role_of[piece.name]
            state = plan.pieces[piece.label].state if piece.label in plan.pieces else None
            if state in _LOST:
                key = role, fabric, None if fabric else scrap_id
                found.setdefault(key, {}).setdefault(piece.name, []).append(piece.label)
            else:
                others[role][fabric or f"{NO_NAME}{scrap_id}"] += 1
    for use in result.ready:
        fabric = use.lot.fabric.name if use.lot.fabric else f"{NO_NAME}ready {use.lot.id}"
        others[role_of[use.need]][fabric] += use.count
    return tuple(
        Lost(
            role=result.project.roles[role],
            labels={name: tuple(some) for name, some in names.items()},
            fabric=fabric,
            scrap_id=scrap_id,
            others=dict(others[role]),
        )
        for (role, fabric, scrap_id), names in found.items()
    )


def _cloth(source: CutSource) -> tuple[str | None, int | None]:
    fabric = source.cloth.fabric
    return fabric.name if fabric else None, source.scrap.id if source.scrap else None


def attempts(lost: Lost, used: Collection[int], scraps: Sequence[Scrap]) -> Iterator[Attempt]:
    """Yield where to look for lost pieces, the best place first.

    `used` are the scraps that the plan has cut, `scraps` those that are available.
    """
    # The same cloth in place of the piece that was lost keeps every condition on fabrics.
    # Offcuts have numbers of their own, which the role cannot name.
    same = replace(
        lost.role, scraps=(), same_fabric_sets=None, min_fabrics=None, max_per_fabric=None
    )
    own = [scrap for scrap in scraps if _is_of(scrap, lost)]
    offcuts = tuple(scrap.id for scrap in own if scrap.parent_id in used)
    if offcuts:
        yield Attempt(same, offcuts)
    of_fabric = None if lost.fabric is None else replace(same, fabrics=(lost.fabric,))
    if of_fabric is not None:
        yield Attempt(of_fabric, tuple(scrap.id for scrap in own), ready=True)
    other = None
    if lost.role.same_fabric_sets is None:  # else the others of its set are of its fabric
        full, barred = _limits(lost)
        other = replace(same, scraps=lost.role.scraps, max_per_fabric=full)
        allowed = [s.id for s in scraps if (s.fabric.name if s.fabric else None) not in barred]
        # Ready-cut pieces and lengths cannot be offered one by one.
        yield Attempt(other, tuple(allowed), ready=not barred)
        other = None if barred else other
    for role in (of_fabric, other):
        if role is not None:
            yield Attempt(role, (), yardage=True)


def _limits(lost: Lost) -> tuple[int | None, Collection[str]]:
    """Return how many pieces another fabric may give, and which fabrics may give none."""
    role, others = lost.role, lost.others
    barred: set[str] = set()
    if role.min_fabrics is not None and len(others) < role.min_fabrics:
        barred |= others.keys()
    if role.max_per_fabric is None:
        return None, barred
    barred |= {name for name, count in others.items() if count >= role.max_per_fabric}
    room = [role.max_per_fabric - count for name, count in others.items() if name not in barred]
    return min(room, default=role.max_per_fabric), barred


def _is_of(scrap: Scrap, lost: Lost) -> bool:
    if lost.fabric is None:
        return scrap.parent_id is not None and scrap.parent_id == lost.scrap_id
    return scrap.fabric is not None and scrap.fabric.name == lost.fabric


def replacement_sources(result: MatchResult) -> tuple[CutSource, ...]:
    """Return all that a replacement takes; ready-cut pieces have the labels that are left."""
    sources = [source for source in cut_sources(result) if source.ready is None]
    given = {label for source in sources for label in source.labels}
    left = {
        name: [label for label in labels if label not in given]
        for name, labels in result.project.labels.items()
    }
    for use in result.ready:
        own, left[use.need] = left[use.need][: use.count], left[use.need][use.count :]
        sources.append(CutSource(ready=use, ready_labels=tuple(own)))
    return tuple(sources)


def covered_labels(sources: Sequence[CutSource]) -> set[str]:
    """Return the labels of all pieces that `sources` give."""
    return {label for source in sources for label in source.labels}
