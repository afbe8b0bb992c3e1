"""Stores and forms for tests of the store and of what is done with it."""

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import shapely
from shapely import MultiLineString, Polygon, box
from sqlalchemy import text

from scrapstore.colour import Swatch
from scrapstore.store import (
    CutOut,
    Fabric,
    NewBindingStrip,
    NewCrumbs,
    NewFabric,
    NewLens,
    NewNotion,
    NewPhoto,
    NewReadyCut,
    NewScrap,
    NewYardage,
    StoredPhoto,
)
from scrapstore.store.engine import APPLICATION_ID, engine_on, writing
from scrapstore.store.migrate import upgrade

# The history's word for a row of each table.
KINDS = {
    "fabrics": "fabric",
    "photos": "photo",
    "scraps": "scrap",
    "yardage": "yardage",
    "ready_cut": "ready-cut",
    "binding_strips": "binding",
    "notions": "notion",
    "crumbs": "crumbs",
}
L_SHAPE = Polygon([(0, 0), (12, 0), (12, 4), (5, 4), (5, 9), (0, 9)])


def a_fabric(name: str = "Navy dot") -> NewFabric:
    return NewFabric(
        name=name, fibre="cotton", usable_width=42.5, washed=True, family="blue", value="dark"
    )


def a_photo(number: int = 1) -> NewPhoto:
    return NewPhoto(sha256=f"{number:064x}", file_name=f"{number:064x}.jpg", width=640, height=480)


def a_scrap(fabric: Fabric | None = None, photo: StoredPhoto | None = None) -> NewScrap:
    """A scrap with every field filled in."""
    return NewScrap(
        outline=Polygon(L_SHAPE.exterior.coords, [box(1, 1, 2, 2).exterior.coords]),
        flaws=(box(7, 1, 7.5, 1.3), box(0.1, 7, 0.3, 7.7)),
        grain_deg=91.25,
        margin=0.125,
        uncertainty=0.01,
        old_edges=MultiLineString([list(L_SHAPE.exterior.coords)[:2]]),
        name="sleeve",
        place="bin 2",
        from_project="Star",
        fabric=fabric,
        photo=photo,
        cut_out=None if photo is None else CutOut(photo.file_name, (-0.15, -0.15, 12.2, 9.2)),
        swatches=(Swatch(rgb=(20, 30, 90), lab=(13.1, 20.5, -38.25), share=1.0),),
        family="blue",
        accents=("pink", "white"),
        value="dark",
        corrected=("family",),
        note="ironed",
    )


def a_length(fabric: Fabric) -> NewYardage:
    return NewYardage(fabric=fabric, length=27.0, place="shelf", note="torn end")


def some_pieces(fabric: Fabric | None = None) -> NewReadyCut:
    return NewReadyCut(
        kind="square",
        label="square, 4 1/2 in",
        measures={"side": 4.5},
        cut=box(0, 0, 5, 5),
        count=12,
        fabric=fabric,
    )


def a_strip(fabric: Fabric | None = None) -> NewBindingStrip:
    return NewBindingStrip(width=2.5, length=40.0, end_slope_deg=45.0, fabric=fabric)


def some_crumbs(fabric: Fabric | None = None) -> NewCrumbs:
    return NewCrumbs(grams=120.0, family="blue", place="tin", note="strings", fabric=fabric)


def a_form(fabric: Fabric | None = None) -> NewNotion:
    return NewNotion(kind="form", width=18.0, length=12.0, count=2, fabric=fabric)


def a_lens(photo: StoredPhoto | None = None) -> NewLens:
    return NewLens(
        name="Sample Camera with a long name, 5.42 mm (26 mm eq.), 1.33:1",
        focal=0.72,
        k1=0.024,
        focal_sigma=0.01,
        k1_sigma=0.003,
        photo=photo,
    )


def tables(database: Path) -> dict[tuple[str, int], dict[str, Any]]:
    """Every row of a store that has a history, read with plain sqlite3, by (kind, number)."""
    rows: dict[tuple[str, int], dict[str, Any]] = {}
    with closing(sqlite3.connect(database)) as connection:
        connection.row_factory = sqlite3.Row
        there = {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
        for table, kind in KINDS.items():
            if table not in there:
                continue  # of an old store
            for row in connection.execute(f"SELECT * FROM {table}"):  # noqa: S608 - our own names
                rows[kind, row["id"]] = {key: _plain(row[key]) for key in row.keys()}  # noqa: SIM118
    return rows


def _plain(value: Any) -> Any:
    if isinstance(value, bytes):
        return json.loads(shapely.to_geojson(shapely.from_wkb(value)))
    return value


def old_store(folder: Path, scraps: int = 3) -> Path:
    """Make a store of the first shape there was, with rows in every table; return its database."""
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / "store.db"
    engine = writing(engine_on(file))
    with engine.begin() as connection:
        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
        upgrade(connection, "0001")
        moment = "2025-03-01 10:00:00.000000"
        connection.execute(
            text(
                "INSERT INTO fabrics (id, name, one_way_print, alike, retired, created)"
                " VALUES (1, 'Navy dot', 0, 1, 0, :moment)"
            ),
            {"moment": moment},
        )
        connection.execute(
            text(
                "INSERT INTO photos (id, sha256, file_name, width, height, created)"
                " VALUES (1, 'aa', :file, 640, 480, :moment)"
            ),
            {"moment": moment, "file": f"{'a' * 64}.jpg"},
        )
        insert = text(
            "INSERT INTO scraps (id, outline, margin, uncertainty, area, place, fabric_id,"
            " photo_id, swatches, accents, corrected, status, created) VALUES"
            " (:id, :outline, 0.125, 0, :area, 'bin 2', 1, 1, '[]', '[\"pink\"]', '[]',"
            " 'available', :moment)"
        )
        outlines = [shapely.affinity.rotate(box(0, 0, 9, 2 + i / 7), 7 * i) for i in range(scraps)]
        connection.execute(
            insert,
            [
                {
                    "id": number,
                    "outline": shapely.to_wkb(outline, byte_order=1),
                    "area": outline.area,
                    "moment": moment,
                }
                for number, outline in enumerate(outlines, 1)
            ],
        )
        for statement in (
            "INSERT INTO yardage (id, fabric_id, length, status, created)"
            " VALUES (1, 1, 27, 'available', :moment)",
            "INSERT INTO binding_strips (id, width, length, start_slope_deg, end_slope_deg, status,"
            " created) VALUES (1, 2.5, 40, 0, 45, 'used up', :moment)",
            "INSERT INTO changes (id, at, what, program) VALUES (1, :moment, 'scrap add', '0.0.9')",
            "INSERT INTO history (change_id, kind, row_id, after)"
            " VALUES (1, 'scrap', 1, '{\"id\": 1}')",
        ):
            connection.execute(text(statement), {"moment": moment})
        connection.execute(
            text(
                "INSERT INTO ready_cut (id, kind, label, measures, cut, long_side, short_side,"
                " seam_allowance, count, status, created) VALUES"
                " (1, 'square', 'square', '{\"side\": 4.5}', :cut, 5, 5, 0.25, 12, 'available',"
                " :moment)"
            ),
            {"cut": shapely.to_wkb(box(0, 0, 5, 5), byte_order=1), "moment": moment},
        )
    engine.dispose()
    return file


def contents(database: Path) -> dict[str, list[str]]:
    """Every row of every table but the history's two, byte for byte, through plain sqlite3."""
    with closing(sqlite3.connect(database)) as connection:
        connection.text_factory = bytes
        names = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        tables = {name.decode() for (name,) in names} - {"changes", "history"}
        return {
            table: [repr(row) for row in connection.execute(f"SELECT * FROM {table} ORDER BY 1")]  # noqa: S608 - our own names
            for table in sorted(tables)
        }


def integrity(database: Path) -> str:
    """What SQLite says of the file."""
    with closing(sqlite3.connect(database)) as connection:
        return "; ".join(line for (line,) in connection.execute("PRAGMA integrity_check"))


def query(database: Path, statement: str) -> list[Any]:
    """The rows of a statement, through plain sqlite3."""
    with closing(sqlite3.connect(database)) as connection:
        return connection.execute(statement).fetchall()
