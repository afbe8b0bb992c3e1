"""The JSON form of a plan of the binding."""

from pydantic import BaseModel

from scrapstore.actions.finish import FinishResult

__all__ = ["FinishOut", "finish_out"]


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


class FinishOut(BaseModel):
    """Whether the binding reaches, how it is joined and where it starts; inches.

    `extra` is the length of the shortest square-ended strip that closes what is short, and
    `long_enough` the scraps it can be cut from. `stops` belong to the corners at the end of each
    side.
    """

    sides: list[float]
    corners_deg: list[float]
    needed: float
    available: float
    short: float
    spare: float
    width: float
    strips: list[PlacedStripOut]
    joins: list[JoinOut]
    clearance: float | None
    hem_clearance: float | None
    clear: bool
    stops: list[float]
    extra: float | None
    long_enough: list[int]
    picture: str | None


def finish_out(result: FinishResult) -> FinishOut:
    """Return the JSON form of a plan of the binding."""
    plan, outline = result.plan, result.asked.outline
    return FinishOut(
        sides=list(outline.sides),
        corners_deg=list(outline.corners_deg),
        needed=plan.needed,
        available=plan.available,
        short=plan.short,
        spare=plan.spare,
        width=plan.width,
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
        clearance=plan.clearance,
        hem_clearance=plan.kept_off,
        clear=plan.clear,
        stops=list(plan.stops),
        extra=plan.extra,
        long_enough=[scrap.id for scrap in result.long_enough],
        picture=None if result.picture is None else str(result.picture),
    )
