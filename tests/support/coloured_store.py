"""Scraps with swatches, for tests of what is done by colour: named cloths, and large stores."""

from dataclasses import replace

import numpy as np
from shapely import Polygon, box

from scrapstore.colour import Swatch, read_many, reads_as, swatch
from scrapstore.store import NewScrap, Store
from tests.support import big_store

Cloth = tuple[Swatch, ...]

# Colours in sRGB with shares, as one would mix them for a picture of the cloth; our own.
_Cloths = dict[str, tuple[tuple[tuple[int, int, int], float], ...]]
CLOTHS: _Cloths = {
    "navy roses": (((24, 34, 88), 0.86), ((226, 140, 165), 0.10), ((70, 120, 70), 0.04)),
    "navy": (((26, 36, 90), 1.0),),
    "sky": (((140, 190, 230), 1.0),),
    "red": (((190, 30, 40), 1.0),),
    "moss": (((70, 110, 50), 1.0),),
    "lemon": (((245, 225, 90), 1.0),),
    "cream": (((250, 243, 222), 1.0),),
    "red check": (((195, 35, 45), 0.55), ((250, 248, 245), 0.45)),
}
# Cloths that read as grey, and have a tint (but for the plain one).
GREYED: _Cloths = {
    "dusty rose": (((168, 148, 150), 1.0),),
    "sage": (((146, 155, 143), 1.0),),
    "mauve": (((150, 138, 148), 1.0),),
    "plain grey": (((140, 140, 141), 1.0),),
}


def cloth(name: str) -> Cloth:
    return tuple(swatch(rgb, share) for rgb, share in (CLOTHS | GREYED)[name])


def a_read_scrap(name: str, outline: Polygon | None = None) -> NewScrap:
    """A scrap as logging would make it: swatches, and what they read as."""
    read = reads_as(cloth(name))
    return NewScrap(
        outline=outline or box(0, 0, 6, 4),
        name=name,
        swatches=cloth(name),
        family=read.family,
        accents=read.accents,
        value=read.value,
    )


def add_cloths(store: Store, *names: str) -> dict[str, int]:
    """Add a scrap of each cloth (all when none is named); return their numbers by name."""
    with store.change("cloths") as writer:
        return {name: writer.add_scrap(a_read_scrap(name)).id for name in names or CLOTHS}


def random_cloths(count: int, seed: int = 0) -> list[Cloth]:
    """Cloths of one to four colours: a ground of any hue, the rest often near it or pale."""
    draw = np.random.default_rng(seed)
    made = []
    for _ in range(count):
        ground = draw.uniform(20, 250, 3)
        colours = [ground]
        for _ in range(draw.integers(0, 4)):
            other = (
                draw.uniform(0, 255, 3) if draw.random() < 0.5 else ground * draw.uniform(0.5, 1)
            )
            colours.append(other)
        shares = draw.dirichlet([6.0, *[1.5] * (len(colours) - 1)])
        order = np.argsort(-shares)
        made.append(tuple(swatch(colours[at], float(shares[at])) for at in order))
    return made


def fill_coloured(store: Store, count: int, seed: int = 0) -> None:
    """Put `count` scraps with swatches, as `tests.support.big_store` shapes them, into a store."""
    cloths = random_cloths(count, seed)
    readings = read_many(cloths)
    with store.change("fill") as writer:
        for new, one, read in zip(big_store.scraps(count, seed), cloths, readings, strict=True):
            writer.add_scrap(
                replace(
                    new,
                    swatches=one,
                    family=read.family,
                    accents=read.accents,
                    value=read.value,
                )
            )
