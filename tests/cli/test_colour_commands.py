"""``families``, ``find`` and ``piles`` as a person calls them."""

from pathlib import Path

import pytest
from PIL import Image

from scrapstore.store import open_store
from tests.render.samples import SAMPLES, photograph
from tests.support.coloured_store import CLOTHS, add_cloths
from tests.support.program import Program

COMMANDS = [["families"], ["families", "--scraps"], ["find", "--like", "#1a2459"],
            ["find", "--goes-with", "1"], ["piles", "3"]]  # fmt: skip


@pytest.fixture
def numbers(tmp_path: Path) -> dict[str, int]:
    """A store with one scrap of each cloth, two places, two values of their own."""
    with open_store(tmp_path / "store") as store:
        return add_cloths(store)


@pytest.mark.parametrize("command", COMMANDS)
def test_json_is_one_document_and_nothing_else(
    scrapstore: Program, numbers: dict[str, int], command: list[str]
) -> None:
    said = scrapstore(*command, "--json")
    assert isinstance(said.json, dict)
    assert said.err == ""


def test_families_are_counted_with_areas_and_values(
    scrapstore: Program, numbers: dict[str, int]
) -> None:
    told = scrapstore("families", "--json").json
    assert told["count"] == len(CLOTHS)
    by_family = {family["family"]: family for family in told["families"]}
    assert by_family["blue"]["count"] == 3
    assert by_family["blue"]["area"] == pytest.approx(72)
    assert by_family["blue"]["values"] == {"light": 1, "medium": 0, "dark": 2, "unknown": 0}
    assert by_family["pink"] | {"holding": [numbers["navy roses"]], "count": 0} == by_family["pink"]
    navy = by_family["blue"]["scraps"][-1]
    assert navy["family_from"] == "photo"
    for key in ("family", "value", "relative_value", "warmth"):
        assert 0 <= navy[f"{key}_confidence"] <= 1
    text = scrapstore("families").out
    assert "blue" in text
    assert f"{len(CLOTHS)} scraps, together 192 sq in" in text


def test_words_stand_where_there_is_no_colour(scrapstore: Program, numbers: dict[str, int]) -> None:
    """A pipe gets no escape codes; the words say the same."""
    for command in COMMANDS:
        assert "\x1b" not in scrapstore(*command).out


def test_a_terminal_with_colour_gets_blocks_beside_the_words(
    scrapstore: Program, numbers: dict[str, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("scrapstore.cli.colour_blocks.shows_colour", lambda: True)
    out = scrapstore("families", "--scraps").out
    assert "\x1b[38;2;26;36;90m██████" in out
    row = next(line for line in out.splitlines() if "38;2;24;34;88" in line)
    assert "blue, dark" in row
    assert "\x1b[38;2;226;140;165m█" in row


@pytest.mark.parametrize(
    ("colorterm", "no_color", "shown"),
    [("truecolor", "", True), ("24bit", "", True), ("", "", False), ("truecolor", "1", False)],
)
def test_colour_is_shown_only_where_it_can_be_and_is_wanted(
    monkeypatch: pytest.MonkeyPatch, colorterm: str, no_color: str, shown: bool
) -> None:
    """NO_COLOR as https://no-color.org says: present and not empty."""
    from scrapstore.cli.colour_blocks import shows_colour

    monkeypatch.setenv("COLORTERM", colorterm)
    monkeypatch.setenv("NO_COLOR", no_color)
    monkeypatch.setattr("sys.stdout.isatty", lambda: True)
    assert shows_colour() is shown


@pytest.mark.parametrize("command", [*COMMANDS, ["families", "--forget"]])
def test_filters_are_those_of_the_list_of_scraps(
    scrapstore: Program, numbers: dict[str, int], command: list[str]
) -> None:
    scrapstore("scrap", "edit", str(numbers["navy"]), "--place", "blue tin", "--name", "sailor")
    filters = ["--family", "blue", "--value", "dark", "--place", "Blue Tin", "--at-least", "3 x 5",
               "--status", "all"]  # fmt: skip
    listed = scrapstore("scrap", "list", *filters, "--json").json["scraps"]
    assert [scrap["id"] for scrap in listed] == [numbers["navy"]]
    scrapstore(*command, *filters)


def test_filters_combine(scrapstore: Program, numbers: dict[str, int]) -> None:
    scrapstore("scrap", "edit", str(numbers["navy"]), "--place", "blue tin")
    found = scrapstore(
        "find", "--like", "#000", "--family", "blue", "--place", "blue tin", "--json"
    )
    assert [each["scrap"]["id"] for each in found.json["found"]] == [numbers["navy"]]
    text = scrapstore("find", "--like", "#000", "--family", "green", "--place", "blue tin").out
    assert "No scrap with a photo to compare" in text


def test_learning_shows_first_stores_when_told_and_is_forgotten(
    scrapstore: Program, tmp_path: Path
) -> None:
    with open_store(tmp_path / "store") as store:
        first = add_cloths(store, "moss")["moss"]
        second = add_cloths(store, "moss")["moss"]
    assert "nothing to learn from" in scrapstore("families", "--learn", status=1).err
    scrapstore("scrap", "edit", str(first), "--family", "brown")
    said = scrapstore("families", "--learn")
    assert f"looks like #{first}" in said.out
    assert "Nothing is changed yet; add --apply" in said.err
    kept = scrapstore("families", "--learn", "--apply", "--json")
    assert kept.json["kept"] == [second]
    assert kept.json["changes"][0] | {"was": "green", "now": "brown"} == kept.json["changes"][0]
    assert scrapstore("scrap", "show", str(second), "--json").json["family"] == "brown"
    assert "change no other scrap" in scrapstore("families", "--learn").out
    # The correction goes; what was learned from it stays until it is taken back, and is told.
    scrapstore("scrap", "edit", str(first), "--family", "")
    assert "by --forget" in scrapstore("families", "--learn", status=1).err
    scrapstore("scrap", "edit", str(first), "--family", "brown")
    assert scrapstore("families", "--forget", "--apply", "--json").json["kept"] == [second]
    assert scrapstore("scrap", "show", str(second), "--json").json["family"] == "green"
    assert scrapstore("scrap", "show", str(first), "--json").json["family"] == "brown"
    assert "Nothing to take back" in scrapstore("families", "--forget").out


@pytest.mark.parametrize(
    ("arguments", "message", "status"),
    [
        (["families", "--apply"], "write families --learn --apply", 2),
        (["families", "--learn", "--forget"], "opposites", 2),
        (["families", "--learn", "--scraps"], "another call", 2),
        (["families", "--sheet", "sheet.pdf"], ".html, .png or .svg", 2),
        (["piles", "2", "--sheet", "nowhere/sheet.html"], "there is no folder nowhere", 1),
        (["families", "--family", "blu"], "did you mean blue?", 2),
        (["find"], "one of --like WHAT, --goes-with NUMBER and --label PHOTO", 2),
        (["find", "--like", "#fff", "--goes-with", "1"], "one of --like", 2),
        (["find", "--goes-with", "1", "--anywhere"], "--anywhere belongs to --like", 2),
        (["find", "--like", "nowhere.jpg"], "with quotes, so that the shell leaves the # alone", 1),
        (["find", "--goes-with", "99"], "no scrap has the number 99", 1),
        (["find", "--like", "#fff", "--most", "0"], "a whole number of 1 or more", 2),
        (["piles", "0"], "give a whole number of 1 or more", 2),
    ],
)
def test_slips_are_told_with_what_to_do(
    scrapstore: Program, numbers: dict[str, int], arguments: list[str], message: str, status: int
) -> None:
    """2 where the call is wrong, 1 where something is not there."""
    said = scrapstore(*arguments, status=status)
    assert message in said.err
    assert said.out == ""


def test_a_shade_typed_as_a_family_says_what_it_counts_as(
    scrapstore: Program, numbers: dict[str, int]
) -> None:
    said = scrapstore("families", "--family", "Teal")
    assert "Teal counts as blue." in said.err
    assert scrapstore("families", "--family", "blue").err == ""


def test_more_piles_than_different_scraps_are_told(
    scrapstore: Program, numbers: dict[str, int]
) -> None:
    said = scrapstore("piles", "99")
    assert f"99 piles were asked for; only {len(numbers)} scraps differ" in " ".join(
        said.out.split()
    )
    assert "were asked for" not in scrapstore("piles", "2").out


@pytest.mark.slow
def test_sheets_of_logged_photos_are_written(scrapstore: Program, tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    for name in ("bunting-red", "curtain-end-teal", "buoy-dots"):
        (sample,) = (sample for sample in SAMPLES if sample.file == f"{name}.jpg")
        photograph(sample).save_jpeg(tmp_path / "photos" / sample.file)
        kind, size, _ = sample.typed
        scrapstore("log", str(tmp_path / "photos" / sample.file), f"--{kind}", size)
    calls = [["families"], ["find", "--like", "1"], ["find", "--goes-with", "2"], ["piles", "2"]]
    pictures = [3, 2, 1, 3]  # a scrap is not like itself; two others are no three apart with it
    for command, count in zip(calls, pictures, strict=True):
        file = tmp_path / f"{'-'.join(command)}.html"
        said = scrapstore(*command, "--sheet", str(file), "--json")
        assert str(file) in said.err
        assert isinstance(said.json, dict)
        assert file.read_text(encoding="utf-8").count("data:image/jpeg;base64,") == count
    scrapstore("families", "--sheet", str(tmp_path / "sheet.svg"))
    assert (tmp_path / "sheet.svg").read_text(encoding="utf-8").count("data:image/jpeg") == 3
    scrapstore("families", "--sheet", str(tmp_path / "sheet.png"))
    with Image.open(tmp_path / "sheet.png") as image:
        assert image.width > 1000


@pytest.mark.usefixtures("empty_store")
def test_an_empty_store_is_no_error(scrapstore: Program) -> None:
    for call in (
        ["families"],
        ["families", "--scraps"],
        ["piles", "3"],
        ["find", "--like", "#fff"],
    ):
        assert "scrapstore log PHOTO" in " ".join(scrapstore(*call).out.split())
    assert scrapstore("piles", "3", "--json").json["piles"] == []
    assert scrapstore("find", "--like", "#fff", "--json").json["found"] == []


@pytest.mark.usefixtures("empty_store")
def test_where_there_is_no_pile_no_empty_line_stands_for_them(scrapstore: Program) -> None:
    scrapstore("scrap", "add", "--size", "9 x 6")
    assert scrapstore("piles", "3").out.startswith("In no pile")


def test_a_list_under_a_colour_ends_with_what_has_only_a_tint_of_it(
    scrapstore: Program, tmp_path: Path
) -> None:
    """Dusty rose, mauve and a navy with pink roses under pink; a plain grey under none."""
    with open_store(tmp_path / "store") as store:
        numbers = add_cloths(store, "mauve", "dusty rose", "plain grey", "navy roses")
    listed = scrapstore("scrap", "list", "--colour", "pink", "--json").json["scraps"]
    assert [(scrap["id"], scrap["family"], scrap["tints"]) for scrap in listed] == [
        (numbers["navy roses"], "blue", []),
        (numbers["dusty rose"], "grey", ["pink"]),
        (numbers["mauve"], "grey", ["purple", "pink"]),
    ]
    words = " ".join(scrapstore("scrap", "list", "--colour", "pink").out.split())
    firm, _, softer = words.partition("Also, softer: 2 grey, white or black scraps with a tint of")
    assert "navy roses" in firm
    assert "dusty rose" not in firm
    assert softer.startswith(" pink; the surest first.")
    assert softer.index("grey, a little pink") < softer.index("grey, a little purple or pink")
    assert "Also" not in scrapstore("scrap", "list", "--colour", "grey").out


def test_where_all_have_only_a_tint_none_is_said_to_read_so(
    scrapstore: Program, tmp_path: Path
) -> None:
    with open_store(tmp_path / "store") as store:
        add_cloths(store, "sage")
    words = scrapstore("scrap", "list", "--colour", "sage")
    assert "sage counts as green." in words.err
    assert "No scrap reads as green." in words.out
    assert "Also, softer: 1 grey, white or black scrap with a tint of green." in words.out


def test_families_count_tints_beside_accents(scrapstore: Program, tmp_path: Path) -> None:
    with open_store(tmp_path / "store") as store:
        numbers = add_cloths(store, "sage", "mauve", "moss")
    told = scrapstore("families", "--json").json["families"]
    assert {family["family"]: family["tinted"] for family in told} == {
        "pink": [numbers["mauve"]],
        "purple": [numbers["mauve"]],
        "green": [numbers["sage"]],
        "grey": [],
    }
    text = scrapstore("families").out
    assert "tint: greys, whites and blacks that are a little of it; a softer answer." in text
    assert "tint:" not in scrapstore("families", "--family", "moss", "--value", "dark").out


def test_a_scrap_says_its_tint(scrapstore: Program, tmp_path: Path) -> None:
    with open_store(tmp_path / "store") as store:
        numbers = add_cloths(store, "dusty rose", "plain grey")
    assert "tint     a little pink" in scrapstore("scrap", "show", str(numbers["dusty rose"])).out
    assert "tint " not in scrapstore("scrap", "show", str(numbers["plain grey"])).out
    like = scrapstore("find", "--like", "#a89496", "--colour", "pink").out
    assert "grey, medium, a little pink" in " ".join(like.split())
