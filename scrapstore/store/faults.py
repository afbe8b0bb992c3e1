"""What is wrong in a store, said so that its owner can act on it."""

from dataclasses import dataclass
from typing import Final, Literal

from sqlalchemy import Table

__all__ = ["MEND", "RESTORE", "FaultCode", "StoreFault"]

FaultCode = Literal[
    "database", "tables", "index", "value", "rule", "outline", "reference", "parents", "plan",
    "history", "photo", "settings",
]  # fmt: skip
"""The file, its tables, an index, a value, a rule of a table, an outline, a row that refers to
none, scraps cut from one another in a ring, what a plan holds, the history, a picture, the settings
file."""

MEND: Final = "scrapstore store check --mend"
RESTORE: Final = "scrapstore store restore BACKUP"


@dataclass(frozen=True, kw_only=True)
class StoreFault:
    """One thing that is not as it should be.

    `thing` is what it is about, such as ``scrap 12``; `wrong` goes on from it as a sentence does;
    `lost` says what can no longer be had, and `remedy` what to do. `mends`: mending puts it right.
    `table`, `number` and `columns` say where it lies, if it lies in a row.
    """

    code: FaultCode
    thing: str
    wrong: str
    lost: str
    remedy: str
    mends: bool = False
    table: Table | None = None
    number: int | None = None
    columns: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"{self.thing} {self.wrong}. Lost: {self.lost}. To do: {self.remedy}"
