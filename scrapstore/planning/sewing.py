"""The sewing order of a project, with its pieces named as on the cutting sheets of a plan."""

from collections import Counter
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from scrapstore.designs import Design
from scrapstore.designs.sewing import Batch, Join, JoinedPart, SewingOrder, sewing_order
from scrapstore.errors import ProjectError
from scrapstore.planning.result import MatchResult
from scrapstore.projects import Project

__all__ = ["SewingPlan", "plan_sewing"]

_VALUES: Final = ("light", "medium", "dark")
_BACKGROUND: Final = "background"
"""The role that is light where nothing is known of its cloth."""


@dataclass(frozen=True)
class SewingPlan:
    """In which order the top of a project is sewn.

    `labels` are those of the cut pieces of a kept plan, in the order of the design's pieces, empty
    where there is none. `plan` is the name of that plan.
    """

    project: Project
    design: Design
    order: SewingOrder
    labels: tuple[str, ...]
    plan: str | None = None

    @cached_property
    def names(self) -> tuple[str, ...]:
        """What to call each piece of the design: by its label, else by its position."""
        return tuple(
            _name(label, piece.position)
            for label, piece in zip(self.labels, self.design.pieces, strict=True)
        )

    def part_name(self, part: JoinedPart) -> str:
        """Return the name of a piece, or the number of the join that made the part."""
        return f"seam {part.join}" if part.piece is None else self.names[part.piece]

    def kinds(self, batch: Batch) -> Counter[tuple[str, str]]:
        """Return what is joined with what, and how often: letters of lines, or batches."""
        joins = [self.order.join(number) for number in batch.joins]
        return Counter((self._kind(join.first), self._kind(join.second)) for join in joins)

    def _kind(self, part: JoinedPart) -> str:
        if part.piece is not None:
            return self.project.letters[self.design.pieces[part.piece].piece]
        return f"batch {self.order.join(part.join or 0).batch}"

    def pieces_of(self, join: Join) -> list[str]:
        """Return the names of all pieces that a join brings together."""
        return [self.names[piece] for piece in sorted(join.pieces)]


def plan_sewing(
    project: Project, result: MatchResult | None = None, plan: str | None = None
) -> SewingPlan:
    """Return the order for a project; `result` is the answer that is kept as `plan`.

    Raises ProjectError for a project whose file has no design, or one of a single piece.
    """
    if project.design is None:
        msg = (
            f"{project.name}: the project file does not say where its pieces lie, so their order "
            "cannot be found; scrapstore design start writes a project file that does"
        )
        raise ProjectError(msg)
    design = project.design
    if len(design.pieces) == 1:
        raise ProjectError(f"{project.name}: its top is one piece, so there is nothing to sew")
    places = {} if result is None else {place.position: place for place in result.places}
    labels = [places[one.position].label if one.position in places else "" for one in design.pieces]
    values = {} if result is None else {cut.scrap.id: cut.scrap.shown_value for cut in result.cuts}
    darkness = []
    for piece in design.pieces:
        place = places.get(piece.position)
        known = None if place is None or place.scrap is None else values.get(place.scrap)
        darkness.append(_darkness(known, piece.role, project))
    return SewingPlan(project, design, sewing_order(design, darkness), tuple(labels), plan)


def _darkness(known: str | None, role: str, project: Project) -> float:
    """Return how dark a piece is: by its scrap's value, by what its role asks for, by its role."""
    values = (known,) if known is not None else project.roles[role].values
    if values:
        return sum(map(_VALUES.index, values)) / len(values)
    return 0.0 if role == _BACKGROUND else 1.0


def _name(label: str, position: str) -> str:
    """Return a label that is unique; that of a ready-cut piece is the letter of its line alone."""
    if not label:
        return position
    return label if label[-1].isdigit() else f"{label} at {position}"
