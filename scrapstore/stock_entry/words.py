"""Words a quilter types for a fabric, a family, a value or a status, checked and suggested."""

from scrapstore.colour import Value, family_of_word
from scrapstore.errors import NotFoundError, ScrapstoreError, StoreError, UsageError
from scrapstore.near_words import did_you_mean
from scrapstore.store.forms import STATUSES, VALUES, Fabric, NewFabric, Status
from scrapstore.store.plans import plans
from scrapstore.store.reader import Reader, same_word
from scrapstore.store.writer import Writer

__all__ = [
    "known_family",
    "known_status",
    "known_value",
    "named_fabric",
    "project_called",
    "text_or_none",
]


def known_family(word: str) -> str:
    """Return the colour family that `word` names; UsageError suggests near ones."""
    try:
        return family_of_word(word)
    except ScrapstoreError as error:
        raise UsageError(f"family: {error}") from None


def known_value(word: str) -> Value:
    """Return the value (light, medium, dark) that `word` names; UsageError."""
    plain = word.strip().lower()
    if plain in VALUES:
        return plain
    raise _unknown("value", word, VALUES)


def known_status(word: str) -> Status:
    """Return the status that `word` names, ``set-aside`` as well as ``set aside``; UsageError."""
    plain = " ".join(word.strip().lower().replace("-", " ").replace("_", " ").split())
    if plain in STATUSES:
        return plain
    raise _unknown("status", word, STATUSES)


def named_fabric(reader: Reader, name: str | None, *, make: bool = False) -> Fabric | None:
    """Return the fabric called `name`, None for None.

    One that the store does not know is added when `make`, which needs a `Writer`; else
    NotFoundError. A retired fabric is refused with StoreError.
    """
    if name is None:
        return None
    try:
        fabric = reader.fabric(name)
    except NotFoundError as error:
        if not isinstance(reader, Writer):
            raise
        if not make:
            raise NotFoundError(f"{error}, or let --new-fabrics add it") from error
        return reader.add_fabric(NewFabric(name=name.strip()))
    if fabric.retired:
        msg = f"fabric {fabric.name!r} is retired; fabric reinstate brings it back, or name another"
        raise StoreError(msg)
    return fabric


def project_called(reader: Reader, name: str) -> str:
    """Return the project of the kept plan called `name`; without such a plan the name itself."""
    return next((plan.project for plan in plans(reader) if same_word(plan.name, name)), name)


def text_or_none(text: str | None) -> str | None:
    """Return `text` without the space round it; None when nothing is left."""
    return (text or "").strip() or None


def _unknown(field: str, word: str, known: tuple[str, ...]) -> UsageError:
    return UsageError(f"{field}: {word!r} is not one; {did_you_mean(word, known)}")
