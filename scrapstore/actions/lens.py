"""Lenses learned from photos: kept for the next ones, listed, forgotten."""

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
    "forget_one",
    "kept_profiles",
    "learn",
    "list_lenses",
]


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
