"""The external form of a match: what ``match --json`` prints. Always inches and degrees.

Kept plans hold it too. A field that was not there from the beginning has a default, so that the
answers which older versions kept can still be read.
"""

from collections.abc import Sequence

from pydantic import BaseModel

from scrapstore.actions.yardage_external import (
    CutOut,
    FrameOut,
    RoleYardageOut,
    cuts_out,
    fine_corners,
    role_out,
)
from scrapstore.json_output.stock import corners
from scrapstore.json_output.stock_schema import Corners
from scrapstore.matching import Reason
from scrapstore.planning.compare import figures
from scrapstore.planning.result import Cut, MatchResult
from scrapstore.planning.strip_cuts import strip_cuttings
from scrapstore.report.answer_text import statement

__all__ = ["CutOut", "MatchOut", "answers_out", "cuts_out", "match_out"]


class PieceOut(BaseModel):
    """One line of the piece list. ``wanted == ready + scraps + yardage``.

    `at_most` is proven: ready-cut pieces and scraps together cannot give more.
    """

    name: str
    role: str
    shape: str
    cut: Corners
    wanted: int
    ready: int
    scraps: int
    yardage: int
    at_most: int


class PlacementOut(BaseModel):
    """One piece on a scrap, in the scrap's own inches.

    `label` is unique in the answer; the piece ends in `part`, which is cut down to it, or, with
    `template`, from which it is cut round a template. Answers that older versions kept do not say.
    """

    label: str = ""
    piece: str
    outline: Corners
    rotation_deg: float
    mirrored: bool
    part: int | None = None
    template: bool | None = None


class UsedScrapOut(BaseModel):
    """A scrap to cut. `grain_assumed` tells that its grain is not known.

    Answers that older versions kept have neither `frame` nor `cuts`.
    """

    id: int
    name: str | None
    fabric: str | None
    place: str | None
    grain_assumed: bool
    counts: dict[str, int]
    frame: FrameOut | None = None
    cuts: list[CutOut] = []
    placements: list[PlacementOut]


class UsedReadyOut(BaseModel):
    """Ready-cut pieces to take: `taken` of them give `count` pieces.

    `parts` is how many each gives: 1 as it is, 2 or 4 where it is cut corner to corner. Answers
    that older versions kept do not say `taken`: there it is `count`.
    """

    id: int
    piece: str
    count: int
    parts: int = 1
    taken: int | None = None


class TogetherOut(BaseModel):
    """All pieces together. `at_most` and `area_at_most` are proven, each by itself.

    `area` is the cut area of the pieces that need no yardage, square inches.
    """

    wanted: int
    covered: int
    at_most: int
    area: float
    area_at_most: float


class MissOut(BaseModel):
    """A scrap that only just does not give a piece, and why.

    `reason`: "narrow", "short" or "small" (both ways) by `lacking` inches; "shape": by over two
    inches; "grain": it is not known, and the piece fits with the lengthwise grain at one of
    `grain_deg` in the scrap's own frame; "share": its fabric gives all that one fabric may; "set":
    it gives no whole set.
    """

    piece: str
    scrap: int
    reason: Reason
    grain_deg: tuple[float, ...] = ()
    lacking: float | None
    trimmed_tips_fit: bool
    off_grain_fits: bool


class PiecedOut(BaseModel):
    """A piece that two parts of one fabric give, sewn together; both may be of one scrap.

    `parts` are their cut outlines, the seam allowance included, in the frame of the piece's `cut`;
    the seam runs at `seam_deg` there.
    """

    piece: str
    scraps: tuple[int, int]
    parts: tuple[Corners, Corners]
    seam_deg: float


class ChangeOut(BaseModel):
    """A single change, and how many more pieces a plan then covered."""

    role: str
    what: str
    more: int


class MatchOut(BaseModel):
    """The whole answer.

    `choice_proven`: no other choice among the layouts found covers more. `stopped`: the looking
    was interrupted.
    """

    project: str
    seed: int
    scraps_in_store: int
    scraps_looked_at: int
    pieces: list[PieceOut]
    ready: list[UsedReadyOut]
    scraps: list[UsedScrapOut]
    yardage: list[RoleYardageOut]
    notes: list[str]
    together: TogetherOut
    choice_proven: bool
    stopped: bool
    statement: str
    misses: list[MissOut] = []
    changes: list[ChangeOut] = []
    pieced: list[PiecedOut] = []
    others: list["OtherOut"] = []


class OtherOut(MatchOut):
    """A further answer.

    `unlike` holds, for each answer before it, what share of the pieces which that one cuts from
    scraps, by area, is cut otherwise in this one: from another scrap, or not from scraps.
    """

    unlike: list[float]


def answers_out(results: Sequence[MatchResult]) -> MatchOut:
    """Return the external form of several answers: the first, with the others in it."""
    first, *others = (match_out(result) for result in results)
    told = figures(results)[1:]
    first.others = [
        OtherOut(**dict(other), unlike=[round(share, 4) for share in one.unlike])
        for other, one in zip(others, told, strict=True)
    ]
    return first


def match_out(result: MatchResult) -> MatchOut:
    """Return the external form of a match."""
    supplies = {supply.need: supply for supply in result.supplies}
    return MatchOut(
        project=result.project.name,
        seed=result.seed,
        scraps_in_store=result.scraps_in_store,
        scraps_looked_at=result.scraps_looked_at,
        pieces=[
            PieceOut(
                name=piece.name,
                role=piece.role,
                shape=piece.shape.label,
                cut=corners(piece.cut.exterior),
                wanted=supplies[piece.name].wanted,
                ready=supplies[piece.name].ready,
                scraps=supplies[piece.name].scraps,
                yardage=supplies[piece.name].short,
                at_most=supplies[piece.name].at_most,
            )
            for piece in result.project.pieces
        ],
        ready=[
            UsedReadyOut(
                id=use.lot.id, piece=use.need, count=use.count, parts=use.parts, taken=use.taken
            )
            for use in result.ready
        ],
        scraps=[
            UsedScrapOut(
                id=cut.scrap.id,
                name=cut.scrap.name,
                fabric=cut.scrap.fabric.name if cut.scrap.fabric else None,
                place=cut.scrap.place,
                grain_assumed=cut.grain_assumed,
                counts=cut.counts,
                frame=FrameOut(
                    origin=cut.cutting.frame.origin, turn_deg=cut.cutting.frame.turn_deg
                ),
                cuts=cuts_out(cut.cutting),
                placements=_placements(cut),
            )
            for cut in result.cuts
        ],
        yardage=[
            role_out(shortage, result, cuttings)
            for shortage, cuttings in zip(result.shortages, strip_cuttings(result), strict=True)
        ],
        notes=list(result.notes),
        together=TogetherOut(
            wanted=result.together.wanted,
            covered=result.together.covered,
            at_most=result.together.at_most,
            area=result.together.area,
            area_at_most=result.together.area_at_most,
        ),
        choice_proven=result.choice_proven,
        stopped=result.stopped,
        statement=statement(result),
        misses=[
            MissOut(
                piece=miss.need,
                scrap=miss.scrap_id,
                reason=miss.reason,
                grain_deg=miss.grain_deg,
                lacking=miss.lacking,
                trimmed_tips_fit=miss.trimmed,
                off_grain_fits=miss.off_grain,
            )
            for miss in result.misses
        ],
        changes=[
            ChangeOut(role=change.role, what=change.what, more=change.more)
            for change in result.changes
        ],
        pieced=[
            PiecedOut(
                piece=way.need,
                scraps=way.scrap_ids,
                parts=(corners(way.parts[0].exterior), corners(way.parts[1].exterior)),
                seam_deg=round(way.seam_deg, 3),
            )
            for way in result.pieced
        ],
    )


def _placements(cut: Cut) -> list[PlacementOut]:
    return [
        PlacementOut(
            label=piece.label,
            piece=placement.kind,
            outline=fine_corners(placement.outline),
            rotation_deg=placement.rotation_deg,
            mirrored=placement.mirrored,
            part=piece.part,
            template=piece.template,
        )
        for placement, piece in zip(cut.placements, cut.cutting.pieces, strict=True)
    ]
