"""The JSON form of the shopping list; lengths in inches."""

from pathlib import Path

from pydantic import AliasPath, BaseModel, Field

from scrapstore.actions.shopping import ShoppingResult
from scrapstore.json_output.base import FromForm
from scrapstore.json_output.yardage import ClothOut, PurchaseOut
from scrapstore.planning.shopping import FabricLine

__all__ = ["ShoppingOut", "shopping_out"]


class LengthOut(FromForm):
    """A length off the bolt: `used` inches are cut from it, `needed` with all that is lost."""

    used: float
    needed: float
    buy_yards: float = Field(validation_alias="yards")
    buy_cm: int = Field(validation_alias="cm")


class MatchColourOut(FromForm):
    """A colour to match, with the number of a scrap that shows it."""

    rgb: tuple[int, int, int]
    word: str
    scrap: int | None


class RoleOut(BaseModel):
    """A role that fabric is bought for, and what it takes by itself."""

    project: str
    role: str
    purchases: list[PurchaseOut]


class FabricToBuyOut(BaseModel):
    """Fabric to buy for the roles in `parts`; where `together` is given, in one length."""

    parts: list[RoleOut]
    together: LengthOut | None
    cloth: ClothOut
    match: list[MatchColourOut]
    cannot: list[str]


class FinishNeedOut(FromForm):
    """What finishing takes: batting, backing, binding, form or zip.

    `size` is width and height, of a binding its length and the width of its strips. `length` is
    what to buy off the bolt, None where it is not fabric or nothing lacks; `lengths` are those of
    the store that would do instead.
    """

    project: str
    kind: str
    size: list[float]
    length: LengthOut | None
    panels: int
    strips: int
    on_hand: float
    bias: bool
    have: list[int] = Field(validation_alias="have_ids")
    lengths: list[int] = Field(validation_alias="length_ids")


class OnHandForOut(BaseModel):
    """What one project takes of the store; `lengths` are inches by the number of a length."""

    project: str
    scraps: list[int]
    ready: dict[int, int]
    lengths: dict[int, float]


class PromisedOut(FromForm):
    """What a kept plan that is not on the list holds; `lengths` are inches by fabric."""

    plan: str
    scraps: int
    lots: int
    lengths: list[tuple[str, float]]


class HereOut(FromForm):
    """A length that no plan holds and that would do for what a kept plan says to buy."""

    project: str
    role: str
    length_id: int = Field(validation_alias=AliasPath("yardage", "id"))


class MarginsOut(FromForm):
    """What is added to each length; `shrinkage` is a share, `step` None for that of the units."""

    straightening: float
    precut_straightening: float
    shrinkage: float
    step: float | None


class ShoppingOut(BaseModel):
    """One list for several projects: what to buy, what is on hand, what is promised elsewhere.

    `price` is None without prices. `words` are the sections of the list as they are shown.
    """

    projects: list[str]
    fabrics: list[FabricToBuyOut]
    finishing: list[FinishNeedOut]
    on_hand: list[OnHandForOut]
    here: list[HereOut]
    promised: list[PromisedOut]
    margins: MarginsOut
    price: float | None
    words: dict[str, list[str]]
    file: Path | None


def shopping_out(result: ShoppingResult) -> ShoppingOut:
    """Return the JSON form of a shopping list."""
    shopping = result.shopping
    return ShoppingOut(
        projects=[one.name for one in shopping.wanted],
        fabrics=[
            _fabric(line, [MatchColourOut.model_validate(card) for card in cards])
            for line, cards in zip(shopping.fabrics, result.asked, strict=True)
        ],
        finishing=[FinishNeedOut.model_validate(line) for line in shopping.finishing],
        on_hand=[
            OnHandForOut(
                project=one.name,
                scraps=[cut.scrap.id for cut in one.result.cuts],
                ready={use.lot.id: use.taken for use in one.result.ready},
                lengths={
                    hand.yardage.id: hand.takes
                    for shortage in one.result.shortages
                    for hand in shortage.on_hand
                },
            )
            for one in shopping.wanted
        ],
        here=[HereOut.model_validate(one) for one in shopping.here],
        promised=[PromisedOut.model_validate(one) for one in result.held],
        margins=MarginsOut.model_validate(shopping.shop),
        price=shopping.price,
        words={
            section.title: [
                " ".join([f"{entry.text}.", *entry.details]) for entry in section.entries
            ]
            for section in result.sheet.sections
        },
        file=result.file,
    )


def _fabric(line: FabricLine, match: list[MatchColourOut]) -> FabricToBuyOut:
    return FabricToBuyOut(
        parts=[
            RoleOut(
                project=part.project,
                role=part.shortage.role,
                purchases=[PurchaseOut.model_validate(one) for one in part.shortage.purchases],
            )
            for part in line.parts
        ],
        together=None if line.together is None else LengthOut.model_validate(line.together),
        cloth=ClothOut.model_validate(line.parts[0].shortage),
        match=match,
        cannot=[
            said
            for part in line.parts
            for one in part.shortage.purchases
            for said in one.plan.too_long
        ],
    )
