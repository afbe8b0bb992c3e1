"""Settings: from the file, from the call, changed with their comments kept."""

import re
from pathlib import Path

import pytest

from scrapstore.errors import SettingsError
from scrapstore.settings import _RIGHT, Settings, load_settings, overridden, save_setting
from tests.support.program import Program


def test_without_a_file_the_defaults_hold(tmp_path: Path) -> None:
    """1/4 in seams, 40 in of usable width, a ruler in eighths, 1/8 in of margin."""
    settings = load_settings(tmp_path / "none.toml")
    assert settings == Settings(
        units="in", ruler_step=0.125, seam_allowance=0.25, usable_width=40, margin=0.125
    )


def test_set_and_show(scrapstore: Program, tmp_path: Path) -> None:
    """Written as typed; the file tells what it is."""
    said = scrapstore("settings", "set", "ruler-step", "1/16")
    assert str(tmp_path / "settings.toml") in said.err
    scrapstore("settings", "set", "usable_width", "107 cm")
    scrapstore("settings", "set", "margin", "0")
    scrapstore("settings", "set", "units", "cm")
    shown = scrapstore("settings", "show", "--json").json
    assert shown == {
        "units": "cm",
        "ruler_step": 0.0625,
        "seam_allowance": 0.25,
        "usable_width": 107 / 2.54,
        "margin": 0.0,
        "straightening": 1.0,
        "precut_straightening": 0.5,
        "washing_shrinkage": 0.0,
        "shop_step": "by units",
        "fat_quarters": "where cheaper",
        "price_yard": None,
        "price_metre": None,
        "price_fat_quarter": None,
        "price_fat_eighth": None,
        "check_line": 6.0,
        "squares": "print",
        "paper": "by units",
        "smallest_offcut": 1.5,
        "quilting_shrinkage": 0.0,
        "quilting_overhang": 2.0,
        "plumpness": 1.0,
        "stock_list": "none",
    }
    text = (tmp_path / "settings.toml").read_text()
    assert text.startswith("# Settings of scrapstore.")
    assert 'usable_width = "107 cm"' in text
    assert scrapstore("settings", "path", "--json").json == {
        "path": str(tmp_path / "settings.toml"),
        "exists": True,
    }


def test_squares_of_ones_own(scrapstore: Program, tmp_path: Path) -> None:
    """Set once as typed; what cannot be meant is refused before it is written."""
    scrapstore("settings", "set", "squares", "DICT_4X4_50:0-9:30 mm")
    shown = scrapstore("settings", "show", "--json", "--units", "cm").json
    assert shown["squares"] == "DICT_4X4_50:0-9:30 mm"
    said = scrapstore("settings", "set", "squares", "4x4_60:0-9:30 mm", status=2)
    assert "no family '4x4_60'; did you mean 4x4_50" in said.err
    assert 'squares = "DICT_4X4_50:0-9:30 mm"' in (tmp_path / "settings.toml").read_text()
    (tmp_path / "settings.toml").write_text('squares = "4x4_50:0-9"\n')
    said = scrapstore("settings", "show", status=1)
    assert "settings.toml: squares: cannot read '4x4_50:0-9'" in said.err


def test_prices_and_shares_are_no_lengths(scrapstore: Program) -> None:
    """Three per cent stay three where lengths are shown in centimetres; a price can be taken back.

    A shop's step without a unit is in the units shown.
    """
    for key, value in (("units", "cm"), ("washing_shrinkage", "3"), ("shop_step", "25")):
        scrapstore("settings", "set", key, value)
    scrapstore("settings", "set", "price_metre", "12.50")
    shown = scrapstore("settings", "show", "--json").json
    assert (shown["washing_shrinkage"], shown["price_metre"]) == (3.0, 12.5)
    assert shown["shop_step"] == pytest.approx(25 / 2.54)
    said = scrapstore("settings", "set", "price_metre", "none").out
    assert "3 %" in said
    assert scrapstore("settings", "show", "--json").json["price_metre"] is None
    assert "price_yard: 'much' will not do; give none, or an amount" in (
        scrapstore("settings", "set", "price_yard", "much", status=2).err
    )


def test_comments_and_order_are_kept(tmp_path: Path) -> None:
    """A file that a person wrote stays theirs."""
    file = tmp_path / "settings.toml"
    file.write_text('# mine\nmargin = "1/4"  # fraying linen\n\nunits = "in"\n')
    save_setting("margin", "3/8", file)
    save_setting("seam_allowance", "1/4", file)
    assert file.read_text() == (
        '# mine\nmargin = "3/8"  # fraying linen\n\nunits = "in"\nseam_allowance = "1/4"\n'
    )


@pytest.mark.parametrize(
    ("key", "value", "why"),
    [
        ("margni", "1/8", "no setting is called 'margni'; did you mean margin?"),
        ("colour", "red", "use one of units, ruler_step"),
        ("margin", "wide", "margin: cannot read 'wide' as a length"),
        ("margin", "9", "margin: '9' will not do; give a length from 0 to 5 in, such as 1/8"),
        ("ruler_step", "0", "ruler_step: '0' will not do"),
        ("units", "mm", "units: 'mm' will not do; give in or cm"),
    ],
)
def test_what_will_not_do_is_not_written(
    scrapstore: Program, tmp_path: Path, key: str, value: str, why: str
) -> None:
    """Key, what arrived, what would be right."""
    assert why in scrapstore("settings", "set", key, value, status=2).err
    assert not (tmp_path / "settings.toml").exists()


def test_what_is_told_of_a_setting_is_what_its_schema_takes() -> None:
    """Each bound that the sentence names is taken, what lies beyond is not; the example too."""
    for key, right in _RIGHT.items():
        example = right.rpartition("such as ")[2].split(" or ")[0].strip("'")
        overridden(Settings(), {key: example})
        for bound in (float(number) for number in re.findall(r"\b(\d+) in\b", right)):
            assert getattr(overridden(Settings(), {key: bound}), key) == bound
            with pytest.raises(SettingsError):
                overridden(Settings(), {key: bound + 0.1})


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("margin = ", ", line 1: cannot read 'margin =': after the = comes a number"),
        ("margin = true", "margin: True will not do"),
        ("margin = nan", "margin: nan will not do"),
        ('margins = "1/8"', "did you mean margin?"),
    ],
)
def test_a_settings_file_with_a_slip_is_told_by_name(tmp_path: Path, text: str, why: str) -> None:
    """Nothing is guessed."""
    file = tmp_path / "settings.toml"
    file.write_text(text)
    with pytest.raises(SettingsError) as told:
        load_settings(file)
    assert str(file) in str(told.value)
    assert why in str(told.value)


def test_bare_numbers_in_the_file_are_inches(tmp_path: Path) -> None:
    """Whatever units are shown."""
    file = tmp_path / "settings.toml"
    file.write_text('units = "cm"\nusable_width = 42\nmargin = "1/4"\n')
    settings = load_settings(file)
    assert (settings.usable_width, settings.margin) == (42, 0.25)


@pytest.mark.parametrize("step", ["1/7", "0.3", "0.33 mm"])
def test_a_step_that_no_ruler_has_is_refused(scrapstore: Program, step: str) -> None:
    """Figures on its marks could not be told."""
    told = scrapstore("settings", "set", "ruler_step", step, status=2).err
    assert "such as 1/8" in told
    for good in ("1/16", "1 mm", "0.5 mm", "1/2 cm", "1"):
        scrapstore("settings", "set", "ruler_step", good)


def test_a_call_overrules_the_file(scrapstore: Program) -> None:
    """--margin on the call, the setting otherwise, the file untouched."""
    scrapstore("settings", "set", "margin", "1/4")
    scrapstore("scrap", "add", "--size", "9 x 22")
    scrapstore("scrap", "add", "--size", "9 x 22", "--margin", "1/2")
    margins = [s["margin"] for s in scrapstore("scrap", "list", "--json").json["scraps"]]
    assert margins == [0.25, 0.5]
    assert overridden(Settings(), {"units": "cm", "margin": None}) == Settings(units="cm")
    with pytest.raises(SettingsError, match="units: 'ell' will not do"):
        overridden(Settings(), {"units": "ell"})


def test_any_setting_may_be_given_for_one_call(scrapstore: Program) -> None:
    """Before or after the command; the later one wins; a slip is told."""
    shown = scrapstore(
        "--set", "ruler_step=1/4", "settings", "show", "--json",
        "--set", "ruler step=1/16", "--set", "usable-width=110 cm",
    ).json  # fmt: skip
    assert shown["ruler_step"] == 1 / 16
    assert shown["usable_width"] == pytest.approx(110 / 2.54)
    assert scrapstore("settings", "show", "--json").json["ruler_step"] == 1 / 8
    for slip, told in (("ruler_step", "KEY=VALUE"), ("ruler_stop=1/8", "ruler_step")):
        done = scrapstore("settings", "show", "--set", slip, status=2)
        assert told in done.err
