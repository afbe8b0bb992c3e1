"""What pieces of a design belong together: wedges, rows of blocks, blocks, rows, units."""

from collections import defaultdict
from collections.abc import Hashable, Sequence

from scrapstore.designs.forms import PlacedPiece
from scrapstore.designs.sewing.subdivision import Subdivision

__all__ = ["piece_groups"]


def piece_groups(pieces: Sequence[PlacedPiece], top: Subdivision) -> list[tuple[Hashable, ...]]:
    """Return for each piece its groups, the largest first, as many for each; None for no group.

    Positions such as 1.2.3 count from large to small, so each beginning names a group. A group that
    is not connected cannot be sewn first, and is none.
    """
    named = [one.position.split(".")[:-1] for one in pieces]
    deepest = max(map(len, named))
    groups: list[list[Hashable]] = [
        [
            one.wedge,
            *(".".join(name[:depth]) if depth <= len(name) else None
              for depth in range(1, deepest + 1)),
            one.unit,
        ]
        for one, name in zip(pieces, named, strict=True)
    ]  # fmt: skip
    for depth in range(deepest + 2):
        members: dict[Hashable, list[int]] = defaultdict(list)
        for piece, own in enumerate(groups):
            members[own[depth]].append(piece)
        for group in members.values():
            if top.spread(group[0], frozenset(group), set()) != frozenset(group):
                for piece in group:
                    groups[piece][depth] = None
    return [tuple(own) for own in groups]
