"""Stores with some of everything, drawn at random: as a quilter's would be after some visits."""

import random
from dataclasses import replace
from pathlib import Path
from typing import Final

from shapely import Polygon, affinity, box

from scrapstore.store import (
    NewCrumbs,
    NewCut,
    NewNotion,
    NewPhoto,
    NewPlan,
    NewScrap,
    Store,
    StripRest,
    Writer,
    book_cuts,
    hold_strips,
    keep_lens,
    keep_plan,
    numbers_to_undo,
    open_store,
    plan_named,
    release_plan,
)
from tests.support.stores import a_fabric, a_length, a_lens, a_scrap, a_strip, some_pieces

__all__ = ["random_store"]

_WORDS: Final = ("tin", "bin 2", "Kiste über der Tür", "=2+3", 'a "quoted", word', "½", "", "0")


def random_store(folder: Path, seed: int) -> Path:
    """Make a store of some fifty rows in `folder`, a row in every table among them; return it."""
    draw = random.Random(seed)
    with open_store(folder) as store:
        _first_visit(store, draw)
        for visit in range(draw.randint(2, 5)):
            with store.change("scrap edit") as writer:
                _edits(writer, draw, visit)
        _plans(store, draw)
        with store.change("scrap add") as writer:
            writer.add_scrap(_scrap(draw))
        if draw.random() < 0.7:
            with store.read() as reader:
                numbers = numbers_to_undo(reader)
            store.undo(numbers)
    return folder


def _first_visit(store: Store, draw: random.Random) -> None:
    photos = [store.keep_photo(draw.randbytes(draw.randint(1, 4000)), ".jpg") for _ in range(4)]
    cut_outs = [
        store.keep_cut_out(draw.randbytes(draw.randint(1, 900)), (-0.15, -0.15, 12.2, 9.2))
        for _ in range(3)
    ]
    store.keep_photo(draw.randbytes(50), ".png")  # spare
    with store.change("log") as writer:
        fabrics = [writer.add_fabric(a_fabric(f"Dot {n} {draw.choice(_WORDS)}")) for n in range(3)]
        kept = [
            writer.add_photo(
                NewPhoto(sha256=f"{n}{draw.getrandbits(200):050x}", file_name=name, width=640,
                         height=480, original_name=f"IMG {n}.jpg",
                         focal_length_mm=draw.choice((None, draw.random() * 9)))
            )
            for n, name in enumerate(photos)
        ]  # fmt: skip
        for photo, cut_out in zip(kept, cut_outs, strict=False):
            scrap = a_scrap(draw.choice(fabrics), photo)
            writer.add_scrap(replace(scrap, cut_out=cut_out, note=draw.choice(_WORDS) or None))
        parent = writer.add_scrap(_scrap(draw))
        writer.add_scrap(replace(_scrap(draw), parent_id=parent.id))
        for _ in range(draw.randint(4, 9)):
            writer.add_scrap(replace(_scrap(draw), fabric=draw.choice((None, *fabrics))))
        for fabric in fabrics:
            writer.add_yardage(replace(a_length(fabric), length=draw.uniform(20, 90)))
            writer.add_ready_cut(replace(some_pieces(fabric), count=draw.randint(3, 40)))
            writer.add_binding_strip(a_strip(fabric))
        writer.add_crumbs(NewCrumbs(grams=draw.uniform(20, 900), family="blue"))
        writer.add_notion(NewNotion(kind="form", length=12.0, width=18.0, count=2))
        writer.add_notion(NewNotion(kind="zip", length=draw.uniform(8, 20)))
        keep_lens(writer, a_lens(kept[0]))


def _scrap(draw: random.Random) -> NewScrap:
    width, height = draw.uniform(1, 30), draw.uniform(1, 30)
    outline = Polygon([(0, 0), (width, 0), (width, height), (width / 3, height), (0, height / 2)])
    turned = affinity.rotate(draw.choice((box(0, -0.0, width, height), outline)), draw.random())
    return NewScrap(
        outline=turned,
        margin=draw.choice((0.0, 0.125)),
        grain_deg=draw.choice((None, draw.uniform(0, 180))),
        place=draw.choice(_WORDS) or None,
        note=draw.choice(_WORDS) or None,
        family=draw.choice((None, "blue", "red")),
    )


def _edits(writer: Writer, draw: random.Random, visit: int) -> None:
    scraps = writer.scraps()
    for scrap in draw.sample(scraps, 2):
        writer.update_scrap(replace(scrap, place=f"shelf {visit}", grain_deg=draw.uniform(0, 90)))
    writer.update_scrap(replace(scraps[-1], status="used up"))
    lot = writer.ready_cut()[0]
    writer.update_ready_cut(replace(lot, count=lot.count + 1))


def _plans(store: Store, draw: random.Random) -> None:
    document = {
        "name": "Pad",
        "numbers": [draw.random() for _ in range(5)],
        "deep": {"a": [1, -0.0]},
    }
    for name in ("bench", "sofa", "gone"):
        with store.change("plan keep") as writer:
            free = [scrap.id for scrap in writer.scraps() if scrap.parent_id is None]
            while len(free) < 2:
                free.append(writer.add_scrap(_scrap(draw)).id)
            lots = [lot for lot in writer.ready_cut() if lot.count > 2]
            length = draw.choice(writer.yardage())
            kept = keep_plan(
                writer,
                NewPlan(name=name, project="Pad", document=document,
                        scrap_ids=tuple(draw.sample(free, 2)), ready={lots[0].id: 2},
                        yardage={length.id: length.left / 3}),
            )  # fmt: skip
            strips = writer.binding_strips()
            rests = (StripRest(2.5, 3.0, 0.0, 45.0),)
            hold_strips(writer, kept.id, name, {strips[0].id: rests} if strips else {})
    with store.change("plan release") as writer:
        release_plan(writer, "gone")
    with store.change("cut") as writer:
        first = plan_named(writer, "bench").scrap_ids[0]
        book_cuts(
            writer,
            "bench",
            [
                NewCut(scrap_id=first, lots=((some_pieces(), ("A1", "A2")),),
                       spoilt={"A3": _scrap(draw)}, not_cut=("A4",),
                       offcuts=(replace(_scrap(draw), parent_id=first),)),
            ],
        )  # fmt: skip
