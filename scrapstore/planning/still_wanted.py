"""What open projects and the stock list still want, and all of it as one project."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from scrapstore.matching import serves
from scrapstore.planning.matching_inputs import piece_need, ready_stock, role_rule
from scrapstore.planning.result import MatchResult
from scrapstore.planning.shortages import pieces_of_fabrics
from scrapstore.projects import PieceNeed, Project
from scrapstore.sentences import several
from scrapstore.store import ReadyCut

__all__ = [
    "Merged",
    "ReadyLeft",
    "StillWanted",
    "less_kept",
    "merged",
    "wanted_by_plan",
    "wanted_of",
]

Kind = Literal["project", "plan", "stock"]

_WEIGHTS: Final[Mapping[Kind, float]] = {"project": 10_000.0, "plan": 100.0, "stock": 1.0}
"""Of a square inch: what comes first takes the cloth that it can have."""


@dataclass(frozen=True)
class StillWanted:
    """Pieces that something still wants: those of `project`, with the counts that lack.

    `name` is the project's or the kept plan's. `taken` says how many pieces of each role are
    provided for already, by fabric: the conditions hold for them and the others together.
    """

    kind: Kind
    name: str
    project: Project
    taken: Mapping[str, Counter[str]]

    @property
    def called(self) -> str:
        """What it is called in a sentence."""
        return "stock" if self.kind == "stock" else repr(self.name)

    def named(self, own: str) -> str:
        """Return what a piece or role of it is called beside those of others."""
        return f"{own} for {self.name}"


@dataclass(frozen=True)
class Merged:
    """All that is wanted as one project; `wants` says whose each of its pieces is."""

    project: Project
    wants: Mapping[str, tuple[StillWanted, PieceNeed]]

    @property
    def weights(self) -> dict[str, float]:
        """What each piece counts beside others; see `matching.Need`."""
        return {name: _WEIGHTS[wanted.kind] for name, (wanted, _) in self.wants.items()}

    @property
    def taken(self) -> dict[str, Mapping[str, int]]:
        """What each role has of each fabric already; see `matching.RoleRule`."""
        return {
            wanted.named(role): wanted.taken[role]
            for wanted, _ in self.wants.values()
            for role in wanted.project.roles
        }


class ReadyLeft:
    """Ready-cut pieces that are counted on, each of them once."""

    def __init__(self, lots: Sequence[ReadyCut]) -> None:
        self._stock = [ready_stock(lot) for lot in lots]
        self._left = Counter({lot.id: lot.count for lot in lots})

    def take(self, project: Project, piece: PieceNeed, taken: Counter[str]) -> int:
        """Count on what serves as `piece`, no more than it wants; return how many pieces.

        The role's conditions hold; they are added to `taken`, its pieces by fabric.
        """
        need, rule = piece_need(piece, project.seam_allowance), role_rule(project, piece.role)
        size, found = rule.same_fabric_sets or 1, 0
        for stock in self._stock:
            if not (rule.allows(stock) and serves(stock, need)):
                continue
            most = replace(rule, taken=taken).most_from(stock.cloth_key)
            count = min(self._left[stock.id], piece.count - found)
            count = (count if most is None else min(count, most)) // size * size
            if count:
                self._left[stock.id] -= count
                taken[stock.cloth_key] += count
                found += count
        return found


def wanted_of(kind: Kind, project: Project, ready: ReadyLeft) -> StillWanted:
    """Return what a project wants beside what `ready` gives it."""
    name = "stock" if kind == "stock" else project.name
    return _beside(ready, kind, name, project, {role: Counter() for role in project.roles})


def wanted_by_plan(name: str, result: MatchResult, ready: ReadyLeft) -> StillWanted:
    """Return what the kept plan `name` leaves to fabric to be bought, beside what `ready` gives."""
    counts: Counter[str] = Counter()
    taken = pieces_of_fabrics(result.project, result.ready, result.cuts)
    for shortage in result.shortages:
        counts.update(shortage.pieces)
        for hand in shortage.on_hand:
            counts.subtract(hand.plan.pieces)
            taken[shortage.role][hand.yardage.fabric.name] += sum(hand.plan.pieces.values())
    return _beside(ready, "plan", name, _with_counts(result.project, counts), taken)


def _beside(
    ready: ReadyLeft, kind: Kind, name: str, project: Project, taken: dict[str, Counter[str]]
) -> StillWanted:
    counts = {
        piece.name: piece.count - ready.take(project, piece, taken[piece.role])
        for piece in project.pieces
    }
    return StillWanted(kind, name, _with_counts(project, counts), taken)


def less_kept(wanted: StillWanted, kept: Iterable[MatchResult]) -> StillWanted:
    """Return what is wanted beside the pieces that kept answers of `gives` have for it."""
    counts = {piece.name: piece.count for piece in wanted.project.pieces}
    taken = {role: Counter(own) for role, own in wanted.taken.items()}
    for result in kept:
        given = {s.need: s.ready + s.scraps for s in result.supplies}
        for name in counts:
            counts[name] = max(0, counts[name] - given.get(wanted.named(name), 0))
        fabrics = pieces_of_fabrics(result.project, result.ready, result.cuts)
        for role, own in taken.items():
            own.update(fabrics.get(wanted.named(role), {}))
    return replace(wanted, project=_with_counts(wanted.project, counts), taken=taken)


def _with_counts(project: Project, counts: Mapping[str, int]) -> Project:
    """Return the project with so many of each piece, without those of which none are wanted."""
    pieces = tuple(
        replace(piece, count=counts[piece.name])
        for piece in project.pieces
        if counts.get(piece.name, 0) > 0
    )
    used = {piece.role for piece in pieces}
    roles = {name: role for name, role in project.roles.items() if name in used}
    return replace(project, pieces=pieces, roles=roles, design=None)


def merged(wanted: Sequence[StillWanted]) -> Merged:
    """Return one project of all that is `wanted`, at least one piece, with one seam allowance."""
    wants = {one.named(piece.name): (one, piece) for one in wanted for piece in one.project.pieces}
    first = wanted[0].project
    project = replace(
        first,
        name=several([one.name for one in wanted]),
        pieces=tuple(
            replace(piece, name=name, role=one.named(piece.role))
            for name, (one, piece) in wants.items()
        ),
        roles={
            one.named(name): replace(role, name=one.named(name))
            for one in wanted
            for name, role in one.project.roles.items()
        },
        cushion=None,
        notes="",
    )
    return Merged(project, wants)
