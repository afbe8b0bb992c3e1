"""How values lie in the file, and that what is read is what was meant.

SQLite keeps any value in any column, and a store may come from anywhere. Each type here refuses
what another kind of value stands for, so that a damaged row is named instead of failing far away.
"""

import math
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any, ClassVar, Final

from sqlalchemy import (
    JSON,
    Boolean,
    DateTime,
    Dialect,
    Double,
    Integer,
    LargeBinary,
    String,
    TypeDecorator,
    literal,
)

from scrapstore.errors import NotFoundError, StoreDamagedError

__all__ = [
    "Bytes",
    "Checked",
    "Document",
    "Flag",
    "Json",
    "Moment",
    "Real",
    "UnreadableValueError",
    "UtcTime",
    "Whole",
    "Words",
    "WordsAlike",
]

_LARGEST: Final = 2**63 - 1


class UnreadableValueError(StoreDamagedError):
    """A value in the file that makes no sense; the text says which and what was expected.

    `scrapstore.store.engine.sqlite_errors_as_ours` adds the file and the way out.
    """


class Checked(TypeDecorator[Any]):
    """A column type that reads only what it may have written."""

    stored: ClassVar[tuple[type, ...]]
    """What SQLite may answer."""
    meaning: ClassVar[str]
    """What should stand there."""
    null: ClassVar[Any] = None
    """What NULL is read as."""

    def __init_subclass__(cls) -> None:
        super().__init_subclass__()
        cls.cache_ok = True  # SQLAlchemy asks for it of every class itself

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], Any]:
        """Return what turns a stored value into the program's; SQLAlchemy calls it."""
        convert = self.impl_instance.result_processor(dialect, coltype)
        stored, read, meaning, null = self.stored, self.read, self.meaning, self.null

        def kept(value: Any) -> Any:
            if value is None or type(value) in stored:
                return value
            raise _unreadable(value, meaning)

        def converted(value: Any) -> Any:
            if kept(value) is None:
                return null
            try:
                return read(value if convert is None else convert(value))
            except (ValueError, TypeError, RecursionError) as error:
                raise _unreadable(value, meaning) from error

        # Called for every value of every row: most need no more than a look.
        plain = convert is None and null is None and type(self).read is Checked.read
        return kept if plain else converted

    def process_bind_param(self, value: Any, dialect: Dialect) -> Any:  # noqa: ARG002 - SQLAlchemy's signature
        """Return what is stored for `value`; SQLAlchemy calls it."""
        return None if value is None else self.write(value)

    def write(self, value: Any) -> Any:
        """Return what is stored for `value`."""
        return value

    def read(self, value: Any) -> Any:
        """Return the program's form of `value`; ValueError when it makes no sense."""
        return value

    def as_json(self, value: Any) -> Any:
        """Return the program's `value` as JSON has it, for the history."""
        return value.isoformat() if isinstance(value, datetime) else value

    def from_json(self, value: Any) -> Any:
        """Return what to bind so that the file holds again what `as_json` made `value` of.

        ValueError, TypeError and their like for a value that it cannot have made.
        """
        return value


def _unreadable(value: object, meaning: str) -> UnreadableValueError:
    shown = repr(value)
    shown = shown if len(shown) <= 40 else f"{shown[:37]}..."
    return UnreadableValueError(f"{shown} stands where {meaning} should be")


class Words(Checked):
    """Text."""

    impl = String
    stored = (str,)
    meaning = "a text"


class WordsAlike(Checked):
    """Text compared without regard to ASCII capitals."""

    impl = String(collation="NOCASE")
    stored = (str,)
    meaning = "a text"


class Whole(Checked):
    """A whole number of at most 64 bits."""

    impl = Integer
    stored = (int,)
    meaning = "a whole number"

    def write(self, value: Any) -> Any:
        """Return `value`; NotFoundError for a number larger than SQLite counts to."""
        if isinstance(value, int) and not -_LARGEST - 1 <= value <= _LARGEST:
            msg = "the number is far too large; the lists show the numbers there are"
            raise NotFoundError(msg)
        return value


class Real(Checked):
    """A finite number."""

    impl = Double
    stored = (float, int)
    meaning = "a number"

    def read(self, value: Any) -> float:
        """Return the number; ValueError for infinity."""
        if not math.isfinite(value):
            raise ValueError(value)
        return value  # type: ignore[no-any-return]


class Flag(Checked):
    """True or false."""

    impl = Boolean
    stored = (int,)
    meaning = "true or false"


class Bytes(Checked):
    """Bytes, such as an outline as WKB."""

    impl = LargeBinary
    stored = (bytes,)
    meaning = "an outline"


class Document(Checked):
    """A JSON object; or what else `kind` says, such as a list."""

    impl = JSON
    stored = (str,)
    meaning = "JSON"
    kind: type = dict

    def __init__(self) -> None:
        super().__init__(none_as_null=True)

    def read(self, value: Any) -> Any:
        """Return the object or list; ValueError for any other."""
        if not isinstance(value, self.kind):
            raise ValueError(value)
        return value

    def coerce_compared_value(self, op: Any, value: Any) -> Any:
        """Return the type of what a part of the document is compared with, as JSON has it."""
        return self.impl_instance.coerce_compared_value(op, value)

    def from_json(self, value: Any) -> Any:
        """Return `value` as it stands: the history has a document as the file holds it."""
        return literal(value, Json())


class Json(Document):
    """Any JSON value as the file holds it, so that 4 is not read as 4.0 and written back so."""

    kind = object


class Moment(Checked):
    """A date and a time of day without a zone."""

    impl = DateTime
    stored = (str,)
    meaning = "a date and time"

    def from_json(self, value: str) -> datetime:
        """Return the moment that `value` names."""
        return datetime.fromisoformat(value)


class UtcTime(Checked):
    """A moment: aware in the program, UTC in the file."""

    impl = DateTime
    stored = (str,)
    meaning = "a date and time"

    def write(self, value: datetime) -> datetime:
        """Return `value` in UTC without its zone."""
        return value.astimezone(UTC).replace(tzinfo=None)

    def read(self, value: datetime) -> datetime:
        """Return the stored moment with its zone, UTC."""
        return value.replace(tzinfo=UTC)

    def from_json(self, value: str) -> datetime:
        """Return the moment that `value` names, with its zone."""
        return datetime.fromisoformat(value)
