"""Names people gave to greyed colours, and to plain neutrals: the xkcd survey and CSS.

A name of a greyed colour says a hue and that it is greyed: "grey blue", "purplish grey", "dusty
rose", "dull green"; sage and mauve are greyed by themselves. Its hue is the family that a person
would look under, by the words that the program knows for one.
"""

import re
from typing import Final

import numpy as np
from matplotlib.colors import CSS4_COLORS, XKCD_COLORS

from scrapstore.colour import FAMILIES, NEUTRALS, family_of_word, reads_as, swatch, tints
from scrapstore.errors import ScrapstoreError
from tests.support.colour_names import NamedColour, held_out, survey

_GREYED = re.compile(
    r"grey|dusty|dull|dusky|muted|dirty|faded|washed|\bold|drab|murky|muddy|slate|steel|sage|mauve"
)
_HUES: Final = {
    "bluish": "blue", "bluey": "blue", "bluegrey": "blue", "greyblue": "blue",
    "brownish": "brown", "greeny": "green", "greenish": "green", "pinkish": "pink",
    "purplish": "purple", "purpley": "purple", "reddish": "red",
}  # fmt: skip
_PLAIN = re.compile(
    "(?:(?:dark|light|medium|pale|almost|dim|off|white) ?)*"
    "(?:gr[ea]y|black|white|silver|charcoal|charcoal grey|gainsboro|smoke|snow)"
)


def greyed_names() -> list[NamedColour]:
    """Return the survey's greyed colours with the one family that their name says."""
    found = []
    for tagged, code in XKCD_COLORS.items():
        name = tagged.removeprefix("xkcd:")
        words = re.findall("[a-z]+", name)
        hues = {_hue(word) for word in words} - {None}
        if _GREYED.search(name) and len(hues) == 1:
            found.append(NamedColour(name, _rgb(code), str(hues.pop())))
    return found


def never_fitted(colour: NamedColour) -> bool:
    """Tell whether the table of families was fitted without this name."""
    return held_out(colour) or colour.name not in {one.name for one in survey()}


def plain_neutrals() -> list[NamedColour]:
    """Return the colours of the survey and of CSS whose name says a neutral and no more."""
    named = [*XKCD_COLORS.items(), *CSS4_COLORS.items()]
    found = []
    for tagged, code in named:
        name = tagged.removeprefix("xkcd:")
        if _PLAIN.fullmatch(name):
            found.append(NamedColour(name, _rgb(code), "grey"))
    return found


def missed(part: list[NamedColour]) -> list[str]:
    """Return the names that are not found under the hue they say."""
    return [one.name for one in part if one.word not in looked_under(one.rgb)]


def tint_table() -> str:
    """Return a Markdown table of how many names are found under their hue, and wrongly so."""
    lines = ["| names | how many | found by family | by family or tint |", "|---|---|---|---|"]
    for title, part in (
        ("greyed, never fitted on", [one for one in greyed_names() if never_fitted(one)]),
        ("greyed, fitted on", [one for one in greyed_names() if not never_fitted(one)]),
    ):
        families = np.mean([looked_under(one.rgb)[0] == one.word for one in part])
        found = 1 - len(missed(part)) / len(part)
        lines.append(f"| {title} | {len(part)} | {100 * families:.0f} % | {100 * found:.0f} % |")
    plain = plain_neutrals()
    wrong = np.mean([not {*looked_under(one.rgb)} <= {*NEUTRALS} for one in plain])
    lines.append(f"| plain, wrongly under a hue | {len(plain)} | | {100 * wrong:.0f} % |")
    return "\n".join(lines)


def looked_under(rgb: tuple[float, float, float]) -> tuple[str, ...]:
    """Return the words that a solid of this sRGB colour is found under: family, then tints."""
    read = reads_as((swatch(np.array(rgb)),))
    return (read.family, *tints([read.family], [read.lead_lab])[0])


def _hue(word: str) -> str | None:
    try:
        family = _HUES.get(word) or family_of_word(word)
    except ScrapstoreError:
        return None
    return family if family in FAMILIES and family not in NEUTRALS else None


def _rgb(code: object) -> tuple[int, int, int]:
    red, green, blue = (int(str(code)[at : at + 2], 16) for at in (1, 3, 5))
    return red, green, blue
