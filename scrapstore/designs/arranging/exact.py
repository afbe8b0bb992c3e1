"""For how many groups of places there is cloth, by an exact model (CP-SAT)."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from scrapstore.designs.arranging.forms import OfferedCloth, RoleConditions
from scrapstore.designs.arranging.groups import Groups, fabric_numbers

__all__ = ["most_laid"]

_EFFORT: Final = 4.0
"""The solver's own count of work, about seconds."""
_MOST: Final = 40_000
"""Pairs of a group and a cloth; more is not modelled."""


def most_laid(
    groups: Groups,
    cloths: Sequence[OfferedCloth],
    seed: int,
    *,
    apart: bool = True,
    conditions: Mapping[str, RoleConditions] | None = None,
) -> tuple[tuple[int | None, ...] | None, bool]:
    """Return cloths for as many groups as can have one, by CP-SAT, and whether that is proven.

    Conditions of roles hold only where every group has a cloth, so they are asked for first with
    all groups; None for the cloths where there are too many of them, or no time was left.
    """
    if sum(len(each) for each in groups.allowed) > _MOST:
        return None, False
    if conditions:
        whole = _modelled(groups, cloths, seed, conditions, apart=apart)
        if whole[0] is not None:
            return whole
    return _modelled(groups, cloths, seed, None, apart=apart)


def _modelled(
    groups: Groups,
    cloths: Sequence[OfferedCloth],
    seed: int,
    conditions: Mapping[str, RoleConditions] | None,
    *,
    apart: bool,
) -> tuple[tuple[int | None, ...] | None, bool]:
    """Model and solve it; with `conditions` every group must have a cloth."""
    from ortools.sat.python import cp_model

    model: Any = cp_model.CpModel()
    lies = [{c: model.new_bool_var("") for c in allowed} for allowed in groups.allowed]
    for each in lies:
        (model.add_at_most_one if conditions is None else model.add_exactly_one)(each.values())
    for cloth, one in enumerate(cloths):
        here = [(g, each[cloth]) for g, each in enumerate(lies) if cloth in each]
        if not here:
            continue
        way = [model.new_bool_var("") for _ in one.gives]
        model.add_at_most_one(way)
        for kind in range(len(groups.top.kinds)):
            taken = sum(groups.takes[g][kind] * var for g, var in here)
            model.add(taken <= sum(a[kind] * var for a, var in zip(one.gives, way, strict=True)))
    if apart:
        _keep_apart(model, groups, cloths, lies)
    for role, rule in (conditions or {}).items():
        _hold(model, groups, cloths, lies, role, rule)
    model.maximize(sum(var for each in lies for var in each.values()))
    solver = cp_model.CpSolver()
    # One worker and a limit in its own count of work: the same input gives the same answer.
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed % (2**31)
    solver.parameters.max_deterministic_time = _EFFORT
    solver.parameters.catch_sigint_signal = False
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, status == cp_model.INFEASIBLE
    chosen = tuple(
        next((c for c, var in each.items() if solver.boolean_value(var)), None) for each in lies
    )
    return chosen, status == cp_model.OPTIMAL


def _keep_apart(
    model: Any, groups: Groups, cloths: Sequence[OfferedCloth], lies: Sequence[Mapping[int, Any]]
) -> None:
    """Let no two groups that share an edge have one fabric."""
    fabrics = fabric_numbers(cloths)
    for g, beside in enumerate(groups.beside):
        for other in sorted(n for n in beside if n > g):
            both: dict[int, list[Any]] = {}
            for each in (lies[g], lies[other]):
                for c, var in each.items():
                    both.setdefault(fabrics[c], []).append(var)
            for variables in both.values():
                model.add_at_most_one(variables)


def _hold(
    model: Any,
    groups: Groups,
    cloths: Sequence[OfferedCloth],
    lies: Sequence[Mapping[int, Any]],
    role: str,
    rule: RoleConditions,
) -> None:
    """Hold the conditions of one role, as `RoleConditions.broken` looks at them."""
    terms: dict[tuple[str, str], list[Any]] = {}
    for group, each in zip(groups.places, lies, strict=True):
        for at in group:
            place = groups.top.places[at]
            if place.role == role:
                for cloth, var in each.items():
                    terms.setdefault((place.line, cloths[cloth].fabric), []).append(var)
    by_fabric: dict[str, list[Any]] = {}
    for (_, fabric), variables in terms.items():
        by_fabric.setdefault(fabric, []).extend(variables)
        if rule.same_fabric_sets:
            sets = model.new_int_var(0, len(variables), "")
            model.add(sum(variables) == rule.same_fabric_sets * sets)
    shown = []
    for variables in by_fabric.values():
        if rule.max_per_fabric:
            model.add(sum(variables) <= rule.max_per_fabric)
        if rule.min_fabrics:
            shown.append(model.new_bool_var(""))
            model.add(sum(variables) >= shown[-1])
    if rule.min_fabrics:
        model.add(sum(shown) >= rule.min_fabrics)
