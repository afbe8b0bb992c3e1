"""``lens``: the lenses that photos with loose squares have taught."""

from typing import TYPE_CHECKING

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command, group
from scrapstore.cli.tables import Shown, table

if TYPE_CHECKING:
    from scrapstore.store import Lens

__all__ = ["app"]


app = group("lens", "Lenses learned from photos, for photos with the whole card.")


@command(app, "list")
def list_(call: Call) -> None:
    """List the lenses that are known, and the photo that taught each.

    A photo with four or more squares cut apart and spread round the scraps teaches the lens of its
    camera. A later photo of the same camera at the same focal length is measured with it, also
    where the scale is one whole card.
    """
    from scrapstore.actions.lens import list_lenses
    from scrapstore.json_output.lenses import lenses_out

    kept = call.in_store(list_lenses)
    call.show(lenses_out(kept), lambda: _text(kept))


@command(app, "forget")
def forget(call: Call, number: o.NUMBER) -> None:
    """Forget a lens; the next photo with loose squares teaches it anew.

    Scraps measured with it stay as they are.
    """
    from scrapstore.actions.lens import forget_one
    from scrapstore.json_output.lenses import lens_out

    lens = call.in_store(forget_one, number)
    call.show(lens_out(lens), lambda: f"Forgot lens {lens.id}, {lens.name}.")


def _text(kept: "tuple[Lens, ...]") -> Shown:

    if not kept:
        return "No lens is known yet; log a photo with the squares cut apart."
    rows = []
    for lens in kept:
        photo = "" if lens.photo is None else lens.photo.original_name or lens.photo.file_name
        when = lens.created.astimezone().strftime("%Y-%m-%d")
        rows.append((str(lens.id), lens.name, f"{lens.bend_percent:+.1f} %", photo, when))
    columns = ("no.", "camera and lens", "bends by", "learned from", "on")
    return table(columns, rows, right=("no.", "bends by"))
