"""The JSON form of kept lenses."""

from datetime import datetime
from typing import Annotated

from pydantic import BaseModel, BeforeValidator

from scrapstore.json_output.base import FromForm
from scrapstore.store import Lens, StoredPhoto

__all__ = ["LensOut", "LensesOut", "lens_out", "lenses_out"]


def _photo_name(photo: StoredPhoto | None) -> str | None:
    return (photo.original_name or photo.file_name) if photo else None


class LensOut(FromForm):
    """A lens; `focal` is in long sides of the picture, `k1` its radial distortion."""

    id: int
    name: str
    focal: float
    focal_sigma: float
    k1: float
    k1_sigma: float
    photo: Annotated[str | None, BeforeValidator(_photo_name)]
    created: datetime


class LensesOut(BaseModel):
    """All kept lenses, in the order they were learned."""

    lenses: list[LensOut]


def lens_out(lens: Lens) -> LensOut:
    """Return the JSON form of `lens`."""
    return LensOut.model_validate(lens)


def lenses_out(kept: tuple[Lens, ...]) -> LensesOut:
    """Return the JSON form of `kept`."""
    return LensesOut(lenses=[lens_out(lens) for lens in kept])
