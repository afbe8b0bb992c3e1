"""What lengths of yardage at hand give of each kind of piece."""

from collections.abc import Mapping, Sequence

from scrapstore.matching import Need, RoleRule
from scrapstore.planning.allocate import cloth_of, length_gives
from scrapstore.planning.arranging.supply import LengthOffer, Supplied
from scrapstore.planning.purchases import shop_of
from scrapstore.projects import Project
from scrapstore.settings import Settings
from scrapstore.shapes import cut_shape
from scrapstore.store import Yardage
from scrapstore.yardage import StripPiece

__all__ = ["length_offers"]


def length_offers(
    lengths: Sequence[Yardage],
    project: Project,
    needs: Sequence[Need],
    supplied: Supplied,
    rules: Mapping[str, RoleRule],
    settings: Settings,
) -> list[LengthOffer]:
    """Return what each length gives of each kind alone, as a match would cut it.

    Inches that a kept plan holds, and those that squaring up and washing take, do not count.
    """
    pieces = {piece.name: piece for piece in project.pieces}
    shop = shop_of(settings)
    offers = []
    for one in lengths:
        cloth = cloth_of(one)
        counts = []
        for kind in supplied.kinds:
            own = [need for need in needs if supplied.classes[need.name] == kind]
            may = [need for need in own if rules[need.role].allows(cloth)]
            count = 0
            if may:
                piece = pieces[may[0].name]
                blank = None
                if piece.tips != "pointed":
                    blank = cut_shape(piece.shape, project.seam_allowance)
                strip = StripPiece(
                    piece.name, piece.cut, sum(need.wanted for need in own), piece.rotations_deg,
                    blank=blank,
                )  # fmt: skip
                rule = RoleRule(may[0].role)
                count = length_gives(rule, strip, one, usual_width=settings.usable_width, shop=shop)
            counts.append(count)
        offers.append(LengthOffer(one.id, cloth, tuple(counts)))
    return offers
