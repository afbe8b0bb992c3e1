"""Words on a PDF page: which font has their letters, how long they are, where lines break.

Helvetica, which every viewer has, for the letters of western Europe; Bitstream Vera, which comes
with ReportLab and is embedded, for others it has. For the rest stands `MISSING`, so that no letter
vanishes without a sign.
"""

import re
import unicodedata
from collections.abc import Iterator
from functools import cache, lru_cache
from itertools import groupby
from pathlib import Path
from typing import Final

from scrapstore.printable import printable

__all__ = ["MISSING", "fitting", "runs", "text_width", "wrapped"]

MISSING: Final = "◊"
"""What is shown for a letter that no font here has."""

_INVISIBLE: Final = ("Cc", "Cf", "Mn", "Me")
"""Unicode categories of what has no shape of its own; so has no sign in its place either."""


@cache
def _vera() -> frozenset[int]:
    """Register Vera with ReportLab; return the code points it has."""
    import reportlab
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    folder = Path(reportlab.__file__).parent / "fonts"
    fonts = [TTFont(name, folder / f"{name}.ttf") for name in ("Vera", "VeraBd")]
    for font in fonts:
        registerFont(font)
    return frozenset(fonts[0].face.charToGlyph)


@lru_cache(maxsize=4096)
def _font_of(letter: str) -> str:
    """Return the font that has a letter, or nothing."""
    try:
        letter.encode("cp1252")
    except UnicodeEncodeError:
        return "Vera" if ord(letter) in _vera() else ""
    return "Helvetica"


def fitting(text: str) -> str:
    """Return `text` with each letter that cannot be shown replaced by `MISSING`.

    A letter of Latin script without its accent is better than none.

    >>> fitting("Łódź, ṁ, 船")
    'Łódz, m, ◊'
    """
    shown = []
    for letter in unicodedata.normalize("NFC", re.sub(r"\s+", " ", printable(text))):
        if _font_of(letter):
            shown.append(letter)
        elif unicodedata.category(letter) not in _INVISIBLE:
            plain = unicodedata.normalize("NFKD", letter)[0]
            shown.append(plain if _font_of(plain) else MISSING)
    return "".join(shown)


def runs(text: str, *, bold: bool = False) -> Iterator[tuple[str, str]]:
    """Yield the parts of a fitting text that are set in one font, each after the font's name."""
    names = {"Helvetica": "Helvetica-Bold", "Vera": "VeraBd"} if bold else {}
    for font, letters in groupby(text, key=_font_of):
        yield names.get(font, font), "".join(letters)


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return how long a fitting text is, in points, at `size` points."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(sum(stringWidth(part, font, size) for font, part in runs(text, bold=bold)))


def wrapped(text: str, width: float, size: float, *, bold: bool = False) -> list[str]:
    """Return the lines of a text, made fitting, that are no longer than `width` points.

    A word that is longer than a line is broken.
    """
    lines = [""]
    for word in fitting(text).split():
        joined = f"{lines[-1]} {word}".strip()
        if text_width(joined, size, bold=bold) <= width:
            lines[-1] = joined
            continue
        lines.append("")
        used = 0.0
        for letter in word:
            wide = text_width(letter, size, bold=bold)
            if used + wide > width and lines[-1]:
                lines.append("")
                used = 0.0
            lines[-1] += letter
            used += wide
    return [line for line in lines if line]
