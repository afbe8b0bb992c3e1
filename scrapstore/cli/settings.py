"""``settings``: what holds when a call says nothing."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli.base import Call, command, group
from scrapstore.cli.tables import Shown, table
from scrapstore.errors import SettingsError, UsageError
from scrapstore.units import Units, format_about

if TYPE_CHECKING:
    from scrapstore.settings import Settings

__all__ = ["app"]


app = group("settings", "Units shown, ruler step, seam allowance, widths, margin.")


@command(app, "show")
def show(call: Call) -> None:
    """Show every setting."""
    call.show(call.settings, lambda: _table(call.settings, call.units))


@command(app, "set")
def set_one(
    call: Call,
    key: Annotated[str, typer.Argument(metavar="KEY", help="The setting, such as seam_allowance.")],
    value: Annotated[
        str, typer.Argument(metavar="VALUE", help="A length without a unit is in the units shown.")
    ],
) -> None:
    """Change one setting in the settings file."""
    from scrapstore.settings import save_setting, settings_file

    try:
        call.with_settings(**{key: value})
    except SettingsError as error:  # nothing is wrong with the file
        raise UsageError(str(error)) from None
    saved = save_setting(key, value, units=call.settings.units)
    call.say(f"written to {settings_file()}")
    units = saved.units if key == "units" else call.units
    call.show(saved, lambda: _table(saved, units))


@command(app, "path")
def path(call: Call) -> None:
    """Tell where the settings file is, whether or not it is there yet."""
    from pydantic import BaseModel

    from scrapstore.settings import settings_file

    class SettingsPathOut(BaseModel):
        path: Path
        exists: bool

    file = settings_file()
    call.show(SettingsPathOut(path=file, exists=file.exists()), lambda: str(file))


def _table(settings: "Settings", units: Units) -> Shown:
    rows = [
        (key, _shown(key, getattr(settings, key), units), field.description or "")
        for key, field in type(settings).model_fields.items()
    ]
    return table(("setting", "value", "what it is"), rows)


def _shown(key: str, value: str | float | None, units: Units) -> str:
    from scrapstore.settings import PER_CENT, PRICES

    if value is None or isinstance(value, str):
        return value or "none"
    if key in PER_CENT:
        return f"{value:g} %"
    if key in PRICES:
        return f"{value:.2f}"
    return format_about(value, units)
