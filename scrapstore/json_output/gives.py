"""The JSON form of what scraps give."""

from pydantic import AliasPath, BaseModel, Field

from scrapstore.actions.gives import GivesResult
from scrapstore.json_output.base import FromForm
from scrapstore.json_output.match import MatchOut, match_out

__all__ = ["GivesOut", "gives_out"]


class OpenPieceOut(BaseModel):
    """Pieces that are still `wanted`; `of` is "project", "plan" or "stock", `name` which."""

    of: str
    name: str
    piece: str
    wanted: int
    given: int


class GivenOut(FromForm):
    """Pieces that a scrap gives, and for what."""

    scrap: int = Field(validation_alias=AliasPath("scrap", "id"))
    of: str = Field(validation_alias=AliasPath("wanted", "kind"))
    name: str = Field(validation_alias=AliasPath("wanted", "name"))
    piece: str = Field(validation_alias=AliasPath("piece", "name"))
    count: int


class GivesOut(BaseModel):
    """What the `scraps` give for what is `open`.

    `answer` is how they are cut, as ``match --json`` has it: its pieces are called after the piece
    and what it is for. None where nothing is given.
    """

    scraps: list[int]
    open: list[OpenPieceOut]
    given: list[GivenOut]
    left_out: list[str]
    answer: MatchOut | None


def gives_out(result: GivesResult) -> GivesOut:
    """Return the JSON form of what scraps give."""
    return GivesOut(
        scraps=[scrap.id for scrap in result.scraps],
        open=[
            OpenPieceOut(
                of=one.kind,
                name=one.name,
                piece=piece.name,
                wanted=piece.count,
                given=sum(
                    given.count
                    for given in result.given
                    if given.wanted is one and given.piece is piece
                ),
            )
            for one in result.open.wanted
            for piece in one.project.pieces
        ],
        given=[GivenOut.model_validate(given) for given in result.given],
        left_out=list(result.open.left_out),
        answer=None if result.answer is None else match_out(result.answer),
    )
