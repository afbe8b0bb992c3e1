"""The errors a person can meet, and nothing else.

::

    ScrapstoreError            something the user can put right; its text is a whole sentence
    ├── LengthError            a length that cannot be read
    ├── ShapeError             a piece or an outline that cannot be made or cut
    ├── SettingsError          the settings file or a setting given on the call
    ├── ProjectError           a project file; carries every fault found, with its line
    ├── PhotoError             a picture that is refused
    ├── PlanError              a cutting plan that the verifier rejects
    ├── SheetError             pictures or sheets that cannot be written
    └── StoreError             the store cannot do what was asked
        ├── UsageError         a word or number on the call that is not understood
        ├── NotFoundError      no such store, scrap, fabric, length, ready-cut piece or binding
        ├── StoreNewerError    written by a newer version of the program
        ├── StoreBusyError     another process holds the store
        └── StoreDamagedError  the file is not a whole store

``scrapstore.cli`` turns any of them into one message in a single place. Exit status is 2 where the
call itself is wrong (LengthError, ShapeError, UsageError), else 1. Every message says what was
wrong, where, and what to do next.
"""

__all__ = [
    "LengthError",
    "NotFoundError",
    "PhotoError",
    "PlanError",
    "ProjectError",
    "ScrapstoreError",
    "SettingsError",
    "ShapeError",
    "SheetError",
    "StoreBusyError",
    "StoreDamagedError",
    "StoreError",
    "StoreNewerError",
    "UsageError",
]


class ScrapstoreError(Exception):
    """Something the user can put right."""


class LengthError(ScrapstoreError):
    """A length that cannot be read: names the field, the text and a right example."""


class ShapeError(ScrapstoreError):
    """A piece or an outline that cannot be made or cut."""


class SettingsError(ScrapstoreError):
    """The settings file, or a setting given on the call."""


class ProjectError(ScrapstoreError):
    """A project file that cannot be used; the text lists every fault with its line."""


class PhotoError(ScrapstoreError):
    """A picture that is refused: names the file, the reason and the remedy."""


class PlanError(ScrapstoreError):
    """A cutting plan that the verifier rejects."""


class SheetError(ScrapstoreError):
    """Pictures or sheets that cannot be written: names the place."""


class StoreError(ScrapstoreError):
    """The store cannot do what was asked."""


class UsageError(StoreError):
    """A word or a number on the call that is not understood."""


class NotFoundError(StoreError):
    """No such row in the store, or no store."""


class StoreNewerError(StoreError):
    """The store was written by a newer version of the program."""


class StoreBusyError(StoreError):
    """Another process holds the store."""


class StoreDamagedError(StoreError):
    """The file is not a whole store."""
