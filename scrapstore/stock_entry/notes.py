"""What is said of scraps that are to be measured from a photo, before any photo is opened."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from scrapstore.shapes.typed_outlines import TypedOutline
from scrapstore.store import NewFabric

__all__ = ["Noted", "ToMeasure"]


@dataclass(frozen=True, kw_only=True)
class Noted:
    """What was noted of one scrap, or of all scraps of a photo.

    `fields` are fields of `NewScrap` by name (place, name, margin, …); `grain` is a text as
    `ToMeasure` says; `typed` is an outline to take in place of the measured one.
    """

    fields: Mapping[str, Any] = field(default_factory=dict)
    fabric: NewFabric | None = None
    grain: str | None = None
    typed: TypedOutline | None = None

    def under(self, other: "Noted") -> "Noted":
        """Return these notes, with those of `other`, which is nearer to the scrap, over them."""
        return Noted(
            fields={**self.fields, **other.fields},
            fabric=other.fabric or self.fabric,
            grain=other.grain or self.grain,
            typed=other.typed or self.typed,
        )


@dataclass(frozen=True, kw_only=True)
class ToMeasure:
    """What is said of a photo that is to be measured.

    `all_scraps` holds for each of its scraps, `scraps` for single ones by their number in the
    preview; `leave_out` are numbers that do not go in. A grain is ``suggested`` (along the longest
    straight edge), ``across`` (at right angles to it), ``unknown``, or degrees from the level of
    the picture; nothing said means unknown.
    """

    all_scraps: Noted = field(default_factory=Noted)
    scraps: Mapping[int, Noted] = field(default_factory=dict)
    leave_out: frozenset[int] = frozenset()

    def of(self, number: int) -> Noted:
        """Return what holds for the scrap `number`."""
        return self.all_scraps.under(self.scraps.get(number, Noted()))

    def but(self, typed: "ToMeasure") -> "ToMeasure":
        """Return these notes with what was `typed` in place of what they say."""
        return ToMeasure(
            all_scraps=self.all_scraps.under(typed.all_scraps),
            scraps={
                number: self.scraps.get(number, Noted())
                .under(typed.all_scraps)
                .under(typed.scraps.get(number, Noted()))
                for number in {**self.scraps, **typed.scraps}
            },
            leave_out=self.leave_out | typed.leave_out,
        )

    def fabrics(self) -> tuple[NewFabric, ...]:
        """Return the fabrics named, each once."""
        notes = (self.all_scraps, *self.scraps.values())
        return tuple({n.fabric.name: n.fabric for n in notes if n.fabric is not None}.values())
