"""What is wrong in a project file, gathered while reading it and reported all at once."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from scrapstore.projects.lines import Key

__all__ = ["Fault", "Finding", "listed", "place", "report"]


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing to put right: the line (from 1), the key as a person would say it, and the text."""

    line: int
    key: str
    text: str

    def __str__(self) -> str:
        """Return ``line 12, piece 2 "star diamond", side: …``."""
        where = f", {self.key}" if self.key else ""
        return f"line {self.line}{where}: {self.text}"


Finding = tuple[Key, str]
"""A fault before its line is known."""


def report(file: str, faults: Collection[Fault]) -> str:
    """Return all faults as one text; its first line says how many there are."""
    if len(faults) == 1:
        return f"{file}, {next(iter(faults))}"
    lines = [f"{file}: {len(faults)} things to put right", *(f"  {fault}" for fault in faults)]
    return "\n".join(lines)


def place(key: Key, names: Mapping[int, str]) -> str:
    """Say where a key is: ``piece 2 "star diamond", side``; `names` are those of the pieces."""
    parts: list[str] = []
    for i, part in enumerate(key):
        if i == 1 and key[0] == "pieces" and isinstance(part, int):
            named = f' "{names[part]}"' if part in names else ""
            parts[0] = f"piece {part + 1}{named}"
        elif i == 1 and key[0] == "roles":
            parts[0] = f'role "{part}"'
        elif isinstance(part, int):
            parts.append(f"entry {part + 1}")
        else:
            parts.append(part)
    return ", ".join(parts)


def listed(words: Collection[str]) -> str:
    """Return the words with commas between."""
    return ", ".join(words)
