"""The external form of yardage in a match: lengths at hand, strips and their cuts, what to buy.

With it the forms of straight cuts, which scraps have too. Kept plans hold all of it: a field that
was not there from the beginning has a default.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace

from pydantic import BaseModel, Field
from shapely import Polygon

from scrapstore.json_output.stock import corners
from scrapstore.json_output.stock_schema import Corners
from scrapstore.planning.allocate import Shortage
from scrapstore.planning.result import MatchResult
from scrapstore.planning.strip_cuts import RoleCuttings, StripCuttings
from scrapstore.report.yardage_text import letters, role_words
from scrapstore.shapes import CuttingPlan
from scrapstore.units import Units
from scrapstore.yardage import Run, Strip

__all__ = ["CutOut", "FrameOut", "RoleYardageOut", "cuts_out", "fine_corners", "role_out"]

_FINE = 9  # decimals of an inch that are printed


class FrameOut(BaseModel):
    """Where the drawing lies: its point p at `origin` + p turned by `turn_deg`."""

    origin: tuple[float, float]
    turn_deg: float


class CutOut(BaseModel):
    """A straight cut through one part, in the frame of the drawing.

    `gives` are the new parts: left of the line first, each side in order along it. The ruler lies
    `distance` from the line of an earlier cut (its number), or from a straight "edge", at
    `angle_deg` to it; or the cut runs from corner to corner. At an angle it lies `point_distance`
    from `point`, a corner of the part, where there is only one place for it.
    """

    part: int
    line: tuple[tuple[float, float], tuple[float, float]]
    gives: list[int]
    ruler_from: int | str | None = Field(serialization_alias="from")
    distance: float | None
    angle_deg: float | None
    corners: bool
    point: tuple[float, float] | None
    point_distance: float | None


class NarrowStripOut(BaseModel):
    """A strip cut from the rest of a wider one; `pieces` in the order they are sub-cut."""

    width: float
    pieces: dict[str, int]


class StripOut(BaseModel):
    """A strip to cut from yardage, `times` over.

    `pieces` is all that one such strip gives, `own` of it at the full width. From the end, `rest`
    inches long, come the narrower strips `from_rest`.
    """

    width: float
    times: int
    pieces: dict[str, int]
    own: dict[str, int] = {}
    rest: float = 0.0
    from_rest: list[NarrowStripOut] = []


class StripPlacementOut(BaseModel):
    """One piece on a strip; `label`, `part` and `template` as on a scrap."""

    label: str
    piece: str
    outline: Corners
    part: int
    template: bool


class CutStripOut(StripOut):
    """One strip and how it is cut; it lies level, `length` long, its lower left corner at (0, 0).

    Strips that are cut alike stand here one by one, those of several fabrics to buy as well.
    Answers that older versions kept say nothing of how a strip is cut.
    """

    length: float | None = None
    frame: FrameOut | None = None
    cuts: list[CutOut] = []
    placements: list[StripPlacementOut] = []


class OnHandOut(BaseModel):
    """A length of yardage in the store that gives `covers`, cut as `strips`.

    `takes` inches of it are used for this role, straightening included, after `before` inches for
    roles told earlier; kept plans leave `left` inches. `enough`: nothing is short then.
    `along_grain`: the strips run along the lengthwise grain, `strip_length` long.
    """

    id: int
    fabric: str
    length: float
    left: float | None = None
    takes: float = 0.0
    before: float = 0.0
    enough: bool
    covers: dict[str, int] = {}
    along_grain: bool = False
    strip_length: float = 0.0
    strips: list[CutStripOut] = []


class PurchaseOut(BaseModel):
    """What to buy and cut once from each of so many different `fabrics`."""

    fabrics: int
    pieces: dict[str, int]
    strips: list[StripOut]
    length: float
    buy_yards: float
    buy_cm: int


class ClothOut(BaseModel):
    """What cloth that is bought must be like; an empty condition allows everything.

    All of it is different fabrics, and none of `other_than`. `one_way`: some pieces have a
    direction, which the strips keep on a one-way print.
    """

    fabrics: list[str]
    families: list[str]
    values: list[str]
    fibres: list[str]
    other_than: list[str]
    same_fabric_sets: int | None
    one_way: bool


class RoleYardageOut(BaseModel):
    """What one role wants from yardage: `pieces`; what comes from lengths at hand, and the rest.

    `purchases` are what to buy, all of different fabrics, of cloth as `cloth` says; the fields from
    `usable_width` to `buy_cm` are those of the first. `buy` is what is then left, cut as `strips`
    from `length` inches and `straightening`. No plan of such strips takes less than `least` inches.
    `instructions` says all of it in words.
    """

    role: str
    pieces: dict[str, int]
    buy: dict[str, int] = {}
    usable_width: float
    along_grain: bool = False
    strip_length: float = 0.0
    strips: list[CutStripOut]
    length: float
    least: float = 0.0
    straightening: float
    buy_yards: float
    buy_cm: int
    must_buy: bool
    on_hand: list[OnHandOut]
    cannot: list[str]
    instructions: list[str] = []
    purchases: list[PurchaseOut] = []
    cloth: ClothOut | None = None


def role_out(shortage: Shortage, result: MatchResult, cuttings: RoleCuttings) -> RoleYardageOut:
    """Return the external form of what one role wants from yardage."""
    plan = shortage.plan
    return RoleYardageOut(
        role=shortage.role,
        pieces=dict(shortage.pieces),
        buy=_bought(shortage),
        usable_width=plan.usable_width,
        along_grain=plan.along_grain,
        strip_length=plan.strip_length,
        strips=[
            strip
            for one, plans in zip(shortage.purchases, cuttings.bought, strict=True)
            for strip in _cut_strips(one.plan.strips, plans)
        ],
        length=plan.length,
        least=plan.least,
        straightening=plan.straightening,
        buy_yards=plan.buy_yards,
        buy_cm=plan.buy_cm,
        must_buy=shortage.buy,
        on_hand=[
            OnHandOut(
                id=length.yardage.id,
                fabric=length.yardage.fabric.name,
                length=length.yardage.length,
                left=length.yardage.left,
                takes=length.takes,
                before=length.before,
                enough=not shortage.buy and len(shortage.on_hand) == 1,
                covers=dict(length.plan.pieces),
                along_grain=length.plan.along_grain,
                strip_length=length.plan.strip_length,
                strips=_cut_strips(length.plan.strips, plans),
            )
            for length, plans in zip(shortage.on_hand, cuttings.on_hand, strict=True)
        ],
        cannot=list(plan.too_long),
        instructions=list(role_words(shortage, letters(result), _units(cuttings), cuttings)),
        purchases=[
            PurchaseOut(
                fabrics=one.fabrics,
                pieces=dict(one.plan.pieces),
                strips=[_strip_out(strip) for strip in one.plan.strips],
                length=one.plan.length,
                buy_yards=one.plan.buy_yards,
                buy_cm=one.plan.buy_cm,
            )
            for one in (shortage.purchases if shortage.buy else ())
        ],
        cloth=ClothOut(
            fabrics=sorted(shortage.rule.fabrics),
            families=sorted(shortage.rule.families),
            values=sorted(shortage.rule.values),
            fibres=sorted(shortage.rule.fibres),
            other_than=list(shortage.other_than),
            same_fabric_sets=shortage.rule.same_fabric_sets,
            one_way=shortage.one_way,
        ),
    )


def cuts_out(plan: CuttingPlan) -> list[CutOut]:
    """Return the external form of the cuts of a scrap, or of a strip of yardage."""
    return [
        CutOut(
            part=cut.part,
            line=cut.line,
            gives=list(cut.gives),
            ruler_from=cut.ruler_from,
            distance=cut.distance,
            angle_deg=cut.angle_deg,
            corners=cut.corners,
            point=cut.point,
            point_distance=cut.point_distance,
        )
        for cut in plan.cuts
    ]


def fine_corners(outline: Polygon) -> Corners:
    """Return the corners of `outline`, rid of the noise of rounding."""
    return [(round(x, _FINE) + 0.0, round(y, _FINE) + 0.0) for x, y in corners(outline.exterior)]


def _units(cuttings: RoleCuttings) -> Units:
    """Return the units in which the marks of the user's ruler have plain figures."""
    plans = (
        plan for source in (*cuttings.on_hand, *cuttings.bought) for one in source for plan in one
    )
    return "cm" if any(abs(plan.step - 1 / 25.4) < 1e-9 for plan in plans) else "in"


def _bought(shortage: Shortage) -> dict[str, int]:
    """Return how many of each piece come from what is bought, of all its fabrics."""
    counts: Counter[str] = Counter()
    for one in shortage.purchases:
        counts.update({name: number * one.fabrics for name, number in one.plan.pieces.items()})
    return dict(counts)


def _strip_out(strip: Strip) -> StripOut:
    return StripOut(
        width=strip.width,
        times=strip.times,
        pieces=_counts(strip.all_runs),
        own=_counts(strip.runs),
        rest=strip.rest.end - strip.rest.start if strip.rest else 0.0,
        from_rest=[
            NarrowStripOut(width=narrow.width, pieces=_counts(narrow.runs))
            for narrow in (strip.rest.strips if strip.rest else ())
        ],
    )


def _cut_strips(strips: Sequence[Strip], cuttings: Sequence[StripCuttings]) -> list[CutStripOut]:
    return [
        CutStripOut(
            **dict(_strip_out(replace(strip, times=1))),
            length=cutting.outline.bounds[2],
            frame=FrameOut(origin=cutting.frame.origin, turn_deg=cutting.frame.turn_deg),
            cuts=cuts_out(cutting),
            placements=[
                StripPlacementOut(
                    label=piece.label,
                    piece=piece.name,
                    outline=fine_corners(piece.outline),
                    part=piece.part,
                    template=piece.template,
                )
                for piece in cutting.pieces
            ],
        )
        for strip, plans in zip(strips, cuttings, strict=True)
        for cutting in plans
    ]


def _counts(runs: Iterable[Run]) -> dict[str, int]:
    counts: Counter[str] = Counter()
    for run in runs:
        counts[run.piece] += len(run.outlines)
    return dict(counts)
