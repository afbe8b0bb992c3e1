"""Bags of crumbs for roles that may be filled with them; what is in a bag nobody has counted."""

from collections.abc import Iterable, Sequence

from scrapstore.projects import Project, Role
from scrapstore.sentences import several
from scrapstore.store import Crumbs
from scrapstore.units import Units
from scrapstore.weights import format_weight

__all__ = ["bags_for", "fill_notes"]


def bags_for(role: Role, bags: Iterable[Crumbs]) -> tuple[Crumbs, ...]:
    """Return the bags that a role allows by colour, fabric and fibre, the heaviest first.

    A bag of which a condition asks something nobody knows is not among them.
    """

    def suits(bag: Crumbs) -> bool:
        name = bag.fabric.name if bag.fabric else None
        fibre = (bag.fabric.fibre or "").strip().lower() if bag.fabric else ""
        return (
            not role.scraps
            and (not role.families or bag.shown_family in role.families)
            and (not role.values or bag.shown_value in role.values)
            and (not role.fabrics or name in role.fabrics)
            and (not role.fibres or fibre in {one.strip().lower() for one in role.fibres})
        )

    found = [bag for bag in bags if suits(bag)]
    return tuple(sorted(found, key=lambda bag: (-(bag.grams or 0.0), bag.id)))


def fill_notes(project: Project, bags: Sequence[Crumbs], units: Units) -> tuple[str, ...]:
    """Return a sentence for each role that may be filled with crumbs: which bags suit it."""
    notes = []
    for name, role in project.roles.items():
        if role.fill != "scrappy":
            continue
        some = [_called(bag, units) for bag in bags_for(role, bags)]
        if some:
            notes.append(
                f"{name}: for scrappy fill there is {several(some)}; no piece is counted on from "
                "there"
            )
        else:
            notes.append(f"{name}: no bag of crumbs in the store suits it for scrappy fill")
    return tuple(notes)


def _called(bag: Crumbs, units: Units) -> str:
    weight = "not weighed" if bag.grams is None else format_weight(bag.grams, units)
    words = (weight, bag.shown_family or "", f"in {bag.place}" if bag.place else "")
    return f"bag {bag.id} ({', '.join(word for word in words if word)})"
