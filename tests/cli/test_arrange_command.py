"""``arrange`` as a quilter calls it: a star from typed scraps, all figures by geometry."""

import re
import tomllib
from collections import Counter
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from shapely import Polygon, box

from scrapstore.store import NewFabric, NewScrap, Value, open_store
from tests.support.arranging import every_assignment
from tests.support.program import Program

SCRAPS: tuple[tuple[str, float, float, str, Value], ...] = (
    ("mustard", 15.25, 2.25, "yellow", "light"),
    ("rust", 15.25, 4.125, "orange", "medium"),
    ("teal", 15.25, 6.125, "green", "medium"),
    ("grey", 15.25, 4.125, "grey", "light"),
    ("navy", 15.25, 2.125, "blue", "dark"),
    ("navy", 12.75, 2.125, "blue", "dark"),
)
"""Six diamonds of a 2 in strip take 6 × 2.3094 + 1.1547 = 15.011 in: 6, 12, 18, 12, 6 and 5."""


@pytest.fixture
def star(
    scrapstore: Program, empty_store: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Path:
    """A project file of the star, its store with these scraps."""
    monkeypatch.chdir(tmp_path)
    with open_store(empty_store) as store, store.change("test") as writer:
        names = dict.fromkeys(name for name, *_ in SCRAPS)
        fabrics = {name: writer.add_fabric(NewFabric(name=name)) for name in names}
        for name, wide, tall, family, value in SCRAPS:
            cloth = NewScrap(
                outline=box(0, 0, wide, tall), fabric=fabrics[name], family=family, value=value,
                margin=0.0, grain_deg=0.0,
            )  # fmt: skip
            writer.add_scrap(cloth)
    scrapstore("design", "start", "star", "star.toml", "--piece", "1 1/2")
    return tmp_path / "star.toml"


def by_ring(arrangement: Any) -> tuple[str, ...]:
    """The fabric of each round; every one of its diamonds is of it."""
    rings: dict[int, set[str]] = {}
    for one in arrangement["positions"]:
        _, row, place = one["position"].split(".")
        rings.setdefault(int(row) + int(place) - 1, set()).add(one["cloth"])
    assert all(len(cloths) == 1 for cloths in rings.values())
    return tuple(rings[ring].pop() for ring in sorted(rings))


def test_exactly_four_ways_by_round_can_be_cut(scrapstore: Program, star: Path) -> None:
    said = scrapstore("arrange", "star.toml", "--scheme", "rounds")
    lines = said.out.splitlines()
    assert lines[0] == "4 ways can be cut without buying, and no others; the best first:"
    assert "background: any cloth will do as it stands" in " ".join(said.out.split())
    settled = star.read_text("utf-8").replace(
        "[roles.background]", '[roles.background]\nfamilies = ["white"]', 1
    )
    (star.parent / "settled.toml").write_text(settled, "utf-8")
    assert "any cloth" not in scrapstore("arrange", "settled.toml", "--scheme", "rounds").out
    whole = " ".join(said.out.split())
    assert "navy for round 4: 11 of 12" in whole
    for way_on in ("--pin", "--swap", "--picture", "--grey", "--keep", "--more"):
        assert way_on in whole
    found = scrapstore("arrange", "star.toml", "--scheme", "rounds", "--json").json
    assert {by_ring(one) for one in found["arrangements"]} == {
        ("mustard", "rust", "teal", "grey", "navy"),
        ("mustard", "grey", "teal", "rust", "navy"),
        ("navy", "rust", "teal", "grey", "mustard"),
        ("navy", "grey", "teal", "rust", "mustard"),
    }
    measures = [one["measures"] for one in found["arrangements"]]
    assert measures == sorted(measures, reverse=True)


def test_the_pieces_of_every_way_lie_in_their_scraps_without_overlap(
    scrapstore: Program, star: Path
) -> None:
    """Looked at with shapely alone: area 2 × 2.3094 less the trimmed tips."""
    found = scrapstore("arrange", "star.toml", "--more", "6", "--json").json
    assert len(found["arrangements"]) == 12
    names = [fabric for fabric, *_ in SCRAPS]
    for arrangement in found["arrangements"]:
        assert len({one["position"] for one in arrangement["positions"]}) == 54
        on_scrap: dict[int, list[Polygon]] = {}
        for one in arrangement["positions"]:
            assert one["cloth"] == names[one["scrap"] - 1]
            on_scrap.setdefault(one["scrap"], []).append(Polygon(one["outline"]))
        for number, outlines in on_scrap.items():
            cloth = box(0, 0, *SCRAPS[number - 1][1:3]).buffer(1e-6)
            assert all(cloth.covers(outline) for outline in outlines)
            assert all(4.2 < outline.area < 4.62 for outline in outlines)
            assert not any(
                a.intersection(b).area > 1e-6 for k, a in enumerate(outlines) for b in outlines[:k]
            )


def test_the_first_lines_say_how_many_and_every_scheme_is_accounted_for(
    scrapstore: Program, star: Path
) -> None:
    whole = " ".join(scrapstore("arrange", "star.toml").out.split())
    assert whole.startswith("6 ways and more can be cut without buying: rounds 4 and of the others")
    assert whole.index("Not possible:") < whole.index("Next:") < whole.index("what lies where")
    for word in ("rounds", "wedges", "graded", "families", "scattered", "mirrored", "alternating"):
        assert f"{word}" in whole
    assert "plain middle: coloured cloth for rounds 2, 3, 4 and 5: 47 of 48" in whole
    assert "alternating: teal for wedges 1, 3 and 5: 18 of 27" in whole


def test_a_kept_way_is_a_project_that_match_plan_and_cut_follow(
    scrapstore: Program, star: Path, tmp_path: Path
) -> None:
    text = star.read_text("utf-8").replace(
        "[roles.background]", '[roles.background]\nfabrics = ["white"]'
    )
    star.write_text(text, encoding="utf-8")
    kept = scrapstore(
        "arrange", "star.toml", "--scheme", "rounds", "--pin", "round 1=mustard",
        "--pin", "round 2=rust", "--keep", "1", "--as", "mine.toml", "--plan", "mine", "--json",
    ).json  # fmt: skip
    assert kept["plan"] == "mine"
    assert [by_ring(one) for one in kept["arrangements"]] == [
        ("mustard", "rust", "teal", "grey", "navy")
    ]
    file = tomllib.loads((tmp_path / "mine.toml").read_text("utf-8"))
    assert file["roles"]["teal"] == {"fabrics": ["teal"]}
    assert file["roles"]["background"] == {"fabrics": ["white"]}
    assert len(file["arrangement"]["teal 60° diamond"]) == 18
    assert Counter(one["count"] for one in file["pieces"])[18] == 1
    answer = scrapstore("plan", "show", "mine", "--json").json["answer"]
    lines = {one["name"]: one for one in answer["pieces"]}
    assert all(one["scraps"] == one["wanted"] for n, one in lines.items() if "diamond" in n)
    promised = scrapstore("arrange", "star.toml").out
    assert "5 scraps are set aside for 'mine', and not counted here." in " ".join(promised.split())
    refused = scrapstore("arrange", "star.toml", "--pin", "round 3=Teal", status=2)
    assert "all teal is set aside for 'mine'" in refused.err
    scrapstore("cut", "mine", "--yes")
    again = scrapstore("arrange", "star.toml", status=0)
    assert "No way can be cut without buying." in again.out


def test_star_pieces_are_not_eaten_by_a_background_of_any_cloth(
    scrapstore: Program, star: Path, tmp_path: Path
) -> None:
    """The half triangles of the background, 5 in tall, would lie on the teal scrap as well."""
    scrapstore("arrange", "star.toml", "--scheme", "rounds", "--keep", "1", "--as", "mine.toml")
    match = ("match", "--try-harder", "0", "--json")
    plain = scrapstore(*match, "star.toml").json["pieces"]
    arranged = scrapstore(*match, "mine.toml").json["pieces"]
    assert sum(one["scraps"] for one in plain if "diamond" not in one["name"]) > 0
    assert [one["scraps"] for one in arranged if "diamond" in one["name"]] == [
        one["wanted"] for one in arranged if "diamond" in one["name"]
    ]


def test_a_way_is_shown_in_full_and_swapped(scrapstore: Program, star: Path) -> None:
    rounds = ("arrange", "star.toml", "--scheme", "rounds")
    first = by_ring(scrapstore(*rounds, "--show", "1", "--json").json["arrangements"][0])
    shown = scrapstore(*rounds, "--show", "1", "--swap", "round 1=round 5", "--json").json
    assert by_ring(shown["arrangements"][0]) == (first[4], *first[1:4], first[0])
    assert shown["arrangements"][0]["number"] == 1
    pinned = (*rounds, "--pin", f"round 1={first[0]}")
    said = scrapstore(*pinned, "--show", "1", "--swap", "round 1=round 5", status=1).err
    assert "1.1.1 is pinned" in said
    said = scrapstore(*rounds, "--show", "1", "--swap", "rust=teal", status=1).err
    assert "rust gives 12 of 18" in said
    text = scrapstore(*rounds, "--show", "2").out
    assert "1.1.1, 2.1.1, 3.1.1" in text


@pytest.mark.parametrize(
    ("options", "status", "said"),
    [
        (("--scheme", "spiral"), 2, "there is no 'spiral'"),
        (("--by", "smell"), 2, "there is no 'smell'"),
        (("--role", "round 9"), 2, "there is no 'round 9'"),
        (("--pin", "round 1=velvet"), 2, "called 'velvet'"),
        (("--show", "99"), 2, "no arrangement has the number 99"),
        (("--swap", "teal=rust"), 2, "--show N or --keep N"),
        (("--keep", "1"), 2, "--keep and --as go together"),
        (("--plan", "x"), 2, "--keep N --as FILE.toml"),
        (("--keep", "1", "--show", "1", "--as", "x.toml"), 2, "give one of them"),
        (("--keep", "1", "--as", "star.toml"), 1, "is there already"),
    ],
)
def test_what_cannot_be_understood_is_said(
    scrapstore: Program, star: Path, options: tuple[str, ...], status: int, said: str
) -> None:
    assert said in scrapstore("arrange", "star.toml", *options, status=status).err


def test_a_project_without_places_says_how_to_get_them(
    scrapstore: Program, star: Path, tmp_path: Path
) -> None:
    text = star.read_text("utf-8")
    (tmp_path / "bare.toml").write_text(text[: text.index("[design]")], encoding="utf-8")
    said = scrapstore("arrange", "bare.toml", status=1).err
    assert "design start" in said


def test_conditions_of_the_roles_stay_binding(
    scrapstore: Program, star: Path, tmp_path: Path
) -> None:
    """Round 1 must be dark: two of the four ways are left, and their file still says so."""
    text = star.read_text("utf-8").replace(
        '[roles."round 1"]', '[roles."round 1"]\nvalues = ["dark"]', 1
    )
    (tmp_path / "dark.toml").write_text(text, encoding="utf-8")
    found = scrapstore(
        "arrange", "dark.toml", "--scheme", "rounds", "--keep", "1", "--as", "x.toml", "--json"
    ).json
    assert found["schemes"][0]["ways"] == 2
    roles = tomllib.loads((tmp_path / "x.toml").read_text("utf-8"))["roles"]
    assert roles["navy"] == {"fabrics": ["navy"], "values": ["dark"]}


def test_a_length_at_hand_stands_in_for_a_scrap(
    scrapstore: Program, star: Path, tmp_path: Path
) -> None:
    """By geometry: 4 in, less 1 in for the end, give one strip of 2 in, and 40 in of it hold
    (40 - 1.1547) / 2.3094, or 16 pointed diamonds; 6 in give two strips, and 18 are wanted."""
    scrapstore("scrap", "retire", "3")
    rounds = ("arrange", "star.toml", "--scheme", "rounds", "--by", "fabric")
    scrapstore("yardage", "add", "--fabric", "teal", "--length", "4")
    said = " ".join(scrapstore(*rounds).out.split())
    assert "No way can be cut without buying." in said
    assert re.search(r"teal for round 3: 1[67] of 18", said)
    scrapstore("yardage", "edit", "1", "--length", "6")
    found = scrapstore(*rounds, "--keep", "1", "--as", "mine.toml", "--json").json
    # Two strips give teal for more than one round: counted out from what each cloth gives.
    gives = [[tuple(amount) for amount in cloth["gives"]] for cloth in found["cloths"]]
    ways = every_assignment([(6,), (12,), (18,), (12,), (6,)], gives)
    apart = [way for way in ways if all(a != b for a, b in pairwise(way))]
    assert found["schemes"][0]["ways"] == len(apart) > 4
    sources = {one["yardage"] for one in found["arrangements"][0]["positions"]}
    assert sources == {1, None}
    answer = scrapstore("match", "mine.toml", "--try-harder", "0", "--json").json
    teal = next(one for one in answer["yardage"] if one["role"] == "teal")
    assert not teal["must_buy"]


def test_scraps_without_a_fabric_are_arranged_and_kept_by_number(
    scrapstore: Program, star: Path, tmp_path: Path
) -> None:
    """Twelve squares from four scraps of four squares each; no two of one scrap side by side."""
    for family in ("red", "blue", "green", "pink"):
        scrapstore("scrap", "add", "--size", "5 x 5", "--margin", "0", "--family", family)
    scrapstore(
        "design", "start", "squares", "grid.toml", "--piece", "2", "--rows", "3", "--columns", "4"
    )
    scrapstore("arrange", "grid.toml", "--scheme", "scattered", "--keep", "1", "--as", "mine.toml")
    roles = tomllib.loads((tmp_path / "mine.toml").read_text("utf-8"))["roles"]
    assert ["scraps"] in [list(role) for role in roles.values()]
    pieces = scrapstore("match", "mine.toml", "--json").json["pieces"]
    assert all(one["scraps"] == one["wanted"] for one in pieces)
