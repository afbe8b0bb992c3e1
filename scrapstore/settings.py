"""The user's settings: one TOML file, each setting also given on a call.

::

    # settings.toml; in this file a length without a unit is in inches, whatever units are shown
    units = "in"             # what lengths are shown in: in or cm
    ruler_step = "1/8"       # the marks of your ruler
    seam_allowance = "1/4"
    usable_width = "40"      # of fabric, between the selvages
    margin = "1/8"           # kept free along the edge of a scrap
    straightening = "1"      # kept of every length for squaring up its end
    precut_straightening = "1/2"  # what squaring up takes off the length of a fat quarter
    washing_shrinkage = 0    # per cent of the length, where fabric is washed before it is cut
    shop_step = "by units"   # lengths the shop cuts: 1/8 yd with inches, 10 cm with cm; or a length
    fat_quarters = "where cheaper"  # buy them, and fat eighths, or never
    price_yard = "none"      # of fabric off the bolt; or price_metre
    price_fat_quarter = "none"
    price_fat_eighth = "none"
    smallest_offcut = "1 1/2"    # what is nowhere so wide after cutting is waste
    quilting_shrinkage = 3       # per cent of each side that quilting draws in
    quilting_overhang = "2"      # batting and backing beyond the top, on each side
    plumpness = "1"              # how much larger than its pocket a form is
    check_line = "6 1/16"    # true length of the 6 in line on your printed scale
    squares = "print"        # of the scale: print (ours), or family:identities:side of your own
    paper = "by units"       # for sheets: letter with inches and A4 with cm; or letter, or a4
    stock_list = "none"      # project file of the sizes always kept in stock
"""

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Final, Literal

import platformdirs
from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
)

from scrapstore.errors import LengthError, SettingsError
from scrapstore.near_words import did_you_mean
from scrapstore.photo.typed_squares import EXAMPLE, PRINT, parse_squares
from scrapstore.toml_files import NotTomlError, UnreadableFileError, parsed_toml, toml_text
from scrapstore.units import (
    INCHES_PER_CM,
    INCHES_PER_YARD,
    WIDEST_FABRIC,
    LengthField,
    Paper,
    Units,
    says_unit,
)

__all__ = [
    "CHECK_LINE",
    "PER_CENT",
    "PRICES",
    "Settings",
    "load_settings",
    "overridden",
    "save_setting",
    "settings_file",
]

CHECK_LINE: Final = 6.0
"""Nominal length of the line to check the printed scale with, inches."""

FINEST_STEP: Final = 1 / 64
"""Inches; marks of a real ruler are further apart: 1/32 in, or half a millimetre."""

PER_CENT: Final = ("quilting_shrinkage", "washing_shrinkage")
PRICES: Final = ("price_yard", "price_metre", "price_fat_quarter", "price_fat_eighth")
"""Settings that are no length."""

_NEAR: Final = 1e-6  # of a mark
_PRICE: Final = "none, or an amount of money without its sign, such as 12.50"
_RIGHT: Final = {
    "units": "in or cm",
    "ruler_step": "what a ruler has, from 1/64 to 1 in, such as 1/8 or 1 mm",
    "seam_allowance": "a length from 0 to 2 in, such as 1/4",
    "usable_width": f"more than nothing and at most {WIDEST_FABRIC:g} in, such as 40",
    "margin": "a length from 0 to 5 in, such as 1/8",
    "straightening": "a length from 0 to 6 in, such as 1",
    "precut_straightening": "a length from 0 to 4 in, such as 1/2",
    "washing_shrinkage": "per cent from 0 to 20, such as 3",
    "shop_step": "by units, or a length from 1 to 36 in, such as 1/4 yd",
    "fat_quarters": "where cheaper or never",
    "price_yard": _PRICE,
    "price_metre": _PRICE,
    "price_fat_quarter": _PRICE,
    "price_fat_eighth": _PRICE,
    "smallest_offcut": "a length from 1/4 to 10 in, such as 1 1/2",
    "quilting_shrinkage": "per cent from 0 to 30, such as 3",
    "quilting_overhang": "a length from 0 to 20 in, such as 2",
    "plumpness": "a length from 0 to 6 in, such as 1",
    "check_line": "a length from 5 to 7 in, such as 6 1/16",
    "squares": f"print, or your own squares, such as {EXAMPLE}",
    "paper": "letter or a4; or by units, which is letter with inches and A4 with centimetres",
    "stock_list": "a project file, such as my-sizes.toml, or none",
}
"""What would be right for each setting."""
_NONE: Final = "none"
_BY_UNITS: Final = "by units"
_FIRST_LINES: Final = (
    "Settings of scrapstore. Here a length without a unit is in inches, whatever units are shown."
)


def _on_a_ruler(step: float) -> float:
    """Return the step where it is a whole number of 64ths of an inch or of half millimetres."""
    if all(abs(step * marks - round(step * marks)) > _NEAR for marks in (64, 50.8)):
        raise ValueError
    return step


def _readable_squares(text: str) -> str:
    parse_squares(text)
    return text.strip()


def _plain(text: object) -> object:
    return " ".join(text.lower().replace("_", " ").split()) if isinstance(text, str) else text


def _number(text: object) -> object:
    return text.strip().removesuffix("%") if isinstance(text, str) else text


def _no_price(text: object) -> object:
    return None if _plain(text) == _NONE else text


def _some_file(text: str) -> str:
    if not text.strip():
        raise ValueError
    return text.strip()


_Length = Annotated[float, LengthField(zero=True)]
_Price = Annotated[Annotated[float, Field(gt=0, lt=1e6)] | None, BeforeValidator(_no_price)]


class Settings(BaseModel):
    """All settings, with what holds when the file says nothing. Lengths are in inches."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    units: Units = Field("in", description="what lengths are shown in: in or cm")
    ruler_step: Annotated[_Length, Field(ge=FINEST_STEP, le=1), AfterValidator(_on_a_ruler)] = (
        Field(1 / 8, description="distance between the marks of the ruler")
    )
    seam_allowance: Annotated[_Length, Field(ge=0, le=2)] = Field(
        1 / 4, description="seam allowance"
    )
    usable_width: Annotated[_Length, Field(gt=0, le=WIDEST_FABRIC)] = Field(
        40.0, description="usable width of fabric, between the selvages"
    )
    margin: Annotated[_Length, Field(ge=0, le=5)] = Field(
        1 / 8, description="kept free along the edge of a scrap"
    )
    straightening: Annotated[_Length, Field(ge=0, le=6)] = Field(
        1.0, description="kept of every length of fabric, for squaring up its end"
    )
    precut_straightening: Annotated[_Length, Field(ge=0, le=4)] = Field(
        1 / 2, description="what squaring up takes off a fat quarter or fat eighth, lengthwise"
    )
    washing_shrinkage: Annotated[float, BeforeValidator(_number), Field(ge=0, le=20)] = Field(
        0.0, description="per cent that washing takes off the length of fabric bought"
    )
    shop_step: Annotated[
        Literal["by units"] | Annotated[_Length, Field(ge=1, le=36)], BeforeValidator(_plain)
    ] = Field(_BY_UNITS, description="the shop cuts multiples of it: by units is 1/8 yd, or 10 cm")
    fat_quarters: Annotated[Literal["where cheaper", "never"], BeforeValidator(_plain)] = Field(
        "where cheaper", description="whether to buy fat quarters and fat eighths"
    )
    price_yard: _Price = Field(None, description="price of a yard off the bolt")
    price_metre: _Price = Field(None, description="price of a metre off the bolt")
    price_fat_quarter: _Price = Field(None, description="price of a fat quarter")
    price_fat_eighth: _Price = Field(None, description="price of a fat eighth")
    smallest_offcut: Annotated[_Length, Field(ge=1 / 4, le=10)] = Field(
        1.5, description="what cutting leaves goes back into the store where it is as wide as this"
    )
    quilting_shrinkage: Annotated[float, BeforeValidator(_number), Field(ge=0, le=30)] = Field(
        0.0, description="per cent of each side that quilting draws in"
    )
    quilting_overhang: Annotated[_Length, Field(ge=0, le=20)] = Field(
        2.0, description="how far batting and backing reach beyond the top on each side"
    )
    plumpness: Annotated[_Length, Field(ge=0, le=6)] = Field(
        1.0, description="how much larger than its pocket a form is; 2 in for feather"
    )
    check_line: Annotated[_Length, Field(ge=5, le=7)] = Field(
        CHECK_LINE, description="true length of the 6 in line on the printed scale"
    )
    squares: Annotated[str, AfterValidator(_readable_squares)] = Field(
        PRINT, description=f"of the scale: print (ours), or your own such as {EXAMPLE}"
    )

    paper: Annotated[Literal["by units", Paper], BeforeValidator(_plain)] = Field(
        _BY_UNITS, description="for sheets: letter, a4, or by units (A4 with cm)"
    )
    stock_list: Annotated[str, AfterValidator(_some_file)] = Field(
        _NONE, description="project file of the sizes you always keep in stock, or none"
    )

    @property
    def page(self) -> Paper:
        """The paper that sheets are made for."""
        if self.paper != _BY_UNITS:
            return self.paper
        return "a4" if self.units == "cm" else "letter"

    @property
    def stock_file(self) -> Path | None:
        """The project file of the sizes that are always kept in stock."""
        return None if self.stock_list == _NONE else Path(self.stock_list)

    @property
    def price_inch(self) -> float | None:
        """The price of an inch off the bolt, whole width; by the metre where only that is given."""
        if self.price_yard is not None:
            return self.price_yard / INCHES_PER_YARD
        return None if self.price_metre is None else self.price_metre / (100 * INCHES_PER_CM)

    @property
    def mark(self) -> float:
        """The distance between two marks of the user's ruler, inches.

        On a ruler in centimetres every millimetre is a mark, whatever `ruler_step` says.
        """
        return INCHES_PER_CM / 10 if self.units == "cm" else self.ruler_step


def settings_file() -> Path:
    """Return where the settings are: $SCRAPSTORE_CONFIG, else in the user's config folder."""
    chosen = os.environ.get("SCRAPSTORE_CONFIG")
    if chosen:
        try:
            return Path(chosen).expanduser()
        except RuntimeError:  # ~somebody who is not there
            msg = f"$SCRAPSTORE_CONFIG names {chosen}: there is no such user; name the file in full"
            raise SettingsError(msg) from None
    return Path(platformdirs.user_config_path("scrapstore", appauthor=False)) / "settings.toml"


def load_settings(file: Path | None = None) -> Settings:
    """Return the settings in `file` (`settings_file`); the defaults when there is none.

    Raises SettingsError, naming file, key, what arrived and what would be right.
    """
    file = file or settings_file()
    try:
        values = parsed_toml(toml_text(file))
    except FileNotFoundError:
        return Settings()
    except NotTomlError as error:
        msg = f"{file}, line {error.line}: {error}. Put it right, or delete the file"
        raise SettingsError(f"{msg} to have the defaults") from error
    except UnreadableFileError as error:
        raise SettingsError(f"{file}: {error}") from error
    return _checked(values, where=f"{file}: ")


def overridden(settings: Settings, values: Mapping[str, str | float | None]) -> Settings:
    """Return `settings` with those of `values` that are not None, as given on a call.

    A length without a unit is in the units shown: those among `values`, else those of `settings`.
    """
    given = {_known_key(key, ""): value for key, value in values.items() if value is not None}
    if not given:
        return settings
    units = str(given.get("units", settings.units))
    return _checked(
        settings.model_dump()
        | {key: _with_unit(key, value, units) for key, value in given.items()},
        where="",
    )


def _with_unit(key: str, value: str | float, units: str) -> str | float:
    """Return a typed length with its unit; as it came when the unit is inches, or it is no length.

    What cannot be read at all is left to the check of the settings, which says why.
    """
    if key in ("units", *PER_CENT, *PRICES) or units == "in" or not isinstance(value, str):
        return value
    text = value.strip()
    try:
        return text if says_unit(text) else f"{text} {units}"
    except LengthError:
        return text


def save_setting(
    key: str, text: str, file: Path | None = None, *, units: Units | None = None
) -> Settings:
    """Write one setting into `file`, leaving its comments and the rest alone; return them all.

    A length without a unit is in `units`, those the file has when None; centimetres are written
    with their unit, so that changing the units later does not change a length. Raises
    SettingsError before anything is written when `key` or `text` will not do.
    """
    import tomlkit

    file = file or settings_file()
    known = _known_key(key, where="")
    written = str(_with_unit(known, text, units or load_settings(file).units))
    _checked({known: written}, where="")
    if known == "stock_list" and written.strip() != _NONE:
        written = str(Path(written.strip()).absolute())  # it will be read from other folders
    if file.exists():
        load_settings(file)  # says what is wrong with it
        document = tomlkit.parse(toml_text(file))
    else:
        document = tomlkit.document()
        document.add(tomlkit.comment(_FIRST_LINES))
    document[known] = written.strip()
    _write(file, tomlkit.dumps(document))
    return load_settings(file)


def _write(file: Path, text: str) -> None:
    part = file.with_name(f".part-{os.getpid()}-{file.name}")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        part.write_text(text, encoding="utf-8")
        part.replace(file)
    except OSError as error:
        part.unlink(missing_ok=True)
        msg = f"{file} cannot be written ({error.strerror}); check the folder's permissions"
        raise SettingsError(msg) from error


def _known_key(key: str, where: str) -> str:
    plain = key.strip().lower().replace("-", "_").replace(" ", "_")
    if plain in Settings.model_fields:
        return plain
    hint = did_you_mean(plain, Settings.model_fields)
    raise SettingsError(f"{where}no setting is called {key!r}; {hint}")


def _checked(values: Mapping[str, Any], where: str) -> Settings:
    by_key = {_known_key(key, where): value for key, value in values.items()}
    try:
        return Settings.model_validate(by_key)
    except SettingsError as error:
        raise SettingsError(f"{where}{error}") from error
    except ValidationError as error:
        first = error.errors()[0]
        key = str(first["loc"][0])
        why = f"{first['input']!r} will not do; give {_RIGHT[key]}"
        if first["type"] == "length" and isinstance(first["input"], str):
            why = first["msg"]
        raise SettingsError(f"{where}{key}: {why}") from error
