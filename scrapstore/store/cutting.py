"""Booking what was cut of a kept plan: in one transaction, called inside `Store.change`.

The right to write is taken at once, so of two processes that book the same scrap the second finds
it gone and is told so.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from scrapstore.errors import PlanError
from scrapstore.store.forms import NewReadyCut, NewScrap, ReadyCut, Scrap
from scrapstore.store.held_strips import Held, NewHeld, held_by
from scrapstore.store.models import PLAN_PIECES, PLAN_STOCK
from scrapstore.store.plan_forms import BookedCut, NewCut, Plan
from scrapstore.store.plans import (
    NewPieceRow,
    PieceRow,
    alike,
    is_for,
    piece_rows,
    plan_named,
    take_off,
)
from scrapstore.store.writer import Writer

__all__ = ["book_cuts", "spoil_cut_pieces"]

_CLOSE: Final = 1e-6  # inches


def book_cuts(writer: Writer, name: str, cuts: Sequence[NewCut]) -> BookedCut:
    """Book `cuts` of the plan called `name`; return what they made.

    Pieces become ready-cut lots set aside for the plan, one for all that are alike. Scraps are used
    up, lengths get shorter, offcuts and spoilt pieces become scraps. Raises PlanError when the plan
    no longer holds what is cut, or when a piece was cut meanwhile.
    """
    return _Booking(writer, plan_named(writer, name)).book(cuts)


def spoil_cut_pieces(writer: Writer, name: str, scraps: Mapping[str, NewScrap]) -> dict[str, Scrap]:
    """Book that pieces of the plan called `name`, cut already, were spoilt; return their scraps.

    `scraps` says by label what each is now; its lot has one piece less. PlanError when a piece is
    not in a lot of the plan.
    """
    return _Booking(writer, plan_named(writer, name)).spoil(scraps)


class _Booking:
    """One visit's cuts of one plan."""

    def __init__(self, writer: Writer, plan: Plan) -> None:
        self._writer = writer
        self._plan = plan
        self._held = held_by(writer, plan.id)
        self._pieces = {row.label: row for row in piece_rows(writer, plan.id)}
        own = {row.ready_cut_id for row in self._pieces.values() if row.ready_cut_id is not None}
        self._lots = [writer.ready_cut_lot(number) for number in sorted(own)]

    def book(self, cuts: Sequence[NewCut]) -> BookedCut:
        writer = self._writer
        lots: dict[int, None] = {}
        spoilt: dict[str, int] = {}
        offcuts = []
        for cut in cuts:
            if cut.untouched:
                self._let_go(cut)
            else:
                self._use_up(cut)
            for pieces, labels in cut.lots:
                lot = self._put(pieces)
                lots[lot] = None
                for label in labels:
                    self._note(NewPieceRow(plan_id=self._plan.id, label=label, state="cut",
                                           ready_cut_id=lot))  # fmt: skip
            lots |= {self._writer.add_ready_cut(pieces).id: None for pieces in cut.spare}
            for label, scrap in cut.spoilt.items():
                spoilt[label] = writer.add_scrap(scrap).id
                self._note(NewPieceRow(plan_id=self._plan.id, label=label, state="spoilt",
                                       scrap_id=spoilt[label]))  # fmt: skip
            for label in cut.not_cut:
                self._note(NewPieceRow(plan_id=self._plan.id, label=label, state="not cut"))
            offcuts += [writer.add_scrap(scrap).id for scrap in cut.offcuts]
        return BookedCut(
            lots=tuple(lots),
            spoilt=spoilt,
            offcuts=tuple(offcuts),
        )

    def spoil(self, scraps: Mapping[str, NewScrap]) -> dict[str, Scrap]:
        writer = self._writer
        made = {}
        for label, scrap in scraps.items():
            piece = self._pieces.get(label)
            if piece is None or piece.ready_cut_id is None:
                raise self._gone(f"piece {label}")
            self._count_off(writer.ready_cut_lot(piece.ready_cut_id), 1, held=True)
            writer.remove_row(PLAN_PIECES, piece.id)
            made[label] = new = writer.add_scrap(scrap)
            row = NewPieceRow(plan_id=self._plan.id, label=label, state="spoilt", scrap_id=new.id)
            writer.add_row(PLAN_PIECES, row)
        return made

    def _use_up(self, cut: NewCut) -> None:
        """Use up the scrap, or take the inches off the length, and let the plan hold so less."""
        writer = self._writer
        if cut.scrap_id is not None:
            scrap = writer.scrap(cut.scrap_id)
            if not cut.held:
                if scrap.status != "available":
                    raise self._gone(f"scrap {scrap.id}")
            elif not is_for(scrap, self._plan.name):
                raise self._gone(f"scrap {scrap.id}")
            else:
                row = self._row(scrap_id=scrap.id)
                writer.remove_row(PLAN_STOCK, row.id)
            writer.update_scrap(replace(scrap, status="used up", set_aside_for=None))
        if cut.yardage_id is not None:
            if cut.held:
                self._hold_less(cut.yardage_id, cut.inches)
            length = writer.yardage_length(cut.yardage_id)
            if length.status != "available" or length.left < cut.inches - _CLOSE:
                raise self._gone(f"length {cut.yardage_id}")
            take_off(writer, length, cut.inches)
        if cut.ready_cut_id is not None:
            self._count_off(writer.ready_cut_lot(cut.ready_cut_id), cut.taken, held=cut.held)

    def _let_go(self, cut: NewCut) -> None:
        """Free the scrap or the inches that were not cut after all."""
        writer = self._writer
        if cut.held and cut.scrap_id is not None:
            writer.remove_row(PLAN_STOCK, self._row(scrap_id=cut.scrap_id).id)
            scrap = writer.scrap(cut.scrap_id)
            writer.update_scrap(replace(scrap, status="available", set_aside_for=None))
        if cut.held and cut.yardage_id is not None:
            self._hold_less(cut.yardage_id, cut.inches)

    def _count_off(self, lot: ReadyCut, taken: int, *, held: bool) -> None:
        """Take pieces off a lot; when none are left it is used up."""
        free = is_for(lot, self._plan.name) if held else lot.status == "available"
        if not free or lot.count < taken:
            raise self._gone(f"ready-cut pieces no. {lot.id}")
        row = self._row(ready_cut_id=lot.id) if held else None
        if row is not None:
            self._writer.remove_row(PLAN_STOCK, row.id)
            self._held.remove(row)
        rest = replace(lot, count=lot.count - taken)
        if rest.count == 0:
            rest = replace(rest, status="used up", set_aside_for=None)
        self._writer.update_ready_cut(rest)
        if row is not None and rest.count:
            still = NewHeld(plan_id=self._plan.id, ready_cut_id=lot.id,
                            taken_from_id=row.taken_from_id)  # fmt: skip
            self._writer.add_row(PLAN_STOCK, still)
            self._held = held_by(self._writer, self._plan.id)

    def _hold_less(self, yardage_id: int, inches: float) -> None:
        row = self._row(yardage_id=yardage_id)
        held = row.inches or 0.0
        if held < inches - _CLOSE:
            raise self._gone(f"length {yardage_id}")
        self._writer.remove_row(PLAN_STOCK, row.id)
        self._held.remove(row)
        if held > inches + _CLOSE:
            rest = NewHeld(plan_id=self._plan.id, yardage_id=yardage_id, inches=held - inches)
            self._writer.add_row(PLAN_STOCK, rest)
            self._held = held_by(self._writer, self._plan.id)

    def _row(self, **thing: int) -> Held:
        """Return what the plan holds of a thing, given by the name of its column."""
        ((column, number),) = thing.items()
        for row in self._held:
            if getattr(row, column) == number:
                return row
        raise self._gone(f"{column.removesuffix('_id').replace('_', '-')} {number}")

    def _gone(self, what: str) -> PlanError:
        return PlanError(
            f"{what} was cut, released or changed meanwhile, so nothing was booked of "
            f"{self._plan.name!r}; see plan show {self._plan.name!r}"
        )

    def _put(self, pieces: NewReadyCut) -> int:
        """Put pieces into a lot of this plan that is alike, else into one of their own."""
        for at, lot in enumerate(self._lots):
            if alike(lot, pieces) and is_for(lot, self._plan.name):
                more = replace(lot, count=lot.count + pieces.count)
                self._lots[at] = self._writer.update_ready_cut(more)
                return lot.id
        aside = replace(pieces, status="set aside", set_aside_for=self._plan.name)
        lot = self._writer.add_ready_cut(aside)
        self._writer.add_row(PLAN_STOCK, NewHeld(plan_id=self._plan.id, ready_cut_id=lot.id))
        self._lots.append(lot)
        return lot.id

    def _note(self, piece: NewPieceRow) -> None:
        """Note what became of a piece; one that was spoilt or not cut may be cut after all."""
        before: PieceRow | None = self._pieces.get(piece.label)
        if before is not None and before.state == "cut":
            raise self._gone(f"piece {piece.label}")
        if before is not None:
            self._writer.remove_row(PLAN_PIECES, before.id)
        self._writer.add_row(PLAN_PIECES, piece)
