"""Taking back the last changes of the store, in order."""

from collections.abc import Sequence
from dataclasses import replace

from scrapstore.store import Change, Store, numbers_to_undo

__all__ = ["changes_to_undo", "undo_changes"]


def changes_to_undo(
    store: Store, *, to: int | None = None, steps: int = 1, each: int | None = None
) -> tuple[Change, ...]:
    """Return what an undo would take back: the last `steps` changes, the newest first.

    With `to` all down to that number of the history. At most `each` rows of a change are read.
    Raises NotFoundError when there is nothing to take back, StoreError when `to` cannot be.
    """
    with store.read() as reader:
        numbers = numbers_to_undo(reader, to=to, steps=steps)
        return reader.history(most=len(numbers), each=each, only_undoable=True)


def undo_changes(store: Store, shown: Sequence[Change]) -> tuple[Change, ...]:
    """Take back the changes that `changes_to_undo` returned, all or none; return them so marked.

    Raises StoreError when the store was changed meanwhile, or cannot go back to what it held.
    """
    taken = store.undo([change.id for change in shown])
    return tuple(replace(change, undone_by=taken[change.id]) for change in shown)
