"""The JSON form of a ranking of projects."""

from pydantic import AliasPath, BaseModel, Field

from scrapstore.actions.rank import Ranked
from scrapstore.json_output.base import FromForm

__all__ = ["RankingOut", "ranking_out"]


class YardsOut(FromForm):
    """What one role still wants: a length to buy, unless a length at hand is enough."""

    role: str
    buy_yards: float
    must_buy: bool = Field(validation_alias="buy")


class RankedOut(FromForm):
    """One project; `at_most` is proven.

    `share` is the part of the area of all pieces, cut size, that the store gives. `cannot` says of
    each piece that cannot be cut from the fabric to buy either why.
    """

    file: str = Field(validation_alias=AliasPath("file", "name"))
    project: str = Field(validation_alias=AliasPath("result", "project", "name"))
    share: float
    wanted: int = Field(validation_alias=AliasPath("result", "together", "wanted"))
    covered: int = Field(validation_alias=AliasPath("result", "together", "covered"))
    at_most: int = Field(validation_alias=AliasPath("result", "together", "at_most"))
    yardage: list[YardsOut] = Field(validation_alias=AliasPath("result", "shortages"))
    cannot: list[str]


class RankingOut(BaseModel):
    """The projects, the one covered furthest first; those that cannot be cut at all come last.

    `faulty` are messages about files that cannot be used.
    """

    projects: list[RankedOut]
    faulty: list[str]


def ranking_out(ranked: tuple[Ranked, ...], faulty: tuple[str, ...]) -> RankingOut:
    """Return the JSON form of a ranking."""
    return RankingOut(
        projects=[RankedOut.model_validate(one) for one in ranked], faulty=list(faulty)
    )
