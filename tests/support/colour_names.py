"""Colours with the words people gave them: the xkcd survey, a part of it held out from fitting.

The names are those carried by matplotlib (``matplotlib.colors.XKCD_COLORS``; survey of 2010, CC0).
A name counts when exactly one of its words is a basic colour term of English.
"""

import re
import zlib
from collections import Counter
from typing import NamedTuple

from matplotlib.colors import CSS4_COLORS, XKCD_COLORS

from scrapstore.colour import FAMILIES, family

SPELLED = {"gray": "grey"}


class NamedColour(NamedTuple):
    name: str
    rgb: tuple[int, int, int]
    word: str
    """The one basic colour term in the name."""


def _one_word(name: str, words: list[str], hexa: str) -> list[NamedColour]:
    basic = [SPELLED.get(word, word) for word in words if SPELLED.get(word, word) in FAMILIES]
    if len(basic) != 1:
        return []
    red, green, blue = (int(hexa[at : at + 2], 16) for at in (1, 3, 5))
    return [NamedColour(name, (red, green, blue), basic[0])]


def survey() -> list[NamedColour]:
    """Return every survey colour whose name holds exactly one basic colour word."""
    found = []
    for tagged, hexa in XKCD_COLORS.items():
        name = tagged.removeprefix("xkcd:")
        found += _one_word(name, re.findall(r"[a-z]+", name), str(hexa))
    return found


def held_out(colour: NamedColour) -> bool:
    """Tell whether a survey colour was kept away from fitting: about every third, by its name."""
    return zlib.crc32(colour.name.encode()) % 3 == 0


def web_names() -> list[NamedColour]:
    """Return the CSS level 4 colours that hold one basic word; nothing was fitted on them."""
    found = []
    for name, hexa in CSS4_COLORS.items():
        words = re.findall("|".join([*FAMILIES, "gray"]), name)
        if not words and name in FAMILIES:
            words = [name]
        found += _one_word(name, words, str(hexa))
    return found


def agreement(colours: list[NamedColour]) -> float:
    """Return the part of the colours, 0 to 1, whose word is the program's."""
    return sum(family(colour.rgb) == colour.word for colour in colours) / len(colours)


def agreement_table() -> str:
    """Return a Markdown table of the agreement with each body of names."""
    named = survey()
    parts = (
        ("xkcd survey, the part it was fitted on", [one for one in named if not held_out(one)]),
        ("xkcd survey, the part held out", [one for one in named if held_out(one)]),
        ("xkcd survey, all of it", named),
        ("CSS colour names, never fitted on", web_names()),
    )
    lines = ["| names | how many | the same word |", "|---|---|---|"]
    lines += [
        f"| {title} | {len(colours)} | {100 * agreement(colours):.1f} % |"
        for title, colours in parts
    ]
    return "\n".join(lines)


def confusion_table(colours: list[NamedColour]) -> str:
    """Return a Markdown table: what people say, and what the program says to the same colours."""
    counts = Counter((colour.word, family(colour.rgb)) for colour in colours)
    lines = ["| people say | names | the program too | and else |", "|---|---|---|---|"]
    for said in FAMILIES:
        others = [
            f"{told} {counts[said, told]}"
            for told in sorted(FAMILIES, key=lambda told: -counts[said, told])
            if told != said and counts[said, told]
        ]
        whole = sum(counts[said, told] for told in FAMILIES)
        lines.append(f"| {said} | {whole} | {counts[said, said]} | {', '.join(others)} |")
    return "\n".join(lines)
