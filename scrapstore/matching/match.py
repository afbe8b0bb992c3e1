"""The whole answer: screen the stock, draw patterns, choose, and say what stays short."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from scrapstore.matching.aims import DEFAULT_AIMS, Aim
from scrapstore.matching.choose import Choice, choose
from scrapstore.matching.forms import (
    Answer,
    Need,
    ReadyStock,
    RoleRule,
    ScrapStock,
    ScrapUse,
    Supply,
    Together,
)
from scrapstore.matching.limits import limit_each, limit_together
from scrapstore.matching.patterns import (
    Pattern,
    class_kinds,
    cut_classes,
    first_patterns,
    further_patterns,
    undominated,
)
from scrapstore.matching.screen import Screen, screen
from scrapstore.matching.supply import LookingOrder, wanting

__all__ = ["match"]

Progress = Callable[[int, int], None]
"""Called with (scraps looked at, scraps that might serve)."""

_BATCH = 6  # scraps looked at between two reckonings of what is still wanting


def match(
    scraps: Sequence[ScrapStock],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    *,
    aims: Sequence[Aim] = DEFAULT_AIMS,
    seconds_per_scrap: float = 0.1,
    oversupply: float = 2.0,
    most_looks: int = 1500,
    seed: int = 0,
    progress: Progress | None = None,
) -> Answer:
    """Return the best plan found for covering `needs` from `ready` and `scraps`.

    Scraps are screened all at once; those that might serve are looked at, most promising first,
    until what they could give comes to `oversupply` times what is wanted of every need, until all
    have been looked at, or `most_looks` have. A scrap that could only give what is plentiful
    already is passed over. An interrupt (Ctrl-C) ends the looking, and the best plan from what was
    seen is returned with `stopped` set. The same input and seed give the same plan.
    """
    search = _Search(screen(scraps, needs, roles), ready, needs, roles, seconds_per_scrap, seed)
    stopped = False
    try:
        search.look_round(oversupply, most_looks, progress)
        choice = choose(scraps, search.patterns(), ready, needs, roles, aims=aims)
        if search.deepen(choice, most_looks // 4, progress):
            choice = choose(scraps, search.patterns(), ready, needs, roles, aims=aims)
    except KeyboardInterrupt:
        stopped = True
        choice = choose(scraps, search.patterns(), ready, needs, roles, aims=aims)
    most = search.most()
    limits = limit_each(most, search.screened, ready, needs, roles)
    supplies = _supplies(choice, limits, needs)
    return Answer(
        supplies=supplies,
        ready_uses=dict(sorted(choice.ready.items())),
        scrap_uses=_uses(choice, needs, search.classes),
        unmet=_unmet(choice, scraps, ready, needs, roles),
        scraps_looked_at=len(search.gives_of),
        scraps_that_might=len(search.screened.scraps),
        together=_together(supplies, search, most, limits),
        choice_proven=choice.proven,
        stopped=stopped,
    )


@dataclass
class _Search:
    """The scraps that might serve, and what is known of those that were looked at."""

    screened: Screen
    ready: Sequence[ReadyStock]
    needs: Sequence[Need]
    roles: Mapping[str, RoleRule]
    seconds: float
    seed: int
    classes: dict[str, str] = field(init=False)
    found: dict[int, tuple[Pattern, ...]] = field(init=False, default_factory=dict)
    gives_of: dict[int, dict[str, int]] = field(init=False, default_factory=dict)
    at_most: dict[tuple[int, str], int] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self.classes = cut_classes(self.needs)

    def patterns(self) -> list[Pattern]:
        """Return the patterns found, by scrap."""
        return [p for row in sorted(self.found) for p in self.found[row]]

    def look_round(self, oversupply: float, most_looks: int, progress: Progress | None) -> None:
        """Look at scraps, most promising first; see `match` for when it ends."""
        order = LookingOrder(self.screened, self.needs, self.roles)
        gives: dict[tuple[int, str], int] = {}
        asked: set[tuple[int, str]] = set()
        while len(self.gives_of) < most_looks:
            short = wanting(gives, self.screened, self.needs, self.roles, self.classes, oversupply)
            rows: list[int] = []
            for j in short:
                done = {row for row, name in asked if name == self.classes[self.needs[j].name]}
                share = max(1, _BATCH // len(short))
                rows += [r for r in order.take(j, share, done) if r not in rows]
            if not rows:
                break
            open_classes = {self.classes[self.needs[j].name] for j in short}
            for row in rows:
                self._look(row, open_classes, gives)
                asked |= {(row, name) for name in open_classes}
                if progress is not None:
                    progress(len(self.gives_of), len(self.screened.scraps))

    def _usable(self, row: int) -> list[Need]:
        return [need for j, need in enumerate(self.needs) if self.screened.may[row, j]]

    def _look(self, row: int, open_classes: set[str], gives: dict[tuple[int, str], int]) -> None:
        scrap = self.screened.scraps[row]
        kinds = [
            kind
            for kind in class_kinds(scrap, self._usable(row), self.classes)
            if kind.name in open_classes and (row, kind.name) not in self.at_most
        ]
        if not kinds:
            return
        patterns, at_most = first_patterns(
            scrap, kinds, seconds=self.seconds, seed=self.seed, rows_only=True
        )
        self.found[row] = (*self.found.get(row, ()), *patterns)
        counts = self.gives_of.setdefault(row, {})
        for name, most in at_most.items():
            self.at_most[row, name] = most
            counts[name] = max((p.counts.get(name, 0) for p in patterns), default=0)
            if counts[name]:
                gives[row, name] = counts[name]

    def deepen(self, choice: Choice, most_looks: int, progress: Progress | None) -> bool:
        """Look harder where something is short; tell whether there is a new pattern.

        Where `choice` covers everything, nothing is to be gained. Else the scraps that serve what
        is short, up to `most_looks` of them, are filled freely instead of in rows, and those of
        the choice that hold one kind of piece get others beside it.
        """
        short = {
            self.classes[need.name]
            for need in self.needs
            if sum(n for (_, name), n in (*choice.cut.items(), *choice.ready.items())
                   if name == need.name) < need.wanted
        }  # fmt: skip
        chosen = choice.patterns.keys()
        rows = [
            row
            for row in sorted(
                self.found, key=lambda r: (self.screened.scraps[r].id not in chosen, r)
            )
            if short & self.gives_of[row].keys()
        ][:most_looks]
        changed = False
        for number, row in enumerate(rows):
            scrap, before = self.screened.scraps[row], self.found[row]
            kinds = class_kinds(scrap, self._usable(row), self.classes)
            free, at_most = first_patterns(
                scrap,
                [kind for kind in kinds if kind.name in short],
                seconds=self.seconds,
                seed=self.seed,
            )
            found = undominated((*before, *free))
            if len(kinds) > 1 and scrap.id in chosen:
                found = further_patterns(scrap, found, kinds, seconds=self.seconds, seed=self.seed)
            self.found[row] = found
            for name, most in at_most.items():
                self.at_most[row, name] = min(most, self.at_most.get((row, name), most))
            changed |= found != before
            if progress is not None:
                progress(number + 1, len(rows))
        return changed

    def most(self) -> NDArray[np.int64]:
        """Return the proven limits, (scraps that might serve, needs)."""
        most = self.screened.most.copy()
        for (row, name), count in self.at_most.items():
            for j, need in enumerate(self.needs):
                if self.classes[need.name] == name:
                    most[row, j] = min(most[row, j], count)
        return most


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


def _together(
    supplies: Sequence[Supply], search: _Search, most: NDArray[np.int64], limits: Sequence[int]
) -> Together:
    """Say what all needs get together and at most could; see `limit_together`."""
    covered = sum(supply.ready + supply.scraps for supply in supplies)
    wanted = sum(supply.wanted for supply in supplies)
    area = [need.outline.area for need in search.needs]
    covered_area = sum(
        (s.ready + s.scraps) * piece for s, piece in zip(supplies, area, strict=True)
    )
    if covered == wanted:
        return Together(covered, wanted, covered, covered_area, covered_area)
    args = most, limits, search.screened, search.ready, search.needs, search.roles
    pieces = int(limit_together(*args, [1.0] * len(area)) + 1e-6)
    return Together(
        covered=covered,
        wanted=wanted,
        at_most=max(covered, pieces),
        area=covered_area,
        area_at_most=max(covered_area, limit_together(*args, area)),
    )


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
        if not role.min_fabrics:
            continue
        shown = {fabric["scrap", s] for (s, n) in choice.cut if role_of[n] == role.name}
        shown |= {fabric["ready", r] for (r, n) in choice.ready if role_of[n] == role.name}
        if len(shown) < role.min_fabrics:
            sentences.append(
                f"{role.name}: asks for at least {role.min_fabrics} different fabrics; "
                f"the stock at hand gives {len(shown)}, so the rest must be among what you buy"
            )
    return tuple(sentences)
