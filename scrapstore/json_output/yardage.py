"""The JSON form of yardage in a match: lengths at hand, strips and their cuts, what to buy.

With it the forms of straight cuts, which scraps have too. Kept plans hold all of it: a field that
was not there from the beginning has a default.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Annotated, Any

from pydantic import AliasPath, BaseModel, BeforeValidator, Field

from scrapstore.json_output.base import FineOutline, FromForm
from scrapstore.planning.allocate import Shortage
from scrapstore.planning.result import MatchResult
from scrapstore.planning.strip_cuts import RoleCuttings, StripCuttings
from scrapstore.report.yardage_text import role_words
from scrapstore.units import Units
from scrapstore.yardage import Rest, Strip

__all__ = ["FrameOut", "RoleYardageOut", "StraightCutOut", "role_out"]


def _counts(value: Any) -> Any:
    """Return how many pieces of each name some runs give."""
    if not isinstance(value, tuple):
        return value
    counts = Counter[str]()
    for run in value:
        counts[run.piece] += len(run.outlines)
    return dict(counts)


def _rest_length(value: Any) -> Any:
    return value.end - value.start if isinstance(value, Rest) else value or 0.0


_Counts = Annotated[dict[str, int], BeforeValidator(_counts)]
_Words = Annotated[list[str], BeforeValidator(sorted)]


class FrameOut(FromForm):
    """Where the drawing lies: its point p at `origin` + p turned by `turn_deg`."""

    origin: tuple[float, float]
    turn_deg: float


class StraightCutOut(FromForm):
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


class NarrowStripOut(FromForm):
    """A strip cut from the rest of a wider one; `pieces` in the order they are sub-cut."""

    width: float
    pieces: _Counts = Field(validation_alias="runs")


class StripOut(FromForm):
    """A strip to cut from yardage, `times` over.

    `pieces` is all that one such strip gives, `own` of it at the full width. From the end, `rest`
    inches long, come the narrower strips `from_rest`.
    """

    width: float
    times: int
    pieces: _Counts = Field(validation_alias="all_runs")
    own: _Counts = Field({}, validation_alias="runs")
    rest: Annotated[float, BeforeValidator(_rest_length)] = 0.0
    from_rest: list[NarrowStripOut] = Field([], validation_alias=AliasPath("rest", "strips"))


class StripPlacementOut(FromForm):
    """One piece on a strip; `label`, `part` and `template` as on a scrap."""

    label: str
    piece: str = Field(validation_alias="name")
    outline: FineOutline
    part: int
    template: bool


class CutStripOut(StripOut):
    """One strip and how it is cut; it lies level, `length` long, its lower left corner at (0, 0).

    Strips that are cut alike stand here one by one, those of several fabrics to buy as well.
    Answers that older versions kept say nothing of how a strip is cut.
    """

    length: float | None = None
    frame: FrameOut | None = None
    cuts: list[StraightCutOut] = Field([])
    placements: list[StripPlacementOut] = Field([])


class OnHandOut(BaseModel):
    """A length of yardage in the store that gives `covers`, cut as `strips`.

    `takes` inches of it are used for this role, straightening included, after `before` inches for
    earlier roles; kept plans leave `left` inches. `enough`: nothing is short then.
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


class PurchaseOut(FromForm):
    """What to buy and cut `count` times over from each of so many different `fabrics`.

    `bought_as` is a length off the bolt, a fat quarter or a fat eighth; a precut's `buy_yards` and
    `buy_cm` are the length off the bolt that is as much cloth. `further`: of the same fabrics as
    the purchase before. `needed` inches are taken before washing, straightening included.
    """

    fabrics: int
    count: int = 1
    further: bool = False
    bought_as: str = Field("length", validation_alias=AliasPath("plan", "bought_as"))
    needed: float = Field(0.0, validation_alias=AliasPath("plan", "needed"))
    pieces: dict[str, int] = Field(validation_alias=AliasPath("plan", "pieces"))
    strips: list[StripOut] = Field(validation_alias=AliasPath("plan", "strips"))
    length: float = Field(validation_alias=AliasPath("plan", "length"))
    buy_yards: float = Field(validation_alias=AliasPath("plan", "buy_yards"))
    buy_cm: int = Field(validation_alias=AliasPath("plan", "buy_cm"))


class ClothOut(FromForm):
    """What cloth that is bought must be like; an empty condition allows everything.

    All of it is different fabrics, and none of `other_than`. `one_way`: some pieces have a
    direction, which the strips keep on a one-way print.
    """

    fabrics: _Words = Field(validation_alias=AliasPath("rule", "fabrics"))
    families: _Words = Field(validation_alias=AliasPath("rule", "families"))
    values: _Words = Field(validation_alias=AliasPath("rule", "values"))
    fibres: _Words = Field(validation_alias=AliasPath("rule", "fibres"))
    other_than: list[str]
    scraps: list[int] = Field(default=[], validation_alias=AliasPath("rule", "scraps"))
    same_fabric_sets: int | None = Field(validation_alias=AliasPath("rule", "same_fabric_sets"))
    one_way: bool


class RoleYardageOut(BaseModel):
    """What one role wants from yardage: `pieces`; what comes from lengths at hand, and the rest.

    `purchases` are what to buy, all of different fabrics, of cloth as `cloth` says; the fields from
    `usable_width` to `buy_cm` are those of the first. `buy` is what is then left, cut as `strips`
    from `length` inches and `straightening`, of which washing takes the share `shrinkage`. No plan
    of such strips takes less than `least` inches.
    `instructions` says all of it in words. `nested` is the length that what is bought would take
    nested freely, where that was asked.
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
    shrinkage: float = 0.0
    buy_yards: float
    buy_cm: int
    must_buy: bool
    on_hand: list[OnHandOut]
    cannot: list[str]
    instructions: list[str] = []
    purchases: list[PurchaseOut] = []
    cloth: ClothOut | None = None
    nested: float | None = None


def role_out(shortage: Shortage, result: MatchResult, cuttings: RoleCuttings) -> RoleYardageOut:
    """Return the JSON form of what one role wants from yardage."""
    plan = shortage.plan
    return RoleYardageOut(
        role=shortage.role,
        pieces=shortage.pieces,
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
        shrinkage=plan.shrinkage,
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
                covers=length.plan.pieces,
                along_grain=length.plan.along_grain,
                strip_length=length.plan.strip_length,
                strips=_cut_strips(length.plan.strips, plans),
            )
            for length, plans in zip(shortage.on_hand, cuttings.on_hand, strict=True)
        ],
        cannot=plan.too_long,
        instructions=role_words(shortage, result.project.letters, _units(cuttings), cuttings),
        purchases=shortage.purchases if shortage.buy else (),
        cloth=shortage,
        nested=shortage.nested,
    )


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
        counts.update({name: number * one.times for name, number in one.plan.pieces.items()})
    return dict(counts)


def _cut_strips(strips: Sequence[Strip], cuttings: Sequence[StripCuttings]) -> list[CutStripOut]:
    return [
        CutStripOut(
            **dict(StripOut.model_validate(replace(strip, times=1))),
            length=cutting.outline.bounds[2],
            frame=cutting.frame,
            cuts=cutting.cuts,
            placements=cutting.pieces,
        )
        for strip, plans in zip(strips, cuttings, strict=True)
        for cutting in plans
    ]
