"""Small stocks of scraps with known properties, for tests of matching."""

import random
from collections.abc import Mapping

from shapely import Polygon, box

from scrapstore.matching import Need, ReadyStock, RoleRule, ScrapStock

FAMILIES = ("blue", "red", "white")
FABRICS = ("apron drill", "deck stripe", "sail canvas", None)
VALUES = ("light", "medium", "dark")
SQUARE = box(0, 0, 2, 2)
OBLONG = box(0, 0, 2, 3)


def random_stock(
    seed: int, scraps: int
) -> tuple[list[ScrapStock], list[ReadyStock], list[Need], dict[str, RoleRule]]:
    """Return scraps, ready-cut pieces, needs and role rules drawn from `seed`."""
    draw = random.Random(seed)

    def cloth() -> dict[str, object]:
        return {
            "fabric": draw.choice(FABRICS),
            "families": frozenset(draw.sample(FAMILIES, draw.randint(1, 2))),
            "value": draw.choice(VALUES),
        }

    offered = [
        ScrapStock(
            id=i,
            region=_region(draw),
            sides_alike=draw.random() < 0.3,
            one_way=draw.random() < 0.2,
            grain_known=draw.random() < 0.8,
            **cloth(),  # type: ignore[arg-type]
        )
        for i in range(scraps)
    ]
    ready = [
        ReadyStock(id=i, outline=SQUARE, count=draw.randint(1, 3), **cloth())  # type: ignore[arg-type]
        for i in range(draw.randint(0, 2))
    ]
    roles = {name: _rule(draw, name) for name in ("star", "ground")}
    needs = [
        Need("square", "star", SQUARE, draw.randint(2, 9), (0.0,)),
        Need("oblong", "star", OBLONG, draw.randint(1, 6), (0.0, 90.0)),
        Need("corner", "ground", Polygon([(0, 0), (3, 0), (0, 3)]), draw.randint(1, 6),
             (0.0, 90.0, 180.0, 270.0), needs_grain=draw.random() < 0.5),
    ]  # fmt: skip
    return offered, ready, needs, roles


def _region(draw: random.Random) -> Polygon:
    wide, tall = draw.uniform(1.5, 7), draw.uniform(1.5, 5)
    lean = draw.uniform(-0.8, 0.8)
    return Polygon([(0, 0), (wide, 0), (wide + lean, tall), (lean / 2, tall)])


def _rule(draw: random.Random, name: str) -> RoleRule:
    def some(names: tuple[str, ...]) -> frozenset[str]:
        return frozenset(draw.sample(names, 2)) if draw.random() < 0.5 else frozenset()

    return RoleRule(
        name,
        families=some(FAMILIES),
        values=some(VALUES),
        fabrics=frozenset({"apron drill", "deck stripe"}) if draw.random() < 0.2 else frozenset(),
        same_fabric_sets=draw.choice((None, None, 2, 3)),
        min_fabrics=draw.choice((None, None, 2, 4)),
        max_per_fabric=draw.choice((None, None, 3)),
    )


def covered_area(counts: Mapping[str, int], needs: list[Need]) -> float:
    """Return what `counts` pieces of each need are worth in square inches."""
    return sum(counts.get(need.name, 0) * need.outline.area for need in needs)
