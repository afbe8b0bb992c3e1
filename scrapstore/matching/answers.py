"""From a choice to the answer: what each need gets, which pieces lie where, what is not kept."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from scrapstore.matching.choose import Choice
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
from scrapstore.matching.ready import pieces_each
from scrapstore.matching.search import ScrapSearch

__all__ = ["answer_of"]


def answer_of(
    choice: Choice,
    search: ScrapSearch,
    scraps: Sequence[ScrapStock],
    limits: Sequence[int],
    together: tuple[int, float],
    *,
    stopped: bool,
) -> Answer:
    """Return the answer of a choice.

    `limits` are how many pieces each need can get at the very most, `together` how many pieces and
    how much area all of them can.
    """
    needs = search.needs
    supplies = _supplies(choice, limits, needs)
    covered = sum(supply.ready + supply.scraps for supply in supplies)
    return Answer(
        supplies=supplies,
        ready_uses=dict(sorted(choice.ready.items())),
        ready_parts=_ready_parts(choice, search.ready, needs),
        scrap_uses=_uses(choice, needs, search.classes),
        unmet=_unmet(choice, scraps, search.ready, needs, search.roles),
        scraps_looked_at=len(search.gives_of),
        together=Totals(
            covered=covered,
            wanted=sum(supply.wanted for supply in supplies),
            # Where the best plan covers everything, that is the limit of the others too.
            at_most=max(covered, together[0]),
            area=choice.area,
            area_at_most=max(choice.area, together[1]),
        ),
        choice_proven=choice.proven,
        stopped=stopped,
    )


def _supplies(choice: Choice, limits: Sequence[int], needs: Sequence[Need]) -> tuple[Supply, ...]:
    return tuple(
        Supply(
            need=need.name,
            wanted=need.wanted,
            ready=sum(count for (_, name), count in choice.ready.items() if name == need.name),
            scraps=sum(count for (_, name), count in choice.cut.items() if name == need.name),
            at_most=limit,
        )
        for need, limit in zip(needs, limits, strict=True)
    )


def _ready_parts(
    choice: Choice, ready: Sequence[ReadyStock], needs: Sequence[Need]
) -> dict[tuple[int, str], int]:
    """Return into how many pieces those ready-cut ones are cut that are not taken as they are."""
    stock_of, need_of = {one.id: one for one in ready}, {need.name: need for need in needs}
    each = {
        (stock, name): pieces_each(stock_of[stock], need_of[name])
        for stock, name in sorted(choice.ready)
    }
    return {key: count for key, count in each.items() if count > 1}


def _uses(
    choice: Choice, needs: Sequence[Need], classes: Mapping[str, str]
) -> tuple[ScrapUse, ...]:
    """Name each piece of the chosen patterns after its need; drop those the plan does not count on.

    Pieces are taken from one end of the scrap, so that what is spared stays in one length.
    """
    uses = []
    for scrap_id, pattern in sorted(choice.patterns.items()):
        corners = np.concatenate(
            [np.asarray(p.outline.exterior.coords) for p in pattern.placements]
        )
        along = int(np.argmax(np.ptp(corners, axis=0)))
        order = sorted(
            pattern.placements, key=lambda p: (p.outline.bounds[along + 2], p.outline.bounds)
        )
        queues: dict[str, list[str]] = {}
        for need in needs:
            count = choice.cut.get((scrap_id, need.name), 0)
            queues.setdefault(classes[need.name], []).extend([need.name] * count)
        kept = [
            replace(placement, kind=queues[placement.kind].pop(0))
            for placement in order
            if queues.get(placement.kind)
        ]
        if kept:
            uses.append(ScrapUse(scrap_id, tuple(kept)))
    return tuple(uses)


def _unmet(
    choice: Choice,
    scraps: Sequence[ScrapStock],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
) -> tuple[str, ...]:
    fabric = {("scrap", s.id): s.cloth_key for s in scraps}
    fabric |= {("ready", r.id): r.cloth_key for r in ready}
    role_of = {need.name: need.role for need in needs}
    sentences = []
    for role in roles.values():
        if not role.min_fabrics or role.taken is not None:
            continue
        shown = {fabric["scrap", s] for (s, n) in choice.cut if role_of[n] == role.name}
        shown |= {fabric["ready", r] for (r, n) in choice.ready if role_of[n] == role.name}
        if len(shown) < role.min_fabrics:
            sentences.append(
                f"{role.name}: asks for at least {role.min_fabrics} different fabrics; "
                f"this plan shows {len(shown)}; add the others when you cut or buy more"
            )
    return tuple(sentences)
