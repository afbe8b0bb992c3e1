"""On which line of a TOML file every key stands.

The standard library reads TOML but forgets where things were. Tree-sitter's grammar keeps it; it is
loaded only when there is a fault to report.
"""

import tomllib
from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tree_sitter import Node

__all__ = ["Key", "key_lines", "line_of"]

Key = tuple[str | int, ...]
"""A way into the file: names of keys and, in lists, places counted from 0."""


def key_lines(text: str) -> dict[Key, int]:
    """Return the line, from 1, of every key, table and list entry of a TOML text.

    The text must be TOML that the standard library reads.
    """
    import tree_sitter
    import tree_sitter_toml

    parser = tree_sitter.Parser(tree_sitter.Language(tree_sitter_toml.language()))
    found: dict[Key, int] = {(): 1}
    entries: dict[Key, int] = {}  # how many [[tables]] of each name there were so far
    for node in parser.parse(text.encode()).root_node.children:
        match node.type:
            case "pair":
                _pair(node, (), found)
            case "table" | "table_array_element":
                _table(node, found, entries)
    return found


def line_of(key: Key, lines: dict[Key, int]) -> int:
    """Return the line of `key`, or of the nearest thing around it that is there."""
    while key not in lines:
        key = key[:-1]
    return lines[key]


def _table(node: "Node", found: dict[Key, int], entries: dict[Key, int]) -> None:
    names = next(list(_names(child)) for child in node.children if child.type.endswith("_key"))
    path: Key = ()
    for i, name in enumerate(names):
        path += (name,)
        if node.type == "table_array_element" and i == len(names) - 1:
            entries[path] = entries.get(path, 0) + 1
        found.setdefault(path, _line(node))
        if path in entries:
            path += (entries[path] - 1,)
            found.setdefault(path, _line(node))
    for child in node.children:
        if child.type == "pair":
            _pair(child, path, found)


def _pair(node: "Node", path: Key, found: dict[Key, int]) -> None:
    name, *_, value = [child for child in node.children if child.type != "comment"]
    for part in _names(name):
        path += (part,)
        found.setdefault(path, _line(node))
    _value(value, path, found)


def _value(node: "Node", path: Key, found: dict[Key, int]) -> None:
    if node.type == "inline_table":
        for child in node.children:
            if child.type == "pair":
                _pair(child, path, found)
    elif node.type == "array":
        entries = [c for c in node.children if c.is_named and c.type != "comment"]
        for i, child in enumerate(entries):
            found[*path, i] = _line(child)
            _value(child, (*path, i), found)


def _names(node: "Node") -> Iterator[str]:
    """Yield the parts of a key, unquoted."""
    if node.type == "dotted_key":
        for child in node.children:
            yield from _names(child)
    elif node.type.endswith("_key"):
        assert node.text is not None  # the tree was just made from the text
        yield from tomllib.loads(f"{node.text.decode()} = 0")


def _line(node: "Node") -> int:
    return node.start_point[0] + 1
