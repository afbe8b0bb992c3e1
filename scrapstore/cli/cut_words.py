"""What was cut, as it is typed: which pieces were spoilt, and how an offcut really looks."""

import re
from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from scrapstore.errors import UsageError
from scrapstore.planning.after_cutting import SIDES, Side, Spoilt
from scrapstore.planning.cut_request import CutRequest
from scrapstore.settings import Settings
from scrapstore.shapes.typed_outlines import TypedOutline
from scrapstore.stock_entry.sizes import typed_size
from scrapstore.units import parse_length

__all__ = ["amended", "labels_in", "letters_in", "spoilt_in", "typed_offcuts"]

_LABEL: Final = re.compile(r"[A-Za-z]{1,3}\d{1,6}")
_SIDE_WORDS: Final[dict[str, Side]] = {side.replace(" ", ""): side for side in SIDES}
_WAYS: Final = (
    "yes, no, 'spoilt A3 1/4 right', 'not C2', 'only 4' (a scrap), 'without a' (an offcut) or "
    "'a: 9 x 3'"
)


def labels_in(texts: Iterable[str], *, field: str) -> tuple[str, ...]:
    """Return the labels that ``A3, B1`` lists; UsageError."""
    labels = []
    for part in _parts(texts):
        if not _LABEL.fullmatch(part):
            msg = f"{field}: {part!r} is no label; write labels as on the sheets: 'A3, B1'"
            raise UsageError(msg)
        labels.append(part)
    return tuple(labels)


def letters_in(texts: Iterable[str]) -> tuple[str, ...]:
    """Return the letters of offcuts that ``a, c`` lists."""
    return tuple(part.lower() for part in _parts(texts))


def spoilt_in(texts: Iterable[str], settings: Settings) -> dict[str, Spoilt]:
    """Return the pieces that ``A3 1/4 right, B1`` calls spoilt; UsageError, LengthError.

    After the label may stand by how much the piece is short, and at which edge as it lies in the
    drawing; a length without a unit is in the units shown.
    """
    found = {}
    for part in _parts(texts):
        label, _, rest = part.partition(" ")
        if not _LABEL.fullmatch(label):
            msg = f"--spoilt: {label!r} is no label; write it as on the sheets: 'A3 1/4 right, B1'"
            raise UsageError(msg)
        found[label] = _short_by(label, rest, settings) if rest.strip() else Spoilt()
    return found


def _short_by(label: str, text: str, settings: Settings) -> Spoilt:
    words = re.sub(r"\b(short|at|on|the|edge|side|by)\b", " ", text.lower())
    words = re.sub(r"(?<=[a-z])-(?=[a-z])", " ", words)  # top-right; the one of 3-1/2 stays
    sides = re.findall(r"\b(?:(?:top|bottom)\s*)?(?:left|right)\b|\b(?:top|bottom)\b", words)
    if len(sides) != 1:
        there = ", ".join(SIDES)
        msg = (
            f"--spoilt: {label}: say at which edge, as it lies in the drawing ({there}), such as "
            f"'{label} 1/4 right'"
        )
        raise UsageError(msg)
    length = words.replace(sides[0], " ").strip()
    short = parse_length(length, field=f"--spoilt {label}", default_unit=settings.units)
    return Spoilt(short, _SIDE_WORDS[re.sub(r"\s+", "", sides[0])])


def typed_offcuts(texts: Iterable[str], settings: Settings) -> dict[str, TypedOutline]:
    """Return the outlines that ``a: 9 x 3`` gives offcuts, by letter; UsageError, ShapeError.

    ``a: 0,0 9,0 5,3`` lists corners in order.
    """
    found = {}
    for text in texts:
        letter, colon, size = text.partition(":")
        if not colon or not letter.strip().isalpha():
            msg = f"--offcut: cannot read {text!r}; write the letter and the size: 'a: 9 x 3'"
            raise UsageError(msg)
        kind = "corners" if "," in size else "size"
        typed = typed_size({kind: size.strip()}, None, settings, default_unit=settings.units)
        found[letter.strip().lower()] = typed
    return found


def amended(request: CutRequest, answer: str, settings: Settings) -> CutRequest:
    """Return the request with what an answer on the terminal adds to it; UsageError.

    ``not C2; without a`` are two answers.
    """
    for part in _parts([answer], between=";"):
        request = _amended(request, part, settings)
    return request


def _amended(request: CutRequest, answer: str, settings: Settings) -> CutRequest:
    word, _, rest = answer.strip().partition(" ")
    match word.lower():
        case "spoilt" | "spoiled" if rest:
            more = spoilt_in([rest], settings)
            return replace(request, spoilt={**request.spoilt, **more})
        case "not" if rest:
            labels = labels_in([rest], field="not")
            return replace(request, not_cut=(*request.not_cut, *labels))
        case "without" if rest:
            return replace(request, leave_out=(*request.leave_out, *letters_in([rest])))
        case "only" if re.fullmatch(r"[\d,#\s]+", rest):
            numbers = tuple(int(part) for part in re.findall(r"\d{1,9}", rest))
            # Letters run on from what is cut: those given before may mean others now.
            return replace(request, scraps=numbers, leave_out=(), typed={})
        case _ if ":" in answer:
            more_typed = typed_offcuts([answer], settings)
            return replace(request, typed={**request.typed, **more_typed})
    raise UsageError(f"cannot read {answer!r}; answer {_WAYS}")


def _parts(texts: Iterable[str], between: str = ",;") -> list[str]:
    parts = [part.strip() for text in texts for part in re.split(f"[{between}]", text)]
    return [part for part in parts if part]
