"""Texts made fit for a terminal, for JSON and for XML."""

import json
import xml.etree.ElementTree as ElementTree
from xml.sax.saxutils import escape

from hypothesis import given
from hypothesis import strategies as st

from scrapstore.printable import escaped, is_printable, printable

ANY_TEXT = st.text(st.characters(codec=None, exclude_categories=()), max_size=40)


def test_escapes_are_marked_and_letters_stay() -> None:
    assert printable("a\x1b[31mb\x9bc\rd\u202ee\udcff") == "a�[31mb�c�d�e�"
    assert printable("Élise’s ½ yd,\tline\nline 布") == "Élise’s ½ yd,\tline\nline 布"


@given(ANY_TEXT)
def test_what_is_printable_can_be_written_as_utf8_and_xml(text: str) -> None:
    shown = printable(text)
    assert is_printable(shown)
    assert is_printable(text) == (shown == text)
    read = ElementTree.fromstring(f"<a>{escape(shown)}</a>".encode()).text or ""
    assert read == shown


@given(ANY_TEXT)
def test_json_stays_the_same_document(text: str) -> None:
    shown = escaped(json.dumps([text], ensure_ascii=False))
    assert is_printable(shown)
    whole = "".join("�" if 0xD800 <= ord(c) <= 0xDFFF else c for c in text)
    assert json.loads(shown) == [whole]
