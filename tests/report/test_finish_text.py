"""The finishing of a top in words."""

from datetime import UTC, datetime

import pytest

from scrapstore.finishing import BackWish, BindingWish, FinishNeeds, hexagon, plan_sizes, rectangle
from scrapstore.planning.back_sources import BackFit, BackSources
from scrapstore.report.finish_text import (
    back_lines,
    cover_lines,
    layer_lines,
    measures_text,
    top_lines,
    work_steps,
)
from scrapstore.store import Notion

MOMENT = datetime(2026, 3, 1, tzinfo=UTC)


def _fit(beyond: float = 0.0, lap: float | None = 4.0) -> BackFit:
    pieces = (("back left", 11.75, 18.5), ("back right", 11.75, 18.5))
    return BackFit(pieces, beyond, lap, None if lap is None else 4.0)


def test_measures_of_tops() -> None:
    assert measures_text(rectangle(18.5, 18.25), "in") == "18 1/2 × 18 1/4 in"
    assert measures_text(rectangle(18.5, 18.03), "in") == "about 18 1/2 × 18 in"
    assert measures_text(hexagon(9.28867513), "in") == "about 16 1/16 in from side 1 to side 4"
    assert measures_text(rectangle(18, 18), "cm") == "about 45.7 × 45.7 cm"


def test_a_top_too_small_for_its_seam() -> None:
    sizes = plan_sizes(rectangle(18, 18), allowance=0.25, seam=0.5, binding=None)
    *_, said = top_lines(sizes, "bench", "in")
    assert said.endswith("Even untrimmed it lacks 1/4 in on each side: sew with 1/4 in.")
    # The order of work says the same seam as the first lines.
    *_, sewn = work_steps(sizes, FinishNeeds(), BackWish(kind="plain"), None, None, "in")
    assert "Sew round with a seam of 1/4 in" in sewn
    bare = plan_sizes(rectangle(18, 18), allowance=0, seam=0.25, binding=0.25)
    assert "cannot be kept without a border" in list(top_lines(bare, "bench", "in"))[-1]
    wide = plan_sizes(rectangle(17.5, 17.5), allowance=0.5, seam=0.25, binding=0.25)
    assert list(top_lines(wide, "bench", "in"))[-1] == "At most 1/4 in may come off each side."


def test_a_top_trimmed_inside_its_points() -> None:
    """By arithmetic: points that span 18 in lie 1/2 in outside of 17 in on each side."""
    sizes = plan_sizes(rectangle(18, 18), allowance=0.25, seam=0.25, binding=0.25, trim=(17, 17))
    said = list(top_lines(sizes, "bench", "in"))
    assert "Trim it to 17 × 17 in: 1/2 in inside the outermost points." in said
    (trim,) = work_steps(sizes, FinishNeeds(), None, None, None, "in")
    assert trim.endswith("with 1/2 in inside the outermost points.")


def test_a_measure_that_may_be_a_slip() -> None:
    said = []
    for side in (17, 16):
        sizes = plan_sizes(
            rectangle(18, 18), allowance=0.25, seam=0.25, binding=0.25, measured=(18, side)
        )
        said.append("look at the unit" in " ".join(top_lines(sizes, "bench", "in")))
    assert said == [False, True]


@pytest.mark.parametrize(
    ("fit", "sources", "said"),
    [
        (_fit(), BackSources(scraps=(3, 6)), "each 11 3/4 × 18 1/2 in: from scraps 3 and 6."),
        (_fit(), BackSources(scraps=(3,), lengths=(2,)), "from scrap 3 and length 2."),
        (
            _fit(),
            BackSources(ready=(4,), to_buy=1),
            "in: cut already, ready-cut pieces no. 4; cloth to buy for 1.",
        ),
        (
            _fit(),
            BackSources(scraps=(3,), lost=("C1",)),
            "from scrap 3; C1 spoilt or not cut, to be cut once more.",
        ),
        (_fit(), BackSources(), "nothing gives them yet."),
        (_fit(), None, "cut with the top's pieces (match bench)."),
        (_fit(beyond=-0.25), None, "The back is short: the top reaches 1/4 in beyond it"),
        (_fit(lap=1.0), None, "The pieces overlap by 1 in only: the opening may gape."),
        (_fit(lap=-1.0), None, "overlap by 0 in only"),
    ],
)
def test_the_back(fit: BackFit, sources: BackSources | None, said: str) -> None:
    assert said in " ".join(back_lines(fit, sources, "bench", "in", 1 / 8))


def test_form_and_zip() -> None:
    sizes = plan_sizes(rectangle(18, 18), allowance=0.25, seam=0.25, binding=None)
    needs = FinishNeeds(form=(19, 19), zip_length=16.5)
    form = Notion(id=4, created=MOMENT, kind="form", width=18, length=18)
    long_zip = Notion(id=7, created=MOMENT, kind="zip", length=20)
    said = list(cover_lines(sizes, needs, form, long_zip, "in"))
    assert said == [
        "The cover finishes 18 × 18 in, its pocket 18 × 18 in.",
        "Form: 19 × 19 in suits it; form 4 is 18 × 18 in, flat in it.",
        "Zip: up to 16 1/2 in; zip 7 is 20 in; sew across it and cut it off.",
    ]
    none = list(cover_lines(sizes, needs, None, None, "in"))
    assert none[1:] == [
        "Form: 19 × 19 in suits it; none near that size is in the store.",
        "Zip: up to 16 1/2 in; none that will do is in the store.",
    ]
    assert list(cover_lines(sizes, FinishNeeds(), None, None, "in")) == ["It finishes 18 × 18 in."]


def test_layers_are_cut_up_to_a_mark() -> None:
    sizes = plan_sizes(hexagon(9), allowance=0.25, seam=0.25, binding=0.25)
    needs = FinishNeeds(batting=sizes.layer(2), backing=sizes.layer(2))
    said = list(layer_lines(sizes, needs, (), (), "in", 1 / 8))
    assert said[0].startswith("Batting: 22 5/8 × 20 1/8 in; no piece, nor two butted")
    assert said[1].startswith("Backing: 22 5/8 × 20 1/8 in; no scrap or length")


def test_the_order_of_work_of_bound_and_turned_covers() -> None:
    """Hem, baste 1/8 in from the edge, stitches of 4.0 and 2.5 mm: common practice."""
    sizes = plan_sizes(rectangle(18, 18), allowance=0.25, seam=0.25, binding=0.25)
    needs = FinishNeeds(batting=(22.5, 22.5), backing=(22.5, 22.5))
    bound = " ".join(
        work_steps(sizes, needs, BackWish(), BindingWish(), "3 in after corner 1", "in")
    )
    order = ["each reaching 2 in", "Measure the top again", "fold 1/4 in, fold 1/4 in again",
             "wrong sides together", "1/8 in from the edge with 4.0 mm stitches",
             "Begin 3 in after corner 1", "2.5 mm stitches", "fold the mitre"]  # fmt: skip
    places = [bound.find(words) for words in order]
    assert -1 not in places
    assert places == sorted(places)
    back = BackWish(kind="zip", seam=0.5)
    turned = " ".join(work_steps(sizes, FinishNeeds(), back, None, None, "in"))
    assert "Sew the zip between the back pieces with 3/4 in on each side" in turned
    assert "right sides together" in turned
    assert "binding" not in turned


@pytest.mark.parametrize(
    ("batting", "backing", "said"),
    [
        (True, False, "Lay the top on the batting, which reaches 2 in"),
        (False, True, "Lay the backing right side down and the top upon it, the backing reaching"),
        (True, True, "Lay the backing right side down, batting and top upon it, each reaching"),
    ],
)
def test_only_the_layers_that_are_wanted_are_laid(batting: bool, backing: bool, said: str) -> None:
    sizes = plan_sizes(hexagon(9), allowance=0.25, seam=0.25, binding=0.25)
    layer = sizes.layer(2)
    needs = FinishNeeds(batting=layer if batting else None, backing=layer if backing else None)
    first, second, *_ = work_steps(sizes, needs, None, None, None, "in")
    assert first.startswith(said)
    assert "Trim it to about 16 1/16 in from side 1 to side 4" in second
