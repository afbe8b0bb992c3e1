"""The finishing of a top in words: sizes, back, layers, form, and the order of the work."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from scrapstore.finishing import BackWish, BindingWish, FinishNeeds, FinishSizes, TopOutline
from scrapstore.planning.back_sources import BackFit, BackSources
from scrapstore.planning.strip_supply import StripLength
from scrapstore.report.reading_help import CAUTIONS
from scrapstore.sentences import several
from scrapstore.store import Notion, Scrap
from scrapstore.units import Units, format_about, format_cut, format_length, format_size

__all__ = [
    "FINISH_CAUTIONS",
    "FinishWords",
    "back_lines",
    "cover_lines",
    "layer_lines",
    "measures_text",
    "top_lines",
    "work_steps",
]

FINISH_CAUTIONS: Final = (
    *CAUTIONS,
    "Needles and forgotten pins prick long after the work: count pins out and in again, and run a "
    "hand over both sides before anybody leans on it.",
    "Stuffing, loose threads, zip pulls and other small parts do not belong near small children: "
    "close the cover well, and give babies no cushion to sleep with.",
)


@dataclass(frozen=True)
class FinishWords:
    """What is said of the finishing of a top: the `first` lines, then the table of its strips.

    `order` stands over the table, `notes` under it; there is none where `order` is empty.
    """

    first: tuple[str, ...]
    order: str = ""
    columns: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


_SEEN: Final = 1 / 32
"""Inches; less than this is not worth a sentence."""
_MOST: Final = 4
_SLIP: Final = 0.1
"""Share by which a quilted top may differ from its plan; more is hardly what quilting does."""
_LEAST_SEAM: Final = 1 / 8
"""Inches; a narrower seam does not hold."""
_LEAST_LAP: Final = 2.0
"""Inches; an envelope that overlaps less gapes: common practice."""


def measures_text(outline: TopOutline, units: Units) -> str:
    """Return the measures of an outline: ``18 1/2 × 18 1/2 in``, or its depth with how it lies."""
    if outline.is_rectangle:
        return _sides(outline.measures, units)
    return f"{format_about(outline.measures[0], units)} {_way(outline)}"


def _way(outline: TopOutline) -> str:
    """Say how the depth of an outline is measured that is no rectangle."""
    half, odd = divmod(len(outline.sides), 2)
    turned = sum(180 - angle for angle in outline.corners_deg[:half])
    return "square to side 1" if odd or abs(turned - 180) > 1 else f"from side 1 to side {half + 1}"


def _sides(measures: Sequence[float], units: Units) -> str:
    if len(measures) == 1:
        return format_about(measures[0], units)
    about = any(format_length(one, units).startswith("~") for one in measures)
    return ("about " if about else "") + format_size(measures[0], measures[1], units)


def top_lines(sizes: FinishSizes, name: str, units: Units) -> Iterator[str]:
    """Yield whether the quilted top is measured, how it is trimmed, and what that would cut.

    `name` is that of the project file or the plan, for the call that takes the measures.
    """
    planned = measures_text(sizes.planned, units)
    if sizes.measured:
        yield f"Measured {measures_text(sizes.quilted, units)} (planned {planned})."
        both = zip(sizes.quilted.measures, sizes.planned.measures, strict=True)
        if any(abs(now / then - 1) > _SLIP for now, then in both):
            yield "That is far from what was planned: measure again, and look at the unit."
    else:
        given = "'W x H'" if sizes.planned.is_rectangle else "LENGTH"
        yield f"Measure the quilted top now (planned {planned}): finish {name} --measured {given}."
    yield f"Trim it to {measures_text(sizes.trimmed, units)}: {_beside_points(sizes, units)}."
    may_lose = min(sizes.may_lose)
    if sizes.cut_points:
        yield (
            f"This cuts the points: the seam of {format_about(sizes.seam, units)} lies "
            f"{format_about(sizes.cut_points, units)} inside them. {_remedy(sizes, units)}"
        )
    elif may_lose > _SEEN:
        yield f"At most {format_about(may_lose, units)} may come off each side."


def _beside_points(sizes: FinishSizes, units: Units) -> str:
    rest = min(sizes.outside)
    side = "outside" if rest >= 0 else "inside"
    return f"{format_about(abs(rest), units)} {side} the outermost points"


def _remedy(sizes: FinishSizes, units: Units) -> str:
    may_lose = min(sizes.may_lose)
    if may_lose >= _SEEN:
        return f"At most {format_about(may_lose, units)} may come off each side: trim less."
    if may_lose > -_SEEN:
        return "Nothing may come off any side: do not trim it smaller."
    lacks = f"Even untrimmed it lacks {format_about(-may_lose, units)} on each side"
    seam = _seam_to_sew(sizes)
    if seam == sizes.seam:
        return f"{lacks}: its points cannot be kept without a border round it."
    return f"{lacks}: sew with {format_about(seam, units)}."


def _seam_to_sew(sizes: FinishSizes) -> float:
    """Return the seam; a narrower one that keeps the points, where that is what it takes."""
    may_lose = min(sizes.may_lose)
    rest = sizes.seam + may_lose
    narrower = bool(sizes.cut_points) and may_lose <= -_SEEN and rest >= _LEAST_SEAM
    return rest if narrower else sizes.seam


def cover_lines(
    sizes: FinishSizes, needs: FinishNeeds, form: Notion | None, zip_there: Notion | None,
    units: Units,
) -> Iterator[str]:  # fmt: skip
    """Yield the size of the finished cover, its pocket and what goes into it."""
    cover, pocket = (measures_text(one, units) for one in (sizes.cover, sizes.pocket))
    if needs.form is None:
        yield f"It finishes {cover}."
        return
    yield f"The cover finishes {cover}, its pocket {pocket}."
    wanted = f"Form: {_sides(needs.form, units)} suits it"
    if not sizes.pocket.is_rectangle:
        yield f"{wanted}, {_way(sizes.pocket)}: sew one, or fill the cover loose."
    elif form is None or form.width is None:
        yield f"{wanted}; none near that size is in the store."
    else:
        place = f" ({form.place})" if form.place else ""
        larger = form.width + form.length - sum(sizes.pocket.bounds)
        fit = (
            f"{format_about(larger / 2, units)} larger than the pocket"
            if larger > _SEEN
            else "flat in it"
        )
        own = _sides((form.width, form.length), units)
        yield f"{wanted}; form {form.id}{place} is {own}, {fit}."
    if needs.zip_length is not None:
        wanted = f"Zip: up to {format_about(needs.zip_length, units)}"
        if zip_there is None:
            yield f"{wanted}; none that will do is in the store."
        else:
            cut = "; sew across it and cut it off" * (zip_there.length > needs.zip_length + _SEEN)
            yield f"{wanted}; zip {zip_there.id} is {format_about(zip_there.length, units)}{cut}."


def back_lines(
    fit: BackFit, sources: BackSources | None, name: str, units: Units, mark: float
) -> Iterator[str]:
    """Yield the pieces of the back, where they come from, and whether they reach."""
    (first, wide, high), *others = fit.pieces
    names = " and ".join([first, *(one for one, _, _ in others)])
    size = _cut(wide, high, units, mark)
    each = "each " if others else ""
    if sources is None:
        said = f"{names[0].upper()}{names[1:]}, {each}{size}: cut with the top's pieces"
        yield f"{said} (match {name})."
    else:
        yield f"{names[0].upper()}{names[1:]}, {each}{size}: {_from(sources)}."
    if fit.beyond < -_SEEN:
        yield (
            f"The back is short: the top reaches {format_about(-fit.beyond, units)} beyond it on "
            "each side. Trim the top more if its points allow it, or cut the back anew."
        )
    if fit.lap is None or fit.planned_lap is None:
        return
    if fit.lap < min(_LEAST_LAP, fit.planned_lap) - _SEEN:
        lap = format_about(max(fit.lap, 0), units)
        yield f"The pieces overlap by {lap} only: the opening may gape."
    else:
        yield f"Hemmed they overlap by {format_about(fit.lap, units)}."


def _from(sources: BackSources) -> str:
    parts = [
        f"{kind}{'s' if len(numbers) > 1 else ''} {several(list(map(str, numbers)))}"
        for kind, numbers in (("scrap", sources.scraps), ("length", sources.lengths))
        if numbers
    ]
    said = [f"from {several(parts)}"] if parts else []
    if sources.ready:
        said.append(f"cut already, ready-cut pieces no. {several(list(map(str, sources.ready)))}")
    if sources.lost:
        said.append(f"{several(sources.lost)} spoilt or not cut, to be cut once more")
    if sources.to_buy:
        said.append(f"cloth to buy for {sources.to_buy}")
    return "; ".join(said) or "nothing gives them yet"


def layer_lines(
    sizes: FinishSizes,
    needs: FinishNeeds,
    batting: Sequence[Notion],
    backing: Sequence[Scrap | StripLength],
    units: Units,
    mark: float,
) -> Iterator[str]:
    """Yield what batting and backing are needed, and what of it is there."""
    if needs.batting is not None:
        said = f"Batting: {_cut(*needs.batting, units, mark)}"
        if not batting:
            yield f"{said}; no piece, nor two butted, in the store is so large."
        elif len(batting) == 1:
            yield f"{said}; batting {batting[0].id} will do."
        else:
            numbers = list(dict.fromkeys(str(one.id) for one in batting))
            two = (
                f"two of batting {numbers[0]}"
                if len(numbers) == 1
                else f"batting {several(numbers)}"
            )
            yield f"{said}; {two} will do: butt the edges, with no lap, and zigzag over them."
    if needs.backing is not None:
        there = [
            f"scrap {one.id}" if isinstance(one, Scrap) else f"length {one.yardage.id}"
            for one in backing
        ]
        said = f"Backing: {_cut(*needs.backing, units, mark)}"
        if there:
            yield f"{said}; large enough: {several(there[:_MOST], 'or')}."
        else:
            yield f"{said}; no scrap or length in the store is so large."
    layer = needs.batting or needs.backing
    if layer is not None:
        over = (layer[0] - sizes.pieced.bounds[0]) / 2
        left = sizes.overhang_left(over)
        if left < over - _SEEN:
            yield f"Drawn in with the top, they reach {format_about(left, units)} beyond it."


def work_steps(
    sizes: FinishSizes,
    needs: FinishNeeds,
    back: BackWish | None,
    binding: BindingWish | None,
    start: str | None,
    units: Units,
) -> Iterator[str]:
    """Yield the steps of the work in their order; `start` is where the ends of a binding meet."""
    seam = format_about(_seam_to_sew(sizes), units)
    layer = needs.batting or needs.backing
    if layer is not None:
        over = format_about((layer[0] - sizes.pieced.bounds[0]) / 2, units)
        laid = "Lay the backing right side down, batting and top upon it, each reaching"
        if needs.backing is None:
            laid = "Lay the top on the batting, which reaches"
        elif needs.batting is None:
            laid = "Lay the backing right side down and the top upon it, the backing reaching"
        yield f"{laid} {over} beyond the top all round. Baste and quilt."
    square = "square " if sizes.trimmed.is_rectangle else ""
    yield (
        f"Measure the top again. Trim it {square}to {measures_text(sizes.trimmed, units)}, with "
        f"{_beside_points(sizes, units)}."
    )
    if back is not None:
        yield from _back_steps(back, binding, seam, units)
    if binding is None:
        return
    yield (
        "Join the strips with diagonal seams, press those open, fold the strip in half along its "
        "length, right side out, and press it."
    )
    stitch = f"{binding.stitch_mm:g} mm stitches"
    place = f"Begin {start}, and leave" if start else "Begin away from corners and hems, and leave"
    yield (
        f"{place} some inches of strip loose. Sew its raw edges to those of the top with a seam of "
        f"{seam} and {stitch}; stop before each corner where the seam lines cross, and fold the "
        "mitre."
    )
    yield "Join the two ends, sew the last stretch, fold the binding over the edge and sew it down."


def _back_steps(
    back: BackWish, binding: BindingWish | None, seam: str, units: Units
) -> Iterator[str]:
    if back.kind == "envelope":
        hem = format_about(back.hem, units)
        again = f", fold {hem} again" if back.hem_turns == 2 else ""
        yield f"Hem one long edge of each back piece: fold {hem}{again}, press, top-stitch."
    if back.kind == "zip":
        yield (
            f"Sew the zip between the back pieces with {format_about(back.zip_allowance, units)} "
            "on each side, and leave it open a hand's width."
        )
    lapped = " and hems overlapping" if back.kind == "envelope" else ""
    if binding is not None:
        yield (
            f"Lay the back on the quilted top, wrong sides together{lapped}. Trim it "
            f"to the top and baste it on {format_about(binding.baste, units)} from the edge with "
            f"{binding.baste_stitch_mm:.1f} mm stitches."
        )
    else:
        twice = ", more than once over the hems" if lapped else ""
        gap = ", but for a hand's width to turn it through" if back.kind == "plain" else ""
        yield (
            f"Lay the back on the quilted top, right sides together{lapped}, and trim it to the "
            f"top. Sew round with a seam of {seam}{twice}{gap}; clip the corners, turn the cover."
        )


def _cut(width: float, height: float, units: Units, mark: float) -> str:
    """Return two sides to cut, each rounded up to a mark."""
    first = format_cut(width, units, mark).rpartition(" ")[0]
    return f"{first} × {format_cut(height, units, mark)}"
