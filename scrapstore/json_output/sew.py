"""The JSON form of a sewing order."""

from pathlib import Path
from typing import Literal

from pydantic import BaseModel

from scrapstore.actions.sew import SewResult
from scrapstore.designs.sewing import Batch, Join, JoinedPart, seam_test
from scrapstore.planning.sewing import SewingPlan

__all__ = ["SewOut", "sew_out"]


class SeamTestOut(BaseModel):
    """Strips of this width, sewn side by side, measure `across`."""

    strips: int
    strip: float
    across: float


class JoinedPartOut(BaseModel):
    """A piece by its position, and its label where a plan has one; or what a seam made."""

    position: str | None
    label: str | None
    seam: int | None


class MeetOut(BaseModel):
    """A point along the seam where seams of both sides end; `at` is from its start."""

    at: float
    point: tuple[float, float]
    seams: tuple[int, int]
    opposed: bool | None


class BendOut(BaseModel):
    """A point where a seam turns; `partly` is the seam to leave open there, for a partial seam."""

    at: float
    point: tuple[float, float]
    kind: Literal["set in", "partial"]
    positions: list[str]
    partly: int | None


class SewnJoinOut(BaseModel):
    """Two parts sewn together; the first lies left of `path`, finished inches of the top."""

    number: int
    batch: int
    first: JoinedPartOut
    second: JoinedPartOut
    path: list[tuple[float, float]]
    length: float
    press_to: Literal["first", "second"]
    meets: list[MeetOut]
    bends: list[BendOut]
    positions: list[str]


class MeasuredSideOut(BaseModel):
    """What it measures then: `raw` as sewn so far, `finished` once all around it is sewn."""

    how: Literal["across", "along"]
    raw: float
    finished: float


class SewingBatchOut(BaseModel):
    """Joins that are alike, to be sewn one after the other."""

    number: int
    makes: str
    joins: list[int]
    measure: list[MeasuredSideOut]


class SewOut(BaseModel):
    """In which order a top is sewn; inches, y up, as the top lies.

    `seams` counts straight ones: a seam that is set in counts as its parts. `set_in_at_least` is
    what no order can do without.
    """

    project: str
    plan: str | None
    seam_allowance: float
    pieces: int
    seams: int
    set_in: int
    set_in_at_least: int
    seam_test: SeamTestOut
    meeting_points: int
    not_nesting: list[int]
    batches: list[SewingBatchOut]
    joins: list[SewnJoinOut]
    sheet: Path | None


def sew_out(result: SewResult) -> SewOut:
    """Return the JSON form of a sewing order."""
    sewing, order = result.sewing, result.sewing.order
    seam = sewing.project.seam_allowance
    test = seam_test(seam, result.settings.units)
    return SewOut(
        project=sewing.project.name,
        plan=sewing.plan,
        seam_allowance=seam,
        pieces=len(sewing.design.pieces),
        seams=order.seams,
        set_in=order.set_in,
        set_in_at_least=order.set_in_at_least,
        seam_test=SeamTestOut(strips=test.strips, strip=test.strip, across=test.across),
        meeting_points=len(order.meets),
        not_nesting=sorted({join.number for join, meet in order.meets if meet.opposed is False}),
        batches=[_batch(batch, seam) for batch in order.batches],
        joins=[_join(sewing, join) for join in order.joins],
        sheet=result.file,
    )


def _batch(batch: Batch, seam: float) -> SewingBatchOut:
    return SewingBatchOut(
        number=batch.number,
        makes=batch.makes,
        joins=list(batch.joins),
        measure=[
            MeasuredSideOut(how=side.how, raw=side.raw(seam), finished=side.finished)
            for side in batch.sides
        ],
    )


def _part(sewing: SewingPlan, part: JoinedPart) -> JoinedPartOut:
    if part.piece is None:
        return JoinedPartOut(position=None, label=None, seam=part.join)
    position = sewing.design.pieces[part.piece].position
    return JoinedPartOut(position=position, label=sewing.labels[part.piece] or None, seam=None)


def _join(sewing: SewingPlan, join: Join) -> SewnJoinOut:
    pieces = sewing.design.pieces
    return SewnJoinOut(
        number=join.number,
        batch=join.batch,
        first=_part(sewing, join.first),
        second=_part(sewing, join.second),
        path=list(join.path),
        length=join.length,
        press_to="first" if join.press_to_first else "second",
        meets=[
            MeetOut(at=meet.at, point=meet.point, seams=meet.seams, opposed=meet.opposed)
            for meet in join.meets
        ],
        bends=[
            BendOut(
                at=bend.at,
                point=bend.point,
                kind="set in" if bend.partly is None else "partial",
                positions=[pieces[piece].position for piece in bend.pieces],
                partly=bend.partly,
            )
            for bend in join.bends
        ],
        positions=[pieces[piece].position for piece in sorted(join.pieces)],
    )
