"""Every fault of a project file, with its line, its key and a remedy."""

import pytest

from scrapstore.projects import read_project
from tests.support.bench import BENCH, bench, faults

ONE_FAULT = {
    "no format": (
        bench("format = 1\n"), "line 1, format: missing; give format = 1"),
    "later format": (
        bench("format = 1", "format = 2"),
        "line 1, format: 2 is newer than this program, which reads 1; update scrapstore"),
    "format as text": (
        bench("format = 1", 'format = "1"'),
        "line 1, format: '1' will not do; give format = 1"),
    "unknown key": (
        bench("name", "nme = 1\nname"), "line 2, nme: no such key; did you mean name?"),
    "unknown key of a role": (
        bench("[roles.plain]\n", "[roles.plain]\nfamlies = []\n"),
        'line 4, role "plain", famlies: no such key; did you mean families?'),
    "unknown key of a piece": (
        bench("count", "cuont = 3\ncount"),
        'line 8, piece 1 "a", cuont: no such key; did you mean count?'),
    "misspelt size": (
        bench("side", "sied"), 'line 7, piece 1 "a", sied: no such key; did you mean side?'),
    "size of another shape": (
        bench("side", "height"), 'line 7, piece 1 "a", height: a square has no height'),
    "missing size": (
        bench('side = "3"\n'), 'line 6, piece 1 "a", shape: no size given for a square; '
        "it takes side"),
    "unreadable size": (
        bench('"3"', '"three"'),
        "line 7, piece 1 \"a\", side: cannot read 'three' as a length"),
    "size of nothing": (
        bench('"3"', '"0"'), "line 7, piece 1 \"a\", side: '0' will not do"),
    "size too small": (
        bench('"3"', '"0.001"'), 'line 6, piece 1 "a", shape: square: side 0.001 will not do'),
    "size as truth": (
        bench('"3"', "true"), 'line 7, piece 1 "a", side: True is not a length'),
    "count of nothing": (
        bench("4", "0"), 'line 8, piece 1 "a", count: 0 will not do; give a whole number from 1'),
    "count as text": (
        bench("4", '"4"'), "line 8, piece 1 \"a\", count: '4' will not do; give a whole number"),
    "count as truth": (
        bench("4", "true"), 'line 8, piece 1 "a", count: true will not do; give a whole number'),
    "unknown shape": (
        bench("square", "sqare"),
        "line 6, piece 1 \"a\", shape: shape 'sqare' is not known; did you mean square?"),
    "unknown role": (
        bench('role = "plain"', 'role = "plane"',
              add='[[pieces]]\nname = "b"\nshape = "square"\nside = 2\ncount = 1\nrole = "plain"'),
        'line 9, piece 1 "a", role: there is no [roles.plane]; did you mean plain?'),
    "role without pieces": (
        bench("[roles.plain]\n", "[roles.plain]\n[roles.other]\n"),
        'line 4, role "other": no piece has this role'),
    "two of one name": (
        bench(add=BENCH[BENCH.index("[[pieces]]"):]),
        'line 11, piece 2 "a", name: piece 1 has the same name'),
    "no colour": (
        bench("[roles.plain]\n", '[roles.plain]\nfamilies = [\n  "red",\n  "bleu",\n]\n'),
        "line 6, role \"plain\", families, entry 2: 'bleu' is no colour word; "
        "did you mean blue?"),
    "no value": (
        bench("[roles.plain]\n", '[roles.plain]\nvalues = ["lite"]\n'),
        "line 4, role \"plain\", values, entry 1: 'lite' will not do; give \"light\""),
    "impossible sets": (
        bench("[roles.plain]\n", "[roles.plain]\nsame_fabric_sets = 3\n"),
        'line 9, piece 1 "a", count: 4 pieces cannot come in sets of 3'),
    "too many fabrics": (
        bench("[roles.plain]\n", "[roles.plain]\nmin_fabrics = 5\n"),
        'line 4, role "plain", min_fabrics: 4 pieces cannot be from 5 different fabrics'),
    "too few named fabrics": (
        bench("[roles.plain]\n", '[roles.plain]\nmin_fabrics = 2\nfabrics = ["x"]\n'),
        'line 4, role "plain", min_fabrics: 2 fabrics wanted, but only x may be used'),
    "less than a set": (
        bench("[roles.plain]\n", "[roles.plain]\nsame_fabric_sets = 4\nmax_per_fabric = 3\n"),
        'line 5, role "plain", max_per_fabric: 3 is less than one set of 4'),
    "tips": (
        'tips = "blunt"\n' + BENCH,
        'line 1, tips: \'blunt\' will not do; give "pointed" or "trimmed"'),
    "seam allowance": (
        "seam_allowance = '3'\n" + BENCH,
        "line 1, seam_allowance: '3' will not do; give a length from 0 to 2 in"),
    "grain word": (
        bench(add='grain = "bias"\n'),
        'line 10, piece 1 "a", grain: \'bias\' will not do; give "straight"'),
    "grain key": (
        bench(add="grain = { edge = [1] }\n"),
        'line 10, piece 1 "a", grain, edge: no such key; did you mean edges?'),
    "grain edge": (
        bench(add="grain = { edges = [5] }\n"),
        'line 10, piece 1 "a", grain: there is no edge 5; the shape has edges 1 to 4'),
    "grain twice": (
        bench(add="grain = { edges = [1], one_way_deg = 0 }\n"),
        'line 10, piece 1 "a", grain: edges, one_way_deg and free_every_deg exclude'),
    "mirror": (
        bench(add='mirror = "yes"\n'),
        "line 10, piece 1 \"a\", mirror: 'yes' will not do; give true or false"),
    "corners of a square": (
        bench(add='corners = [["0", "0"]]\n'),
        'line 10, piece 1 "a", corners: a square takes side; corners belong to'),
    "polygon without corners": (
        bench('"square"\nside = "3"', '"polygon"'), 'line 4, piece 1 "a", corners: missing; give'),
    "polygon that crosses": (
        bench('"square"\nside = "3"', '"polygon"\ncorners = [[0,0],[4,4],[4,0],[0,4]]'),
        'line 7, piece 1 "a", corners: polygon: its edges cross'),
    "corner unreadable": (
        bench('"square"\nside = "3"', '"polygon"\ncorners = [[0,0],\n[4,"x"],[4,0]]'),
        "line 8, piece 1 \"a\", corners, entry 2: cannot read 'x'"),
    "corner that is no pair": (
        bench('"square"\nside = "3"', '"polygon"\ncorners = [[0,0],[4],[4,0]]'),
        'line 7, piece 1 "a", corners, entry 2: [4] will not do; give corners in order'),
    "half a cushion": (
        bench("[roles", '[cushion]\nwidth = "16"\n[roles'),
        "line 3, cushion, height: missing; give a length"),
    "no pieces": (
        'format = 1\nname = "x"\nroles = {}\npieces = []\n',
        "line 4, pieces: [] will not do; give [[pieces]] for every kind of piece"),
    "a piece that is no table": (
        'format = 1\nname = "x"\nroles = {}\npieces = [3]\n',
        "line 4, piece 1: 3 will not do; give [[pieces]] for every kind of piece"),
    "length without quotes": (
        bench('"3"', "3 1/2"),
        "line 7: cannot read 'side = 3 1/2': lengths go in quotes: side = \"3 1/2\""),
    "open quote": (
        bench('"bench"', '"bench'),
        "line 2: cannot read 'name = \"bench': a quote is opened and not closed"),
    "curly quotes": (
        bench('"bench"', '“bench”'),
        "line 2: cannot read 'name = “bench”': quotes must be straight ones"),
    "a role that is no table": (
        'format = 1\nname = "x"\n[roles]\nsky = 5\n[[pieces]]\nname = "a"\nshape = "square"\n'
        'side = "3"\ncount = 1\nrole = "sky"\n',
        'line 4, role "sky": 5 will not do; give a table, [roles.sky], with families'),
    "a key twice": (
        bench("count", "side = 4\ncount"),
        "line 8: cannot read 'side = 4': it is there twice; keep one"),
    "a table twice": (
        bench("[roles.plain]\n", "[roles.plain]\n[roles.plain]\n"),
        "line 4: cannot read '[roles.plain]': it is there twice"),
    "broken at the end": (bench(add="x ="), "line 10: cannot read 'x =': after the = comes a"),
    "nested without end": (
        "x = " + "[" * 5000, f"line 1: cannot read 'x = {'[' * 52}...: nested more than 20"),
}  # fmt: skip


@pytest.mark.parametrize("case", ONE_FAULT)
def test_one_fault_is_told_with_line_key_and_remedy(case: str) -> None:
    text, expected = ONE_FAULT[case]
    (told,) = faults(text)
    assert told.startswith(expected)


def test_all_faults_come_at_once_in_the_order_of_lines() -> None:
    text = (
        "format = 1\n"
        "nam = 'bench'\n"
        "[roles.star]\n"
        "families = ['bleu']\n"
        "[[pieces]]\n"
        "name = 'a'\n"
        "shape = 'squar'\n"
        "side = '3'\n"
        "count = 0\n"
        "role = 'star'\n"
        "[[pieces]]\n"
        "name = 'a'\n"
        "shape = '60° diamond'\n"
        "hieght = 'x'\n"
        "count = 4\n"
        "role = 'stern'\n"
        "grain = { edges = [9] }\n"
    )
    told = faults(text)
    starts = [line.split(": ")[0] for line in told]
    assert starts == [
        "line 1, name",
        "line 2, nam",
        'line 4, role "star", families, entry 1',
        'line 7, piece 1 "a", shape',
        'line 9, piece 1 "a", count',
        'line 12, piece 2 "a", name',
        'line 14, piece 2 "a", hieght',
        'line 16, piece 2 "a", role',
        'line 17, piece 2 "a", grain',
    ]


def test_a_notch_too_narrow_for_the_seam_allowance() -> None:
    slot = "[[0,0],[5,0],[5,4],[2.7,4],[2.7,1],[2.3,1],[2.3,4],[0,4]]"
    text = bench('"square"\nside = "3"', f'"polygon"\ncorners = {slot}')
    (told,) = faults(text)
    assert "too close for a seam allowance of 0.25 in" in told
    assert read_project("seam_allowance = '1/8'\n" + text).pieces
