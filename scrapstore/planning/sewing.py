"""The sewing order of a project, with its pieces named as on the cutting sheets of a plan."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from scrapstore.designs import Design
from scrapstore.designs.sewing import Batch, Join, JoinedPart, SewingOrder, sewing_order
from scrapstore.errors import ProjectError
from scrapstore.planning.result import Place
from scrapstore.projects import Project

__all__ = ["SewingPlan", "plan_sewing"]


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
    project: Project, places: Sequence[Place] = (), plan: str | None = None
) -> SewingPlan:
    """Return the order for a project; `places` are those of a plan, in the order of the design.

    Raises ProjectError for a project whose file has no design.
    """
    if project.design is None:
        msg = (
            f"{project.name}: the project file does not say where its pieces lie, so their order "
            "cannot be found; scrapstore design start writes a project file that does"
        )
        raise ProjectError(msg)
    design = project.design
    given = {place.position: place.label for place in places}
    labels = tuple(given.get(piece.position, "") for piece in design.pieces)
    return SewingPlan(project, design, sewing_order(design), labels, plan)


def _name(label: str, position: str) -> str:
    """Return a label that is unique; that of a ready-cut piece is the letter of its line alone."""
    if not label:
        return position
    return label if label[-1].isdigit() else f"{label} at {position}"
