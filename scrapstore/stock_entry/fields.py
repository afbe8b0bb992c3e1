"""The fields of fabrics and stock that a person types, in one table for all places to type them.

From these tables come the options of the ``add`` and ``edit`` commands and the keys of
``scraps.toml``; `scrapstore.stock_entry.read_fields` reads what was typed. A new field of a scrap
is one more line here, beside its column (`scrapstore.store.models`), its field in the working form
(`scrapstore.store.forms`) and in the JSON (`scrapstore.json_output.stock_schema`).

What makes up an outline (size, grain, flaws, margin) is not here: those are read together.
This file imports nothing heavy, so that the command line may build its options from it.
"""

from dataclasses import dataclass
from typing import Final, Literal

__all__ = [
    "BINDING_FIELDS",
    "CRUMBS_FIELDS",
    "FABRIC_FIELDS",
    "NOTION_FIELDS",
    "READY_CUT_FIELDS",
    "SCRAP_FIELDS",
    "YARDAGE_FIELDS",
    "Reads",
    "TypedField",
]

Reads = Literal[
    "text", "length", "weight", "family", "families", "value", "status", "slope", "flag", "count"
]  # fmt: skip
"""How a field is read: from one text, or for ``families`` from several.

``flag`` and ``count`` are a bool and an int already.
"""


@dataclass(frozen=True, kw_only=True)
class TypedField:
    """A field as it is typed.

    `name` is the field of the working form; it is also the key in ``scraps.toml``, when `listed` is
    true. `about` is the help of its option. A field is given when adding only where `when_adding`
    is true, and an empty text empties it only where `may_be_empty` is true.
    """

    name: str
    about: str
    reads: Reads = "text"
    option: str = ""
    metavar: str = "TEXT"
    when_adding: bool = True
    may_be_empty: bool = True
    listed: bool = False

    @property
    def flag_names(self) -> str:
        """The option's names, such as ``--from-project`` or ``--washed/--unwashed``."""
        return self.option or "--" + self.name.replace("_", "-")

    @property
    def word(self) -> str:
        """What messages call the field: its option without the dashes."""
        return self.flag_names.removeprefix("--")


_FABRIC: Final = TypedField(name="fabric", about="The fabric's name.", listed=True)
_FAMILY: Final = TypedField(
    name="family",
    about="Colour family, such as blue; navy and the like are understood.",
    reads="family",
)
_VALUE: Final = TypedField(name="value", about="light, medium or dark.", reads="value")
_NOTE: Final = TypedField(name="note", about="Anything else.", listed=True)
_PLACE: Final = TypedField(name="place", about="Where it is kept, such as 'bin 2'.", listed=True)
_KEPT: Final = (
    TypedField(
        name="status",
        about="available, set aside or used up.",
        reads="status",
        when_adding=False,
        may_be_empty=False,
    ),
    TypedField(
        name="set_aside_for",
        about="Promise it to this project.",
        metavar="PROJECT",
        when_adding=False,
    ),
    _NOTE,
)

SCRAP_FIELDS: Final = (
    TypedField(name="name", about="A name for it.", listed=True),
    _FABRIC,
    _FAMILY,
    TypedField(
        name="accents",
        about="An accent: another colour family on it; may be repeated.",
        reads="families",
        option="--accent",
    ),
    _VALUE,
    _PLACE,
    TypedField(
        name="from_project", about="The project, or kept plan, it was left over from.", listed=True
    ),
    *_KEPT,
)

YARDAGE_FIELDS: Final = (
    TypedField(name="fabric", about="The fabric's name.", may_be_empty=False),
    TypedField(
        name="length",
        about="Along the selvage, such as '3/4 yd' or 'half a yard'.",
        reads="length",
        metavar="LENGTH",
        may_be_empty=False,
    ),
    TypedField(
        name="usable_width",
        about="Usable width of this length, if not the fabric's.",
        reads="length",
        option="--width",
        metavar="LENGTH",
    ),
    _PLACE,
    *_KEPT,
)

READY_CUT_FIELDS: Final = (
    TypedField(
        name="count",
        about="How many there are now.",
        reads="count",
        metavar="N",
        when_adding=False,
        may_be_empty=False,
    ),
    _FABRIC,
    _FAMILY,
    _VALUE,
    _PLACE,
    *_KEPT,
)

BINDING_FIELDS: Final = (
    TypedField(
        name="start_slope_deg",
        about="The left end: straight, / (leans right), \\ or degrees.",
        reads="slope",
        option="--start",
        metavar="SLOPE",
        may_be_empty=False,
    ),
    TypedField(
        name="end_slope_deg",
        about="The right end, likewise.",
        reads="slope",
        option="--end",
        metavar="SLOPE",
        may_be_empty=False,
    ),
    _FABRIC,
    _FAMILY,
    _VALUE,
    _PLACE,
    *_KEPT,
)

NOTION_FIELDS: Final = (
    READY_CUT_FIELDS[0],
    _FABRIC,
    _FAMILY,
    _VALUE,
    _PLACE,
    *_KEPT,
)

CRUMBS_FIELDS: Final = (
    TypedField(
        name="grams",
        about="What the bag weighs: '120 g', '0.5 kg', '4 oz', '1/2 lb'.",
        reads="weight",
        option="--weight",
        metavar="WEIGHT",
    ),
    _FABRIC,
    _FAMILY,
    _VALUE,
    _PLACE,
    *_KEPT,
)

FABRIC_FIELDS: Final = (
    TypedField(name="name", about="A new name, for one fabric.", may_be_empty=False),
    TypedField(name="fibre", about="Such as cotton or linen."),
    TypedField(
        name="usable_width",
        about="Usable width, between the selvages.",
        reads="length",
        option="--width",
        metavar="LENGTH",
    ),
    TypedField(
        name="washed",
        about="Washed before cutting, or not.",
        reads="flag",
        option="--washed/--unwashed",
    ),
    TypedField(
        name="one_way_print",
        about="The print has an up and a down, or not.",
        reads="flag",
        option="--one-way/--any-way",
    ),
    TypedField(
        name="alike",
        about="Both sides look alike, or one is the right side.",
        reads="flag",
        option="--alike/--right-side",
    ),
    _FAMILY,
    _VALUE,
    _NOTE,
)
