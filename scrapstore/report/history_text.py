"""What one visit to the store changed, as one sentence in a quilter's words."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from scrapstore.sentences import several
from scrapstore.store import Change, ChangedRow

__all__ = ["field_name", "is_cutting", "taken_back", "thing_words", "visit_words"]

_VERBS: Final = {
    "add": "Added",
    "edit": "Changed",
    "log": "Logged",
    "retire": "Took off the list",
    "reinstate": "Brought back",
    "restore": "Brought back",
    "keep": "Kept",
    "release": "Released",
    "drop": "Released",
    "done": "Closed",
    "learn": "Took your colour words for",
    "forget": "Took back the colour words of",
    "demo": "Demo: added",
    "mend": "Mended",
}
_KINDS: Final = {
    "scrap": ("scrap", "scraps"),
    "yardage": ("length", "lengths"),
    "ready-cut": ("ready-cut pieces no.", "ready-cut pieces no."),
    "binding": ("binding strip", "binding strips"),
    "crumbs": ("bag of crumbs", "bags of crumbs"),
    "lens": ("lens", "lenses"),
}
_HELD: Final = ("scrap", "ready-cut", "yardage", "binding")
_FIRST: Final = ("plan", *_HELD, "notion", "crumbs", "fabric", "lens", "photo")
_LENGTHS: Final = ("usable_width", "margin", "uncertainty", "length", "width")  # inches
_MOST_NAMES: Final = 3
_CUT: Final = "cut"
_BINDING: Final = {"finish set aside": "Set aside", "finish done": "Used up"}


def visit_words(change: Change) -> str:
    """Return the sentence, without a full stop: ``Logged scraps 1-4 (photo table.jpg)``."""
    if change.undoes is not None:
        return f"Took back no. {change.undoes}: {visit_words(_mirrored(change))}"
    if change.what == _CUT:
        return _cut_words(change)
    if change.what in _BINDING:
        return _binding_words(change)
    verb = _VERBS.get(change.what.rpartition(" ")[2], f"{change.what.capitalize()}:")
    by_kind: dict[str, list[ChangedRow]] = {}
    for row in change.rows:
        by_kind.setdefault(row.kind, []).append(row)
    plan = by_kind.get("plan")
    if plan:
        numbers = {kind: {row.row_id for row in by_kind.get(kind, ())} for kind in _HELD}
        # Of a length a plan holds so many inches, which no row of the length tells.
        for row in by_kind.get("plan-stock", ()):
            if (length := (row.after or row.before or {}).get("yardage_id")) is not None:
                numbers["yardage"].add(length)
        held = [_numbered(kind, some) for kind, some in numbers.items() if some]
        return f"{verb} plan {_named(plan[0])!r}" + (f": {several(held)}" if held else "")
    parts = [_several_rows(kind, by_kind[kind]) for kind in _FIRST if kind in by_kind]
    if not change.rows:
        parts = ["the store, without changing a record"]
    if change.more:
        parts.append(f"{change.more:,} more")
    return f"{verb} {several(parts)}{_what_changed(change.rows)}"


def taken_back(change: Change) -> str:
    """Return `` (taken back by no. 43)`` to stand behind the words of a change; else nothing."""
    return "" if change.undone_by is None else f" (taken back by no. {change.undone_by})"


def is_cutting(change: Change) -> bool:
    """Return whether cloth was cut when this was recorded; once ``plan done`` recorded that too."""
    if change.what == "plan done":
        return any(row.kind in ("scrap", "yardage") for row in change.rows)
    return change.what == _CUT


def thing_words(row: ChangedRow) -> str:
    """Return what one row is called, such as ``scrap 12``."""
    whole = row.after or row.before or {}
    if row.kind == "plan-piece":
        return f"piece {whole.get('label', row.row_id)} of a plan"
    if row.kind == "notion":
        return f"{whole.get('kind')} {row.row_id}"
    return "held by a plan" if row.kind == "plan-stock" else f"{row.kind} {row.row_id}"


def _mirrored(undo: Change) -> Change:
    """Return the change that `undo` took back, as its own rows show it from the other side."""
    rows = (replace(row, before=row.after, after=row.before) for row in reversed(undo.rows))
    return replace(undo, what=undo.what.removeprefix("undo "), rows=tuple(rows), undoes=None)


def _cut_words(change: Change) -> str:
    """Return ``Cut scrap 4 for 'bench': 12 pieces (ready-cut pieces no. 9), offcuts 31-32``."""
    spoilt: dict[str, int] = {}
    not_cut: list[str] = []
    cut_scraps: set[int] = set()
    offcuts: set[int] = set()
    lots: dict[int, int] = {}
    lengths: dict[int, str] = {}
    plans: dict[str, None] = {}
    for row in change.rows:
        before, after = row.before or {}, row.after or {}
        if row.kind in _HELD and (
            name := after.get("set_aside_for") or before.get("set_aside_for")
        ):
            plans[str(name)] = None
        if row.kind == "plan-piece" and after.get("state") == "spoilt":
            spoilt[str(after["label"])] = after["scrap_id"]
        elif row.kind == "plan-piece" and after.get("state") == "not cut":
            not_cut.append(str(after["label"]))
        elif row.kind == "ready-cut":
            more = after.get("count", 0) - before.get("count", 0)
            lots[row.row_id] = lots.get(row.row_id, 0) + more
        elif row.kind == "scrap":
            (cut_scraps if before else offcuts).add(row.row_id)
        elif row.kind == "yardage":
            gone = after.get("status") == "used up"
            left = "none" if gone else _shown("length", after.get("length"))
            lengths[row.row_id] = f"length {row.row_id} ({left} left)"
    offcuts -= set(spoilt.values())
    cloth = ([_numbered("scrap", cut_scraps)] if cut_scraps else []) + list(lengths.values())
    made = []
    if (count := sum(lots.values())) > 0:
        pieces = f"{count} piece{'' if count == 1 else 's'}"
        made.append(f"{pieces} ({_numbered('ready-cut', lots)})")
    if offcuts:
        numbers = _runs(sorted(offcuts))
        made.append(f"offcut{'' if len(offcuts) == 1 else 's'} {numbers}")
    made += [f"spoilt {label}, now scrap {number}" for label, number in spoilt.items()]
    made += [f"not cut {', '.join(not_cut)}"] if not_cut else []
    made += [f"{change.more:,} more records"] if change.more else []
    head = " ".join(["Cut", *filter(None, [several(cloth)]), *(f"for {n!r}" for n in plans)])
    return f"{head}: {'; '.join(made)}" if made else head


def _binding_words(change: Change) -> str:
    """Return ``Used up for 'bench': binding strips 1-4; left of them: binding strip 5``."""
    strips = [row for row in change.rows if row.kind == "binding"]
    whole = [row.after or row.before for row in strips]
    aside = [*whole, *(row.before for row in strips)]
    plans = dict.fromkeys(str(one["set_aside_for"]) for one in aside
                          if one and one.get("set_aside_for"))  # fmt: skip
    used = [row.row_id for row in strips if row.before is not None]
    rests = [row.row_id for row in strips if row.before is None]
    head = " ".join([_BINDING[change.what], *(f"for {name!r}" for name in plans)])
    left = f"; left of them: {_numbered('binding', rests)}" if rests else ""
    return f"{head}: {_numbered('binding', used)}{left}"


def field_name(key: str) -> str:
    """Return what a field is called in a list."""
    return key.removesuffix("_id").removesuffix("_deg").replace("_", " ")


def _several_rows(kind: str, rows: Sequence[ChangedRow]) -> str:
    if kind == "notion":
        numbers: dict[str, set[int]] = {}
        for row in rows:
            what = str((row.after or row.before or {}).get("kind"))
            numbers.setdefault(what, set()).add(row.row_id)
        return several([f"{what} {_runs(sorted(some))}" for what, some in numbers.items()])
    if kind in _KINDS:
        return _numbered(kind, {row.row_id for row in rows})
    names = [_named(row) for row in rows[:_MOST_NAMES]]
    if len(rows) > _MOST_NAMES:
        names.append(f"{len(rows) - _MOST_NAMES} more")
    return f"{kind}{'s' if len(rows) > 1 else ''} {several(names)}"


def _numbered(kind: str, numbers: Collection[int]) -> str:
    one, many = _KINDS[kind]
    return f"{one if len(numbers) == 1 else many} {_runs(sorted(numbers))}"


def _named(row: ChangedRow) -> str:
    whole = row.after or row.before or {}
    name = whole.get("original_name" if row.kind == "photo" else "name")
    return str(name or row.row_id)


def _runs(numbers: Sequence[int]) -> str:
    """Return ``1-4, 7``."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]}-{run[-1]}" if len(run) > 1 else f"{run[0]}" for run in runs)


def _what_changed(rows: Iterable[ChangedRow]) -> str:
    """Return ``: place, value`` of the rows that were there before, and what they are now."""
    fields: dict[str, set[str]] = {}
    for row in rows:
        if row.before is not None and row.after is not None:
            for key, value in _differing(row.before, row.after):
                fields.setdefault(key, set()).add(value)
    parts = [
        f"{field_name(key)} {next(iter(values))}" if len(values) == 1 else field_name(key)
        for key, values in fields.items()
    ]
    return f" ({', '.join(parts)})" if parts else ""


def _differing(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterable[tuple[str, str]]:
    for key, value in after.items():
        if before.get(key) != value and key not in ("corrected", "retired"):
            yield key, _shown(key, value)


def _shown(key: str, value: object) -> str:
    """Return a field's value in a word or a number with its unit; an outline is just new."""
    if value in (None, ""):
        return "none"
    if isinstance(value, float):
        return f"{value:.6g}{'°' if key.endswith('_deg') else ' in' if key in _LENGTHS else ''}"
    return str(value) if isinstance(value, str | int) else "new"
