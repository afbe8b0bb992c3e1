"""A seeded generator of stores as large as a sewing group's: irregular outlines, mixed colours."""

import math
import random
from collections.abc import Iterator

from shapely import Polygon, affinity, box

from scrapstore.store import NewFabric, NewScrap, Store

# Family, value and how often it turns up; common sense, no source.
_CLOTH = (
    ("blue", "dark", 14), ("blue", "medium", 12), ("blue", "light", 6), ("green", "medium", 9),
    ("red", "medium", 8), ("red", "dark", 4), ("pink", "light", 7), ("yellow", "light", 6),
    ("orange", "medium", 4), ("purple", "dark", 4), ("brown", "medium", 6), ("grey", "medium", 6),
    ("white", "light", 14),
)  # fmt: skip


def outline(draw: random.Random) -> Polygon:
    """Return one scrap's outline: a cut rectangle or strip, a corner, or a torn-off shape."""
    kind = draw.random()
    if kind < 0.35:
        return box(0, 0, draw.uniform(2.5, 12), draw.uniform(2.5, 9))
    if kind < 0.55:
        return box(0, 0, draw.uniform(8, 24), draw.uniform(1.25, 3.5))
    if kind < 0.7:
        wide, tall = draw.uniform(4, 12), draw.uniform(4, 10)
        return Polygon([(0, 0), (wide, 0), (draw.uniform(0, wide), tall)])
    corners = draw.randint(5, 14)
    across, up = draw.uniform(2, 6.5), draw.uniform(2, 5)
    turns = sorted(draw.uniform(0, 2 * math.pi) for _ in range(corners))
    ring = [
        (across * draw.uniform(0.6, 1) * math.cos(t), up * draw.uniform(0.6, 1) * math.sin(t))
        for t in turns
    ]
    torn = Polygon(ring)
    return torn if torn.is_valid and torn.area > 4 else torn.convex_hull.buffer(1.0).simplify(0.05)  # type: ignore[return-value]


def scraps(count: int, seed: int = 0) -> Iterator[NewScrap]:
    """Yield `count` scraps; the same seed yields the same ones."""
    draw = random.Random(seed)
    weights = [weight for *_, weight in _CLOTH]
    for number in range(count):
        shape = outline(draw)
        family, value, _ = draw.choices(_CLOTH, weights)[0]
        flaws: tuple[Polygon, ...] = ()
        if draw.random() < 0.1:
            x, y = shape.representative_point().coords[0]
            flaws = (affinity.translate(box(-0.3, -0.3, 0.3, 0.3), x, y),)
        yield NewScrap(
            outline=shape,
            flaws=flaws,
            grain_deg=draw.choice((0.0, 0.0, 90.0, draw.uniform(0, 180), None)),
            margin=0.125,
            name=f"scrap {number}",
            family=family,
            value=value,  # type: ignore[arg-type]
        )


def fill_store(store: Store, count: int, seed: int = 0) -> None:
    """Put `count` scraps of some forty fabrics into an empty store, in one change."""
    draw = random.Random(seed + 1)
    with store.change("fill") as writer:
        fabrics = [writer.add_fabric(NewFabric(name=f"cloth {i}")) for i in range(40)]
        for scrap in scraps(count, seed):
            fabric = draw.choice(fabrics) if draw.random() < 0.8 else None
            writer.add_scrap(scrap if fabric is None else _of(scrap, fabric))


def _of(scrap: NewScrap, fabric: object) -> NewScrap:
    from dataclasses import replace

    return replace(scrap, fabric=fabric)  # type: ignore[arg-type]
