"""``crumbs``: bags of strings and crumbs, by weight, family and place."""

import pytest

from tests.support.program import Program


def test_a_bag_is_added_listed_changed_used_up_and_all_of_it_taken_back(
    scrapstore: Program,
) -> None:
    bag = ("--family", "navy", "--weight", "120 g", "--place", "tin", "--note", "strings")
    (added,) = scrapstore("crumbs", "add", *bag, "--json").json["crumbs"]
    assert (added["grams"], added["family"], added["place"]) == (120.0, "blue", "tin")
    scrapstore("crumbs", "add", "--family", "red")
    said = scrapstore("crumbs", "list").out
    assert "4.2 oz" in said
    assert "not weighed" in said
    assert "2 bags, together 4.2 oz" in said
    assert "120 g" in scrapstore("crumbs", "list", "--units", "cm", "--family", "blue").out
    assert scrapstore("crumbs", "list", "--place", "TIN", "--json").json["crumbs"] == [added]
    assert scrapstore("crumbs", "list", "--at-least", "1 x 1", "--json").json["crumbs"] == []
    (edited,) = scrapstore("crumbs", "edit", "1", "--weight", "90 g", "--json").json["crumbs"]
    assert edited["grams"] == 90.0
    scrapstore("crumbs", "retire", "1")
    assert "bag of crumbs 1" in scrapstore("history", "crumbs 1").out
    for _ in range(2):
        scrapstore("undo", "--yes")
    assert scrapstore("crumbs", "show", "1", "--json").json["crumbs"] == [added]
    assert scrapstore("store", "check").status == 0


@pytest.mark.parametrize("weight", ["120", "0 g", "much"])
def test_a_slip_in_the_weight_says_what_to_write(scrapstore: Program, weight: str) -> None:
    assert "such as 120 g" in scrapstore("crumbs", "add", "--weight", weight, status=2).err


def test_bags_are_counted_and_go_out_and_in_with_the_store(
    scrapstore: Program, tmp_path: object
) -> None:
    scrapstore("crumbs", "add", "--weight", "4 oz", "--family", "green")
    assert scrapstore("store", "info", "--json").json["counts"]["crumbs"] == 1
    bags = scrapstore("crumbs", "list", "--json").json
    scrapstore("store", "export", f"{tmp_path}/out.zip")
    scrapstore("store", "import", f"{tmp_path}/out.zip", "--store", f"{tmp_path}/other")
    assert scrapstore("crumbs", "list", "--json", "--store", f"{tmp_path}/other").json == bags
