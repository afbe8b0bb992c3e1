"""Bringing a store's tables to the shape this program knows, in one transaction.

alembic is imported only when there is something to do: opening a store that is up to date compares
two words.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import Connection

from scrapstore.errors import StoreDamagedError
from scrapstore.resources import resource_folder

if TYPE_CHECKING:
    from alembic.script import ScriptDirectory

__all__ = ["HEAD", "broken_references", "knows", "revision_of", "upgrade", "without_foreign_keys"]

HEAD: Final = "0010"
"""The newest revision in ``migrations/versions``; a test compares the two."""


def revision_of(connection: Connection) -> str | None:
    """Return the revision written in the store; None when there are no tables at all.

    Raises StoreDamagedError when there are tables but no revision.
    """
    names = set(connection.exec_driver_sql("SELECT name FROM sqlite_master").scalars())
    if "alembic_version" in names:
        found = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalars()
        revisions = [str(revision) for revision in found]
        if len(revisions) == 1:
            return revisions[0]
    if not names:
        return None
    msg = "the store does not say which version wrote it; go back to a copy from its backups folder"
    raise StoreDamagedError(msg)


def knows(revision: str) -> bool:
    """Return whether this program has the migration that made `revision`."""
    return revision in {script.revision for script in _scripts().walk_revisions()}


def upgrade(connection: Connection, to: str = HEAD) -> None:
    """Run the migrations from the store's revision up to `to`, inside the caller's transaction.

    The caller commits. Foreign keys must be off on `connection` (`without_foreign_keys`): SQLite
    changes some tables by making a new one and dropping the old.
    """
    from alembic.operations import Operations
    from alembic.runtime.migration import MigrationContext

    scripts = _scripts()

    def steps(revision: Any, _context: MigrationContext) -> Any:
        # alembic's own commands and its cookbook call this; there is no public name for it.
        return scripts._upgrade_revs(to, revision)  # noqa: SLF001

    context = MigrationContext.configure(
        connection, opts={"fn": steps, "transactional_ddl": True, "render_as_batch": True}
    )
    with Operations.context(context):
        context.run_migrations()


@contextmanager
def without_foreign_keys(connection: Connection) -> Iterator[None]:
    """Lift the foreign keys of `connection`; to be entered before its transaction begins.

    SQLite ignores the setting inside a transaction. Look at `broken_references` before committing.
    """
    driver = connection.connection.driver_connection
    if driver is None:
        raise RuntimeError("the connection is closed")
    driver.execute("PRAGMA foreign_keys = OFF")
    try:
        yield
    finally:
        driver.execute("PRAGMA foreign_keys = ON")


def broken_references(connection: Connection) -> list[str]:
    """Return a line for every row that refers to one that is not there."""
    rows = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    return [
        f"{table} row {row} refers to a missing row of {parent}" for table, row, parent, _ in rows
    ]


def _scripts() -> "ScriptDirectory":
    from alembic.script import ScriptDirectory

    return ScriptDirectory(str(resource_folder("migrations")))
