"""Plans in a store of an older version, as a person meets them now."""

import json
from pathlib import Path

import pytest

from scrapstore.store.engine import engine_on, writing
from scrapstore.store.migrate import upgrade
from tests.support.program import Program
from tests.support.stores import old_store

DOCUMENT = json.loads((Path(__file__).parents[1] / "support" / "old_plan.json").read_text("utf-8"))


@pytest.fixture
def old_plans(tmp_path: Path) -> None:
    """A store as it was before plans kept their cuts: one plan can be read, one cannot."""
    (tmp_path / "store").mkdir()
    engine = writing(engine_on(old_store(tmp_path / "store")))
    with engine.begin() as connection:
        upgrade(connection, "0005")
        for number, (name, document) in enumerate((("old", DOCUMENT), ("odd", {})), 1):
            connection.exec_driver_sql(
                "INSERT INTO plans (id, name, project, document, created) VALUES (?, ?, 'Pad', ?, "
                "'2025-03-02 10:00:00.000000')",
                (number, name, json.dumps(document)),
            )
            connection.exec_driver_sql(
                "INSERT INTO plan_stock (id, plan_id, scrap_id) VALUES (?, ?, ?)", (number,) * 3
            )
    engine.dispose()


@pytest.mark.usefixtures("old_plans")
def test_what_is_missing_of_an_old_plan_is_said_with_what_to_do(
    scrapstore: Program, tmp_path: Path
) -> None:
    shown = " ".join(scrapstore("plan", "show", "old").out.split())
    assert "without how its scraps are cut: there are no cuts and no sheets of it." in shown
    assert "plan release 'old', then match the project again." in shown
    assert "ready-cut pieces no. 1: 2 square" in shown
    said = scrapstore("plan", "sheets", "old", str(tmp_path / "sheets"), status=1).err
    assert "For sheets release it and match again" in said
    assert not (tmp_path / "sheets").exists()


@pytest.mark.usefixtures("old_plans")
def test_an_answer_that_cannot_be_read_stops_no_other_plan(scrapstore: Program) -> None:
    listed = scrapstore("plan", "list").out
    assert "6 of 12" in listed
    assert "cannot be read" in listed
    for command in ("show", "sheets"):
        said = scrapstore("plan", command, "odd", status=1).err
        assert "release" in said
        assert "match again" in said
    assert "Released 'odd'" in scrapstore("plan", "release", "odd").out
    assert [plan["name"] for plan in scrapstore("plan", "list", "--json").json["plans"]] == ["old"]
