"""Old stores come up to date with everything in them, or stay as they are."""

import json
import re
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy.exc import IntegrityError

from scrapstore.errors import StoreDamagedError
from scrapstore.resources import resource_folder
from scrapstore.store import StockFilter, open_store, opening, plans
from scrapstore.store.engine import engine_on, writing
from scrapstore.store.migrate import HEAD, upgrade, without_foreign_keys
from scrapstore.store.models import METADATA
from tests.support.processes import run_at_once
from tests.support.stores import integrity, old_store, query, some_crumbs, tables

ROOT = Path(__file__).parents[2]


def test_head_is_the_newest_migration() -> None:
    """The program's own word for it agrees with the folder's."""
    assert ScriptDirectory(str(resource_folder("migrations"))).get_heads() == [HEAD]


def test_models_equal_migrations(tmp_path: Path) -> None:
    """What the migrations make is what the models say, to alembic's eye."""
    with open_store(tmp_path) as store, store._engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, METADATA) == []


def test_models_equal_migrations_in_sql(tmp_path: Path) -> None:
    """Checks, collations and references too, which alembic does not compare."""
    with open_store(tmp_path) as store, store._engine.connect() as connection:
        statements = connection.exec_driver_sql(
            "SELECT sql FROM sqlite_master WHERE sql IS NOT NULL AND name <> 'alembic_version'"
        )
        made = {_normal(sql) for (sql,) in statements}
    with open_store(tmp_path / "other") as other:
        engine = other._engine
        with engine.begin() as connection:
            for table in (
                "plan_stock",
                "plan_pieces",
                "plans",
                "history",
                "changes",
                "scraps",
                "yardage",
                "ready_cut",
                "binding_strips",
                "notions",
                "crumbs",
                "lenses",
            ):
                connection.exec_driver_sql(f"DROP TABLE {table}")
            for table in ("photos", "fabrics", "alembic_version"):
                connection.exec_driver_sql(f"DROP TABLE {table}")
            METADATA.create_all(connection)
        with engine.connect() as connection:
            statements = connection.exec_driver_sql(
                "SELECT sql FROM sqlite_master WHERE sql IS NOT NULL"
            )
            wanted = {_normal(sql) for (sql,) in statements}
    assert made == wanted


def _normal(sql: str) -> str:
    """A CREATE statement with its columns and rules in one order and spacing."""
    sql = re.sub(r"\s+", " ", sql.replace('"', "").replace("'0'", "0"))
    head, _, body = sql.partition("(")
    depth, parts = 0, [""]
    for letter in body.rsplit(")", 1)[0]:
        depth += {"(": 1, ")": -1}.get(letter, 0)
        if letter == "," and depth == 0:
            parts.append("")
        else:
            parts[-1] += letter
    return f"{head.strip()}({', '.join(sorted(part.strip() for part in parts))})"


def test_alembic_runs_from_the_top_of_the_repository() -> None:
    """The section in pyproject.toml is live: alembic finds the folder and sees no difference."""
    done = subprocess.run(
        [sys.executable, "-m", "alembic", "check"], cwd=ROOT, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    assert "No new upgrade operations detected" in done.stdout


def test_an_old_store_keeps_its_data(tmp_path: Path) -> None:
    """Every row of the first shape is there afterwards, and what is new is worked out."""
    file = old_store(tmp_path)
    before = tables(file)
    said: list[str] = []
    with open_store(tmp_path, notify=said.append) as store:
        with store.read() as reader:
            scraps = reader.scraps()
            assert [(scrap.set_aside_for, scrap.cut_out) for scrap in scraps] == [(None, None)] * 3
            assert reader.history()[0].what == "scrap add"
            assert reader.binding_strips(StockFilter(statuses=("used up",)))[0].length == 40
            # 9 in by 2 2/7 in, turned by 14 degrees: shapely's smallest rectangle is the reference.
            assert [scrap.id for scrap in reader.scraps(StockFilter(at_least=(9, 2.2)))] == [3]
        after = tables(store.database)
    assert after.keys() == before.keys()
    for key, row in before.items():
        assert row.items() <= after[key].items()
    for scrap in scraps:
        corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(scrap.outline))
        sides = sorted(
            shapely.Point(corners[i]).distance(shapely.Point(corners[i + 1])) for i in (0, 1)
        )
        assert (scrap.short_side, scrap.long_side) == pytest.approx(tuple(sides))
    assert len(said) == 1
    assert "brought the store" in said[0]


def test_scraps_of_an_old_store_may_have_pictures_afterwards(tmp_path: Path) -> None:
    """The new column takes what a new one would; what was there before is in the history."""
    old_store(tmp_path)
    with open_store(tmp_path) as store:
        kept = store.keep_cut_out(b"picture", (0.0, 0.0, 9.0, 2.0))
        with store.change("test") as writer:
            writer.update_scrap(replace(writer.scrap(1), cut_out=kept))
        with store.read() as reader:
            assert store.cut_out(reader.scrap(1)) == (b"picture", (0.0, 0.0, 9.0, 2.0))
            assert store.cut_out(reader.scrap(2)) is None
            (row,) = reader.history(most=1)[0].rows
    assert row.before is not None
    assert row.after is not None
    assert row.before["cut_out"] is None
    assert row.after["cut_out"]["file_name"] == kept.file_name


def test_old_plans_hold_the_yardage_they_take(tmp_path: Path) -> None:
    """The older one first; one that counted on the same inches gets what is left of them."""
    file = old_store(tmp_path)  # with 27 in of yardage
    engine = writing(engine_on(file))
    with engine.begin() as connection:
        upgrade(connection, "0005")
        plan = "INSERT INTO plans (id, name, project, document, created) VALUES (?, ?, 'Pad', ?, ?)"
        for number, (name, takes) in enumerate((("one", 16.5), ("two", 12.0), ("three", 1.0)), 1):
            document = {"yardage": [{"on_hand": [{"id": 1, "takes": takes}]}]}
            row = (number, name, json.dumps(document), "2025-03-02 10:00:00.000000")
            connection.exec_driver_sql(plan, row)
        row = (4, "odd", "{}", "2025-03-02 10:00:00.000000")
        connection.exec_driver_sql(plan, row)
        connection.exec_driver_sql(
            "INSERT INTO plan_stock (id, plan_id, scrap_id) VALUES (7, 1, 2)"
        )
    engine.dispose()
    with open_store(tmp_path) as store, store.read() as reader:
        kept = plans(reader)
        assert [(plan.name, plan.scrap_ids, plan.yardage) for plan in kept] == [
            ("one", (2,), {1: 16.5}), ("two", (), {1: 10.5}), ("three", (), {}), ("odd", (), {}),
        ]  # fmt: skip
        assert kept[0].document["yardage"][0]["on_hand"][0]["takes"] == 16.5
        assert reader.yardage_length(1).left == 0.0


def test_a_backup_is_made_first(tmp_path: Path) -> None:
    """The copy has the old shape and the old rows, in one file."""
    before = tables(old_store(tmp_path))
    said: list[str] = []
    with open_store(tmp_path, notify=said.append):
        pass
    (backup,) = (tmp_path / "backups").iterdir()
    assert re.fullmatch(r"store-0001-\d{8}T\d{12}\.db", backup.name)
    assert str(backup) in said[0]
    assert integrity(backup) == "ok"
    assert query(backup, "SELECT version_num FROM alembic_version") == [("0001",)]
    assert tables(backup) == before


def test_a_backup_is_a_store_to_go_back_to(tmp_path: Path) -> None:
    """What the messages advise works."""
    old_store(tmp_path)
    with open_store(tmp_path) as store, store.read() as reader:
        scraps = reader.scraps()
    (backup,) = (tmp_path / "backups").iterdir()
    shutil.copy(backup, tmp_path / "store.db")
    with open_store(tmp_path) as store, store.read() as reader:
        assert reader.scraps() == scraps


def test_a_migration_that_fails_leaves_the_old_store(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Even after its last statement: tables, rows and revision are the old ones."""
    file = old_store(tmp_path)
    shape = query(file, "SELECT name, sql FROM sqlite_master ORDER BY name")
    before = tables(file)

    def broken(*_: object) -> list[str]:
        raise RuntimeError("the cat stepped on the keys")

    monkeypatch.setattr(opening, "broken_references", broken)
    with pytest.raises(RuntimeError, match="the cat"):
        open_store(tmp_path)
    assert query(file, "SELECT name, sql FROM sqlite_master ORDER BY name") == shape
    assert query(file, "SELECT version_num FROM alembic_version") == [("0001",)]
    assert tables(file) == before
    monkeypatch.undo()
    with open_store(tmp_path) as store, store.read() as reader:
        assert len(reader.scraps()) == 3


def test_an_old_store_with_loose_ends_is_not_migrated(tmp_path: Path) -> None:
    """A scrap of a fabric that is gone is damage, and is told before anything is kept."""
    file = old_store(tmp_path)
    with closing(sqlite3.connect(file, isolation_level=None)) as connection:
        connection.execute("UPDATE scraps SET fabric_id = 77 WHERE id = 2")
    with pytest.raises(StoreDamagedError, match="scraps row 2 refers to a missing row of fabrics"):
        open_store(tmp_path)
    assert query(file, "SELECT version_num FROM alembic_version") == [("0001",)]


def test_four_processes_migrate_at_once(tmp_path: Path) -> None:
    """One does it and makes one backup; the others wait and go on."""
    old_store(tmp_path, scraps=200)
    answers = run_at_once(open_and_count, [(str(tmp_path),)] * 4)
    assert sorted(answers) == [(0, 200), (0, 200), (0, 200), (1, 200)]
    assert len(list((tmp_path / "backups").iterdir())) == 1


def open_and_count(folder: str) -> tuple[int, int]:
    """In a process of its own: return how much was told, and how many scraps there are."""
    said: list[str] = []
    with open_store(folder, notify=said.append) as store, store.read() as reader:
        return len(said), len(reader.scraps())


def test_changes_of_an_old_store_are_taken_back_by_none(tmp_path: Path) -> None:
    """Its history and plans stay; what became of a plan's pieces can be noted from then on."""
    file = old_store(tmp_path)
    engine = writing(engine_on(file))
    with engine.begin() as connection:
        upgrade(connection, "0006")
        connection.exec_driver_sql(
            "INSERT INTO plans (id, name, project, document, created)"
            " VALUES (1, 'pad', 'Pad', '{}', '2026-01-01 00:00:00.000000')"
        )
    engine.dispose()
    before = query(file, "SELECT id, at, what, program FROM changes ORDER BY id")
    entries = query(file, "SELECT * FROM history ORDER BY id")
    with open_store(tmp_path) as store, store._engine.begin() as connection:
        assert before
        rows = "SELECT id, at, what, program FROM changes WHERE undoes IS NULL ORDER BY id"
        assert query(file, rows) == before
        assert query(file, "SELECT * FROM history ORDER BY id") == entries
        piece = "INSERT INTO plan_pieces (plan_id, label, state) VALUES (?, 'A1', ?)"
        connection.exec_driver_sql(piece, (1, "cut"))
        for wrong in ((1, "cut"), (2, "cut"), (1, "lost")):  # twice; no such plan; no such state
            with pytest.raises(IntegrityError):
                connection.exec_driver_sql(piece, wrong)


def test_scraps_of_an_old_store_have_old_edges_all_round(tmp_path: Path) -> None:
    file = old_store(tmp_path)
    before = query(file, "SELECT id, outline, margin FROM scraps ORDER BY id")
    with open_store(tmp_path) as store:
        with store.read() as reader:
            assert {scrap.old_edges for scrap in reader.scraps()} == {None}
        assert query(file, "SELECT id, outline, margin FROM scraps ORDER BY id") == before


def test_what_old_plans_hold_stays_held_and_strips_may_be_held_too(tmp_path: Path) -> None:
    file = old_store(tmp_path)
    engine = writing(engine_on(file))
    with (
        engine.connect() as connection,
        without_foreign_keys(connection),
        connection.begin(),
    ):
        upgrade(connection, "0008")
        plan = "INSERT INTO plans (id, name, project, document, created) VALUES (?, ?, 'Pad', ?, ?)"
        connection.exec_driver_sql(plan, (1, "one", "{}", "2025-03-02 10:00:00.000000"))
        for columns in ("scrap_id) VALUES (5, 1, 2", "yardage_id, inches) VALUES (6, 1, 1, 4.5"):
            connection.exec_driver_sql(f"INSERT INTO plan_stock (id, plan_id, {columns})")
    engine.dispose()
    held = "SELECT id, plan_id, scrap_id, yardage_id, inches FROM plan_stock ORDER BY id"
    before = query(file, held)
    with open_store(tmp_path) as store:
        assert query(file, held) == before
        with store.read() as reader:
            assert plans(reader)[0].binding_ids == ()
            assert reader.notions("form") == ()
        statement = "INSERT INTO plan_stock (plan_id, scrap_id, binding_id) VALUES (1, ?, 1)"
        with store._engine.begin() as connection:
            with pytest.raises(IntegrityError):
                connection.exec_driver_sql(statement, (1,))
            connection.exec_driver_sql(statement, (None,))


def test_an_old_store_has_no_crumbs_and_takes_some(tmp_path: Path) -> None:
    file = old_store(tmp_path)
    scraps = query(file, "SELECT id, place, family FROM scraps ORDER BY id")
    assert scraps
    with open_store(tmp_path) as store:
        with store.read() as reader:
            assert reader.crumbs() == ()
        with store.change("crumbs add") as writer:
            writer.add_crumbs(some_crumbs())
        assert query(file, "SELECT id, place, family FROM scraps ORDER BY id") == scraps
        assert query(file, "SELECT grams, family FROM crumbs") == [(120.0, "blue")]
        with pytest.raises(IntegrityError), store._engine.begin() as connection:
            connection.exec_driver_sql("UPDATE crumbs SET grams = 0")
