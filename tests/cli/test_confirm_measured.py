"""What to keep of measured scraps: the answers, and the options that name numbers."""

from pathlib import Path

import pytest

from scrapstore.cli.confirm_measured import numbers_kept
from scrapstore.errors import StoreError
from tests.render.arrange import Options, render_scene
from tests.support.program import Program


@pytest.mark.parametrize(
    ("answer", "kept"),
    [("all", (1, 2, 4)), (" NONE ", ()), ("2", (1, 4)), ("leave out 1, 4", (2,)), ("1 2 4", ())],
)
def test_answers(answer: str, kept: tuple[int, ...]) -> None:
    assert numbers_kept(answer, (1, 2, 4)) == kept


@pytest.mark.parametrize("answer", ["3", "maybe", "", "0"])
def test_answers_that_say_nothing(answer: str) -> None:
    with pytest.raises(StoreError):
        numbers_kept(answer, (1, 2, 4))


def test_measuring_from_the_command_line(scrapstore: Program, tmp_path: Path) -> None:
    """Nothing without --yes, as there is no terminal; then all but what is left out."""
    photo = tmp_path / "table.jpg"
    options = Options(scraps=3, width=2016, height=1512, camera_height=20, tilt_deg=5, k1=0.0,
                      table="plain", cloths=("solid",))  # fmt: skip
    render_scene(11, options).save_jpeg(photo)
    said = scrapstore("log", str(photo), status=1)
    assert "there is no terminal to ask" in said.err
    said = scrapstore("log", str(photo), "--yes", "--leave-out", "1", "--typed", "2: 9 x 6",
                      "--take-grain", "--place", "tin", "--json")  # fmt: skip
    (logged,) = said.json["logged"]
    typed, measured = logged["scraps"]
    assert (typed["long_side"], typed["short_side"], typed["uncertainty"]) == (9, 6, 0)
    assert measured["uncertainty"] > 0
    assert {typed["place"], measured["place"]} == {"tin"}
    assert Path(logged["preview"]).is_file()
    listed = scrapstore("scrap", "list", "--json").json["scraps"]
    assert len(listed) == 2
    assert "--typed: cannot read" in scrapstore("log", str(photo), "--typed", "2", status=2).err
