"""The JSON form of how a top is finished."""

from pathlib import Path

from pydantic import BaseModel

from scrapstore.actions.finish import BindingResult, FinishResult, TopAsked
from scrapstore.finishing import BackKind, TopOutline
from scrapstore.json_output.base import FromForm
from scrapstore.store import Scrap

__all__ = ["FinishOut", "SewnBindingOut", "finish_out"]


class PlacedStripOut(BaseModel):
    """A strip of the binding, in the order they are joined.

    Slopes as ``binding list --json`` has them, of the strip as it lies here; `recut_*` is None for
    an end that is joined as it is. `length` is used between its joins; `taken_off` is cut off it.
    """

    strip: int
    turned: bool
    recut_start_deg: float | None
    recut_end_deg: float | None
    length: float
    taken_off: float


class JoinOut(BaseModel):
    """A join where a strip begins: `at` is inches clockwise from corner 1, the first is closed."""

    at: float
    slope_deg: float


class StripLengthOut(BaseModel):
    """A length of yardage that `count` strips can be cut from, `takes` inches of it."""

    yardage: int
    count: int
    takes: float
    way: str


class BindingPlanOut(BaseModel):
    """Whether the binding reaches, how it is joined and where it starts; inches.

    `extra` is the length of the shortest square-ended strip that closes what is short;
    `long_enough` are the scraps and `lengths` the yardage it can be cut from. `stops` belong to the
    corners at the end of each side. `best_start` and `best_clearance` are there where another start
    was asked for.
    """

    sides: list[float]
    corners_deg: list[float]
    needed: float
    available: float
    short: float
    spare: float
    width: float
    bias: bool
    strips: list[PlacedStripOut]
    joins: list[JoinOut]
    hems: list[tuple[float, float]]
    clearance: float | None
    hem_clearance: float | None
    clear: bool
    best_start: float | None
    best_clearance: float | None
    stops: list[float]
    extra: float | None
    long_enough: list[int]
    lengths: list[StripLengthOut]


class OutlineOut(FromForm):
    """An outline: its sides clockwise, the corner after each, and what is measured of it."""

    sides: list[float]
    corners_deg: list[float]
    measures: list[float]


class BackPieceOut(BaseModel):
    """A piece of the back, as it is cut."""

    name: str
    width: float
    height: float


class BackOut(BaseModel):
    """The back: `beyond` is how far it reaches over the edge, `lap` how far an envelope overlaps.

    Where its pieces come from is known of a kept plan alone: `ready` are lots of what is cut
    already, `lost` labels of pieces that were spoilt or not cut.
    """

    kind: BackKind
    pieces: list[BackPieceOut]
    beyond: float
    lap: float | None
    scraps: list[int] | None
    ready: list[int] | None
    yardage: list[int] | None
    lost: list[str] | None
    to_buy: int | None


class NeedsOut(FromForm):
    """What is needed beside the pieces; see the guide page on finishing."""

    batting: tuple[float, float] | None
    backing: tuple[float, float] | None
    binding_length: float | None
    strip_width: float | None
    binding_strips: int | None
    bias: bool
    form: list[float] | None
    zip_length: float | None


class TopOut(BaseModel):
    """The sizes of a project's top. `outside` is what trimming leaves outside its points.

    `may_lose` is what may come off each side of the quilted top, by measure; `cut_points` how much
    of the points the seam takes. `batting`, `form` and `zip` are numbers in the store, `backing`
    the scraps and lengths that are large enough.
    """

    project: str
    plan: str | None
    measured: bool
    seam: float
    pieced: OutlineOut
    planned: OutlineOut
    quilted: OutlineOut
    trimmed: OutlineOut
    cover: OutlineOut
    pocket: OutlineOut
    outside: list[float]
    may_lose: list[float]
    cut_points: float
    needs: NeedsOut
    back: BackOut | None
    batting: list[int]
    backing_scraps: list[int]
    backing_yardage: list[int]
    form: int | None
    zip: int | None


class FinishOut(BaseModel):
    """How a top is finished; `binding` is None for a turned cover, `top` without a project."""

    binding: BindingPlanOut | None
    top: TopOut | None
    picture: Path | None
    sheet: Path | None


class SewnBindingOut(BaseModel):
    """Binding strips that were used up for a plan, and the strips that are left of them."""

    plan: str
    used: list[int]
    rests: list[int]


def finish_out(result: FinishResult, sheet: Path | None = None) -> FinishOut:
    """Return the JSON form of how a top is finished."""
    return FinishOut(
        binding=None if result.binding is None else _binding(result.binding),
        top=None if result.top is None else _top(result, result.top),
        picture=result.picture,
        sheet=sheet,
    )


def _binding(result: BindingResult) -> BindingPlanOut:
    plan, outline, best = result.plan, result.asked.outline, result.best
    return BindingPlanOut(
        sides=list(outline.sides),
        corners_deg=list(outline.corners_deg),
        needed=plan.needed,
        available=plan.available,
        short=plan.short,
        spare=plan.spare,
        width=plan.width,
        bias=result.asked.bias,
        strips=[
            PlacedStripOut(
                strip=strip.id,
                turned=placed.turned,
                recut_start_deg=placed.recut_start_deg,
                recut_end_deg=placed.recut_end_deg,
                length=placed.length,
                taken_off=off,
            )
            for strip, placed, off in zip(result.used, plan.strips, plan.taken_off, strict=True)
        ],
        # Where strips are short their joins have slopes, but no place yet.
        joins=[
            JoinOut(at=at, slope_deg=slope)
            for at, slope in zip(plan.joins, plan.slopes_deg, strict=bool(plan.joins))
        ],
        hems=list(result.asked.hems),
        clearance=plan.clearance,
        hem_clearance=plan.kept_off,
        clear=plan.clear,
        best_start=best.joins[0] if best is not None and best.joins else None,
        best_clearance=None if best is None else best.clearance,
        stops=list(plan.stops),
        extra=plan.extra,
        long_enough=[scrap.id for scrap in result.long_enough],
        lengths=[
            StripLengthOut(yardage=one.yardage.id, count=one.count, takes=one.takes, way=one.way)
            for one in result.lengths
        ],
    )


def _outline(outline: TopOutline) -> OutlineOut:
    return OutlineOut.model_validate(outline)


def _top(result: FinishResult, top: TopAsked) -> TopOut:
    sizes, plan = top.sizes, top.named.plan
    return TopOut(
        project=top.project.name,
        plan=None if plan is None else plan.name,
        measured=sizes.measured,
        seam=sizes.seam,
        pieced=_outline(sizes.pieced),
        planned=_outline(sizes.planned),
        quilted=_outline(sizes.quilted),
        trimmed=_outline(sizes.trimmed),
        cover=_outline(sizes.cover),
        pocket=_outline(sizes.pocket),
        outside=list(sizes.outside),
        may_lose=list(sizes.may_lose),
        cut_points=sizes.cut_points,
        needs=NeedsOut.model_validate(result.needs),
        back=_back(result, top),
        batting=[one.id for one in result.batting],
        backing_scraps=[one.id for one in result.backing if isinstance(one, Scrap)],
        backing_yardage=[one.yardage.id for one in result.backing if not isinstance(one, Scrap)],
        form=None if result.form is None else result.form.id,
        zip=None if result.zip is None else result.zip.id,
    )


def _back(result: FinishResult, top: TopAsked) -> BackOut | None:
    fit, sources = result.back, result.sources
    if fit is None or top.project.back is None:
        return None
    return BackOut(
        kind=top.project.back.kind,
        pieces=[BackPieceOut(name=n, width=w, height=h) for n, w, h in fit.pieces],
        beyond=fit.beyond,
        lap=fit.lap,
        scraps=None if sources is None else list(sources.scraps),
        ready=None if sources is None else list(sources.ready),
        yardage=None if sources is None else list(sources.lengths),
        lost=None if sources is None else list(sources.lost),
        to_buy=None if sources is None else sources.to_buy,
    )
