"""The JSON form of a match: what ``match --json`` prints. Always inches and degrees.

Kept plans hold it too. A field that was not there from the beginning has a default, so that the
answers which older versions kept can still be read.
"""

from collections.abc import Sequence
from typing import Annotated, Any

from pydantic import AliasPath, BaseModel, BeforeValidator, Field

from scrapstore.json_output.base import FineOutline, FromForm, Outline
from scrapstore.json_output.yardage import FrameOut, RoleYardageOut, StraightCutOut, role_out
from scrapstore.matching import Reason
from scrapstore.planning.compare import figures
from scrapstore.planning.result import MatchResult, Place
from scrapstore.planning.strip_cuts import strip_cuttings
from scrapstore.report.answer_text import statement

__all__ = ["MatchOut", "answers_out", "match_document", "match_out", "positions_out"]


def _placed(value: Any) -> Any:
    """Return the fields of a placement and of the labelled piece it is, given as a pair."""
    return vars(value[1]) | vars(value[0]) if isinstance(value, tuple) else value


def _rounded(value: float) -> float:
    return round(value, 3)


class PieceOut(FromForm):
    """One line of the piece list. ``wanted == ready + scraps + yardage``.

    `at_most` is proven: ready-cut pieces and scraps together cannot give more.
    """

    name: str
    role: str
    shape: str
    cut: Outline
    wanted: int
    ready: int
    scraps: int
    yardage: int
    at_most: int


class PlacementOut(FromForm):
    """One piece on a scrap, in the scrap's own inches.

    `label` is unique in the answer; the piece ends in `part`, which is cut down to it, or, with
    `template`, from which it is cut round a template. Answers that older versions kept do not say.
    """

    label: str = ""
    piece: str = Field(validation_alias="kind")
    outline: FineOutline
    rotation_deg: float
    mirrored: bool
    part: int | None = None
    template: bool | None = None


class UsedScrapOut(FromForm):
    """A scrap to cut. `grain_assumed`: its grain is not known.

    Answers that older versions kept have neither `frame` nor `cuts`.
    """

    id: int = Field(validation_alias=AliasPath("scrap", "id"))
    name: str | None = Field(validation_alias=AliasPath("scrap", "name"))
    fabric: str | None = Field(None, validation_alias=AliasPath("scrap", "fabric", "name"))
    place: str | None = Field(validation_alias=AliasPath("scrap", "place"))
    grain_assumed: bool
    counts: dict[str, int]
    frame: FrameOut | None = Field(None, validation_alias=AliasPath("cutting", "frame"))
    cuts: list[StraightCutOut] = Field([], validation_alias=AliasPath("cutting", "cuts"))
    placements: list[Annotated[PlacementOut, BeforeValidator(_placed)]] = Field(
        validation_alias="labelled"
    )


class UsedReadyOut(FromForm):
    """Ready-cut pieces to take: `taken` of them give `count` pieces.

    `parts` is how many each gives: 1 as it is, 2 or 4 where it is cut corner to corner. Answers
    that older versions kept do not say `taken`: there it is `count`.
    """

    id: int = Field(validation_alias=AliasPath("lot", "id"))
    piece: str = Field(validation_alias="need")
    count: int
    parts: int = 1
    taken: int | None = None


class PositionOut(FromForm):
    """A position of the design, and what comes there: a piece of that label.

    `piece` is its line of the piece list. A ready-cut piece has the letter of its line as `label`,
    and what nothing gives an empty one. It is of a `scrap`, of a lot of `ready` pieces or of a
    `length`, else of cloth that is still to be bought. `to_scrap`, (a, b, d, e, x0, y0): the point
    (x, y) of the top is cut at (a x + b y + x0, d x + e y + y0) of the scrap, in its own inches.
    """

    position: str
    piece: str
    label: str
    scrap: int | None
    ready: int | None
    length: int | None
    fabric: str | None
    to_scrap: tuple[float, float, float, float, float, float] | None


class TotalsOut(FromForm):
    """All pieces together. `at_most` and `area_at_most` are proven, each by itself.

    `area` is the cut area of the pieces that need no yardage, square inches.
    """

    wanted: int
    covered: int
    at_most: int
    area: float
    area_at_most: float


class MissOut(FromForm):
    """A scrap that only just does not give a piece, and why.

    `reason`: "narrow", "short" or "small" (both ways) by `lacking` inches; "shape": by over two
    inches; "grain": it is not known, and the piece fits with the lengthwise grain at one of
    `grain_deg` in the scrap's own frame; "share": its fabric gives all that one fabric may; "set":
    it gives no whole set.
    """

    piece: str = Field(validation_alias="need")
    scrap: int = Field(validation_alias="scrap_id")
    reason: Reason
    grain_deg: tuple[float, ...] = ()
    lacking: float | None
    trimmed_tips_fit: bool = Field(validation_alias="trimmed")
    off_grain_fits: bool = Field(validation_alias="off_grain")


class PiecedOut(FromForm):
    """A piece that two parts of one fabric give, sewn together; both may be of one scrap.

    `parts` are their cut outlines, the seam allowance included, in the frame of the piece's `cut`;
    the seam runs at `seam_deg` there.
    """

    piece: str = Field(validation_alias="need")
    scraps: tuple[int, int] = Field(validation_alias="scrap_ids")
    parts: tuple[Outline, Outline]
    seam_deg: Annotated[float, BeforeValidator(_rounded)]


class HelpfulChangeOut(FromForm):
    """A single change, and how many more pieces a plan then covered."""

    role: str
    what: str
    more: int


class MatchOut(BaseModel):
    """The whole answer.

    `positions` are those of the project's design, empty without one. `choice_proven`: no other
    choice among the layouts found covers more. `stopped`: the looking was interrupted.
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
    together: TotalsOut
    choice_proven: bool
    stopped: bool
    statement: str
    misses: list[MissOut] = []
    changes: list[HelpfulChangeOut] = []
    pieced: list[PiecedOut] = []
    positions: list[PositionOut] = []
    others: list["OtherOut"] = []


class OtherOut(MatchOut):
    """A further answer.

    `unlike` holds, for each answer before it, what share of the pieces which that one cuts from
    scraps, by area, is cut otherwise in this one: from another scrap, or not from scraps.
    """

    unlike: list[float]


def answers_out(results: Sequence[MatchResult]) -> MatchOut:
    """Return the JSON form of several answers: the first, with the others in it."""
    first, *others = (match_out(result) for result in results)
    compared = figures(results)[1:]
    first.others = [
        OtherOut(**dict(other), unlike=[round(share, 4) for share in one.unlike])
        for other, one in zip(others, compared, strict=True)
    ]
    return first


def match_document(result: MatchResult) -> dict[str, Any]:
    """Return a match as kept plans hold it: what ``match --json`` prints, as plain values."""
    return match_out(result).model_dump(mode="json")


def positions_out(places: Sequence[Place]) -> list[PositionOut]:
    """Return the JSON form of the places of an answer."""
    return [PositionOut.model_validate(place) for place in places]


def match_out(result: MatchResult) -> MatchOut:
    """Return the JSON form of a match."""
    supplies = {supply.need: supply for supply in result.supplies}
    given = {
        "project": result.project.name,
        "pieces": [
            PieceOut(
                name=piece.name,
                role=piece.role,
                shape=piece.shape.label,
                cut=piece.cut,
                wanted=supplies[piece.name].wanted,
                ready=supplies[piece.name].ready,
                scraps=supplies[piece.name].scraps,
                yardage=supplies[piece.name].short,
                at_most=supplies[piece.name].at_most,
            )
            for piece in result.project.pieces
        ],
        "scraps": result.cuts,
        "yardage": [
            role_out(shortage, result, cuttings)
            for shortage, cuttings in zip(result.shortages, strip_cuttings(result), strict=True)
        ],
        "statement": statement(result),
        "positions": result.places,
    }
    return MatchOut.model_validate(vars(result) | given)
