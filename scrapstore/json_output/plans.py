"""The JSON form of kept plans and of their sheets."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from pydantic import BaseModel, Field, ValidationError

from scrapstore.errors import StoreDamagedError
from scrapstore.json_output.base import FromForm
from scrapstore.json_output.match import MatchOut
from scrapstore.store import PieceState, Plan

__all__ = [
    "PlanOut",
    "PlanPictureOut",
    "PlansOut",
    "SheetsOut",
    "plan_out",
    "plans_out",
    "readable_plan_out",
]


class BecameOut(FromForm):
    """What became of a piece that was to be cut: the lot that it is in, or the scrap it is now."""

    state: PieceState
    ready: int | None = Field(validation_alias="ready_cut_id")
    scrap: int | None = Field(validation_alias="scrap_id")


class PlanOut(FromForm):
    """A kept plan: what is set aside for it, and the answer as ``match --json`` gave it.

    `yardage` maps lengths to the inches of them that are set aside, `binding` are strips. `became`
    says of each label what became of the piece; one that is still to be cut is not in it. `answer`
    is None where it cannot be read.
    """

    id: int
    name: str
    project: str
    created: datetime
    scraps: list[int] = Field(validation_alias="scrap_ids")
    ready: list[int] = Field(validation_alias="ready_ids")
    yardage: dict[int, float] = Field({})
    binding: list[int] = Field([], validation_alias="binding_ids")
    became: dict[str, BecameOut] = Field({}, validation_alias="pieces")
    answer: MatchOut | None = Field(validation_alias="document")


class SheetsOut(BaseModel):
    """The files of cutting sheets, the page with all of it first."""

    files: list[Path]


class PlanPictureOut(BaseModel):
    """The file that the top of a plan was drawn to."""

    picture: Path


class PlansOut(BaseModel):
    """All kept plans, in the order they were kept."""

    plans: list[PlanOut]


def plan_out(plan: Plan) -> PlanOut:
    """Return the JSON form of a plan, without an answer that makes no sense."""
    try:
        return PlanOut.model_validate(plan)
    except ValidationError:
        return PlanOut.model_validate({**vars(plan), "document": None})


def readable_plan_out(plan: Plan) -> PlanOut:
    """Return the JSON form of a plan; StoreDamagedError when its answer makes no sense."""
    out = plan_out(plan)
    if out.answer is None:
        msg = (
            f"the answer kept as {plan.name!r} cannot be read; release it (plan release "
            f"{plan.name!r}) and match again, or go back to a copy from the store's backups folder"
        )
        raise StoreDamagedError(msg)
    return out


def plans_out(kept: Sequence[Plan]) -> PlansOut:
    """Return the JSON form of several plans."""
    return PlansOut(plans=[plan_out(plan) for plan in kept])
