"""Lenses learned from photos: kept for the next ones, listed, forgotten."""

from datetime import datetime

from pydantic import BaseModel

from scrapstore.photo import LensProfile
from scrapstore.store import (
    Lens,
    NewLens,
    Store,
    StoredPhoto,
    Writer,
    forget_lens,
    keep_lens,
    lenses,
)

__all__ = [
    "LensOut",
    "LensesOut",
    "forget_one",
    "kept_profiles",
    "learn",
    "lens_out",
    "lenses_out",
    "list_lenses",
]


class LensOut(BaseModel):
    """A lens; `focal` is in long sides of the picture, `k1` its radial distortion."""

    id: int
    name: str
    focal: float
    focal_sigma: float
    k1: float
    k1_sigma: float
    photo: str | None
    created: datetime


class LensesOut(BaseModel):
    """All kept lenses, in the order they were learned."""

    lenses: list[LensOut]


def kept_profiles(store: Store) -> tuple[LensProfile, ...]:
    """Return the kept lenses as measuring wants them."""
    with store.read() as reader:
        return tuple(
            LensProfile(lens.name, lens.focal, lens.k1, lens.focal_sigma, lens.k1_sigma)
            for lens in lenses(reader)
        )


def learn(writer: Writer, profile: LensProfile, photo: StoredPhoto) -> bool:
    """Keep what `photo` taught of its lens; False when that lens is known already."""
    lens = NewLens(
        name=profile.key,
        focal=profile.focal,
        k1=profile.k1,
        focal_sigma=profile.focal_sigma,
        k1_sigma=profile.k1_sigma,
        photo=photo,
    )
    return keep_lens(writer, lens)


def list_lenses(store: Store) -> tuple[Lens, ...]:
    """Return the kept lenses in the order they were learned."""
    with store.read() as reader:
        return lenses(reader)


def forget_one(store: Store, number: int) -> Lens:
    """Forget a lens, so that the next photo with loose squares teaches it anew; NotFoundError."""
    with store.change("lens forget") as writer:
        return forget_lens(writer, number)


def lens_out(lens: Lens) -> LensOut:
    """Return the external form of `lens`."""
    return LensOut(
        id=lens.id,
        name=lens.name,
        focal=lens.focal,
        focal_sigma=lens.focal_sigma,
        k1=lens.k1,
        k1_sigma=lens.k1_sigma,
        photo=lens.photo and (lens.photo.original_name or lens.photo.file_name),
        created=lens.created,
    )


def lenses_out(kept: tuple[Lens, ...]) -> LensesOut:
    """Return the external form of `kept`."""
    return LensesOut(lenses=[lens_out(lens) for lens in kept])
