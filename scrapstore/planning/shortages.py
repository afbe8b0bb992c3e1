"""What each role wants from yardage, after what scraps and ready-cut pieces give."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

from shapely import Polygon, affinity

from scrapstore.matching import Answer, RoleRule
from scrapstore.planning.allocate import NO_NAME, Shortage, allocate_lengths
from scrapstore.planning.nested import nested_length
from scrapstore.planning.purchases import shop_of
from scrapstore.planning.result import ReadyUse, ScrapCut
from scrapstore.projects import Project
from scrapstore.settings import Settings
from scrapstore.shapes import cut_shape, precuts
from scrapstore.store import Fabric, ReadyCut, Scrap, Yardage
from scrapstore.yardage import StripPiece

__all__ = ["YardageOffer", "pieces_of_fabrics", "unmet_conditions"]


class YardageOffer:
    """The lengths in the store, and the widths that are planned on where fabric is to be bought."""

    def __init__(
        self,
        project: Project,
        roles: Mapping[str, RoleRule],
        lengths: Sequence[Yardage],
        fabrics: Sequence[Fabric],
        settings: Settings,
    ) -> None:
        self._project, self._roles, self._lengths = project, roles, lengths
        self._widths = {one.name: one.usable_width for one in fabrics}
        self._settings = settings

    def shortages(
        self,
        short: Mapping[str, int],
        used: Mapping[str, Counter[str]] | None = None,
        *,
        by_length: bool = False,
    ) -> tuple[Shortage, ...]:
        """Return what each role wants from yardage where so many of each piece are `short`.

        `used` says how many pieces of each role come from each fabric already. With `by_length` no
        precuts are bought: that takes less time.
        """
        settings = self._settings
        return allocate_lengths(
            self._pieces(short),
            self._roles,
            self._lengths,
            {name: self._width_to_buy(name) for name in self._roles},
            used or {name: Counter() for name in self._roles},
            usual_width=settings.usable_width,
            shop=shop_of(settings),
            by_length=by_length,
            one_way=frozenset(piece.role for piece in self._project.pieces if piece.one_way),
        )

    def nested(self, shortages: Sequence[Shortage]) -> tuple[Shortage, ...]:
        """Return them with the length that each would take nested freely, where it is one fabric.

        That takes some seconds for each.
        """
        return tuple(self._nested(one) if one.fabrics_to_buy == 1 else one for one in shortages)

    def _nested(self, shortage: Shortage) -> Shortage:
        (counts,) = shortage.bought_pieces
        one = shortage.purchases[0]
        strips = one.plan.length if one.instead is None else one.instead.used
        if one.plan.too_long or not strips:
            return shortage
        pieces = self._pieces({piece.name: counts[piece.name] for piece in self._project.pieces})
        return replace(
            shortage, nested=nested_length(pieces, self._width_to_buy(shortage.role), strips)
        )

    def fat_quarter(self, role: str) -> Polygon:
        """Return what can be used of a fat quarter that is bought, its lengthwise grain at 0°."""
        straightening = self._settings.precut_straightening
        bought = precuts(self._width_to_buy(role), straightening)["fat quarter"]
        return affinity.rotate(bought.outline, -(bought.grain_deg or 0.0), origin=(0, 0))

    def _pieces(self, short: Mapping[str, int]) -> tuple[StripPiece, ...]:
        return tuple(
            StripPiece(
                name=piece.name,
                cut=piece.cut,
                count=short[piece.name],
                rotations_deg=piece.rotations_deg,
                role=piece.role,
                blank=cut_shape(piece.shape, self._project.seam_allowance)
                if piece.tips != "pointed"
                else None,
            )
            for piece in self._project.pieces
            if short[piece.name]
        )

    def _width_to_buy(self, role: str) -> float:
        """Return the usable width that a length to buy is planned on.

        Where the role names its fabrics, the narrowest of them decides: whichever is bought, the
        length must be enough. A named fabric of unknown width counts with the project's width.
        """
        usual = self._project.usable_width
        named = self._project.roles[role].fabrics
        return min((self._widths.get(name) or usual for name in named), default=usual)


def pieces_of_fabrics(
    project: Project, ready: Sequence[ReadyUse], cuts: Sequence[ScrapCut]
) -> dict[str, Counter[str]]:
    """Return for each role how many of its pieces the plan takes from each fabric."""
    role_of = {piece.name: piece.role for piece in project.pieces}
    found: dict[str, Counter[str]] = {name: Counter() for name in project.roles}
    for use in ready:
        found[role_of[use.need]][_cloth_name(use.lot)] += use.count
    for cut in cuts:
        for need, count in cut.counts.items():
            found[role_of[need]][_cloth_name(cut.scrap)] += count
    return found


def unmet_conditions(answer: Answer, shortages: Sequence[Shortage]) -> tuple[str, ...]:
    """Return what the whole plan does not keep: where yardage has its part, it has been asked."""
    asked = tuple(f"{shortage.role}: " for shortage in shortages)
    kept = [sentence for sentence in answer.unmet if not sentence.startswith(asked)]
    return (*kept, *(sentence for shortage in shortages for sentence in shortage.unmet))


def _cloth_name(thing: Scrap | ReadyCut) -> str:
    """Return the name of a thing's fabric; cloth without one is a fabric of its own."""
    return thing.fabric.name if thing.fabric else f"{NO_NAME}{type(thing).__name__} {thing.id}"
