"""alembic's entry for the commands developers run from the top of the repository.

``alembic revision --autogenerate -m "…"`` and ``alembic check`` compare the models with a scratch
database that the migrations themselves have just made, so no store needs to be at hand. To run
alembic on a real store, name its folder: ``alembic -x store=FOLDER current``.

The program itself does not come through here: see ``scrapstore/store/migrate.py``.
"""

import tempfile
from pathlib import Path
from typing import Literal

from alembic import context
from alembic.autogenerate.api import AutogenContext
from sqlalchemy import TypeDecorator

from scrapstore.errors import StoreError
from scrapstore.store.engine import engine_on, writing
from scrapstore.store.migrate import upgrade, without_foreign_keys
from scrapstore.store.models import METADATA


def as_plain_type(kind: str, item: object, _context: AutogenContext) -> str | Literal[False]:
    """Write the program's own column types as SQLAlchemy's, so that migrations stand alone."""
    return f"sa.{item.impl!r}" if kind == "type" and isinstance(item, TypeDecorator) else False


def run(file: Path, *, make: bool) -> None:
    """Let alembic work on the database `file`, made by the migrations first when asked for."""
    engine = writing(engine_on(file))
    with engine.connect() as connection, without_foreign_keys(connection):
        if make:
            with connection.begin():
                upgrade(connection, "head")
        context.configure(
            connection=connection,
            target_metadata=METADATA,
            render_as_batch=True,
            render_item=as_plain_type,
            transactional_ddl=True,
        )
        with context.begin_transaction():
            context.run_migrations()
    engine.dispose()


chosen = context.get_x_argument(as_dictionary=True).get("store")
if context.is_offline_mode():
    raise StoreError("migrations compute from stored outlines, so they need a database: no --sql")
if chosen is not None:
    run(Path(chosen) / "store.db", make=False)
else:
    with tempfile.TemporaryDirectory() as scratch:
        run(Path(scratch) / "store.db", make=True)
