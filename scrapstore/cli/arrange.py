"""``arrange``: how the colours of a top can be arranged with what the store can supply."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, bundle, command
from scrapstore.cli.match_options import PROJECT
from scrapstore.cli.tables import Shown, stack, table
from scrapstore.errors import PlanError, UsageError

if TYPE_CHECKING:
    from scrapstore.planning.arranging.result import Arranged, ArrangeWish, CuttableWay
    from scrapstore.store import Plan, Store

__all__ = ["app"]

_SHOWN = 6

app = typer.Typer()


@bundle
class _Wish:
    """What is asked for."""

    scheme: Annotated[
        list[str] | None,
        o.text_option(
            "--scheme",
            "Only this scheme: rounds, wedges, alternating, graded, families, plain-middle, "
            "scattered or mirrored; may be given again (all of them).",
            metavar="WORD",
        ),
    ] = None
    by: Annotated[
        str | None,
        o.text_option(
            "--by",
            "What a round or wedge is one of: fabric, colour or value (the first of them by which "
            "anything can be cut).",
            metavar="WORD",
        ),
    ] = None
    role: Annotated[
        list[str] | None,
        o.text_option(
            "--role",
            "Arrange only the pieces of this role; may be given again (all but background).",
            metavar="NAME",
        ),
    ] = None
    pin: Annotated[
        list[str] | None,
        o.text_option(
            "--pin",
            "Settle a fabric, colour or value for a round, a wedge, a role or one piece, such as "
            "'round 1=mustard' or '1.2.3=blue'; may be given again.",
            metavar="PLACE=CLOTH",
        ),
    ] = None
    more: Annotated[
        int,
        o.number_option("--more", "So many more than six.", least=0, most=200),
    ] = 0
    seed: Annotated[
        int,
        o.number_option(
            "--variant",
            "Another number gives others of those that are chosen piece by piece; the same number "
            "gives the same.",
            least=0,
        ),
    ] = 0

    def read(self) -> "ArrangeWish":
        """Return the wish."""
        from scrapstore.planning.arranging.result import ArrangeWish

        return ArrangeWish(
            schemes=tuple(self.scheme or ()),
            roles=tuple(self.role or ()),
            by=self.by,
            pins=tuple(self.pin or ()),
            count=_SHOWN + self.more,
            seed=self.seed,
        )


@command(app, "arrange")
def arrange(
    call: Call,
    project: PROJECT,
    *,
    wish: _Wish,
    show: Annotated[
        int | None,
        o.number_option("--show", "Show the arrangement with this number alone, in full."),
    ] = None,
    swap: Annotated[
        list[str] | None,
        o.text_option(
            "--swap",
            "In the arrangement of --show or --keep: swap two rounds, wedges or pieces, such as "
            "'round 1=round 5', or two fabrics all over; may be given again.",
            metavar="ONE=OTHER",
        ),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(
            "--picture",
            metavar="FILE",
            help="Draw the arrangements in your own cloth, to choose from; with --show that one "
            "alone. FILE.png, .jpg, .svg, .html or .pdf.",
        ),
    ] = None,
    grey: Annotated[
        bool, typer.Option("--grey", help="Draw them in grey alone: light and dark.")
    ] = False,
    keep: Annotated[
        int | None,
        o.number_option("--keep", "Write the arrangement with this number as a project file."),
    ] = None,
    file: Annotated[
        Path | None,
        typer.Option("--as", metavar="FILE.toml", help="The project file that --keep writes."),
    ] = None,
    plan: Annotated[
        str | None,
        typer.Option("--plan", metavar="NAME", help="Match what was kept, and keep it as a plan."),
    ] = None,
) -> None:
    """Tell how the colours of a top can be arranged with what the store can supply.

    Only what can be cut is shown, and what cannot is told with its reason. The numbers hold for the
    same options.
    """
    _refuse_halves(show, swap, keep, file, plan, picture, grey=grey)
    number = show if keep is None else keep
    from scrapstore.workers import load_ahead, workers

    with workers() as pool:
        from scrapstore.actions.arrange import arrange_project, chosen_way, keep_way

        with load_ahead(), call.open_store() as store:
            arranged = arrange_project(store, project, wish.read(), call.settings, pool.pack_all)
            chosen = None
            if number is not None:
                chosen = number, chosen_way(arranged, number, swap or ())
            written = None
            if chosen is not None and file is not None:
                written = keep_way(arranged, chosen[1], project, file)
            picture = _drawn(call, store, arranged, chosen, picture, grey=grey)
            kept = None
            if plan is not None and written is not None:
                kept = _planned(call, store, written, plan)
    from scrapstore.json_output.arrange import arrange_out

    call.show(
        lambda: arrange_out(arranged, chosen, picture=picture, kept=written, plan=plan),
        lambda: _text(arranged, project) if chosen is None else _one(arranged, *chosen),
    )
    if picture is not None:
        call.say(f"Picture: {picture}")
    if written is not None:
        then = "" if kept else f" Then: scrapstore match {written.name}"
        call.say(f"Written to {written}.{then}")
    if kept is not None:
        from scrapstore.cli.match import kept_line

        call.say(kept_line(kept, call))


def _refuse_halves(
    show: int | None,
    swap: list[str] | None,
    keep: int | None,
    file: Path | None,
    plan: str | None,
    picture: Path | None,
    *,
    grey: bool,
) -> None:
    """Refuse options that lack another one, before any work is done."""
    if keep is not None and show is not None:
        raise UsageError("--show and --keep each name an arrangement; give one of them")
    if swap and keep is None and show is None:
        raise UsageError("--swap: say in which arrangement, with --show N or --keep N")
    if (keep is None) != (file is None):
        raise UsageError("--keep and --as go together: --keep 2 --as my-star-2.toml")
    if plan is not None and keep is None:
        raise UsageError("--plan: say which arrangement to keep, with --keep N --as FILE.toml")
    if grey and picture is None:
        raise UsageError("--grey: say where to draw, with --picture FILE.png")
    if picture is not None:
        from scrapstore.report.picture_file import checked_picture_path

        checked_picture_path(picture)


def _drawn(
    call: Call,
    store: "Store",
    arranged: "Arranged",
    chosen: "tuple[int, CuttableWay] | None",
    picture: Path | None,
    *,
    grey: bool,
) -> Path | None:
    """Draw the arrangements, or the chosen one alone; return where, None where there is none."""
    ways = [*enumerate(arranged.ways, 1)] if chosen is None else [chosen]
    if picture is None or not ways:
        return None
    from scrapstore.report.arrangement_sheet import write_arrangements

    return write_arrangements(
        store, arranged, ways, picture, call.settings, grey=grey, alone=chosen is not None
    )


def _planned(call: Call, store: "Store", file: Path, name: str) -> "Plan":
    """Match the project file and keep the answer as a plan."""
    from scrapstore.actions.match import match_project
    from scrapstore.actions.plan import keep_answer
    from scrapstore.json_output.match import match_document

    result = match_project(store, file, settings=call.settings)
    short = [one for one in result.supplies if one.short and one.need in result.project.arranged]
    if short:
        said = f"{short[0].need}: {short[0].wanted - short[0].short} of {short[0].wanted}"
        raise PlanError(
            f"{file.name} is written, but its match lacks {said}, and no plan was kept; "
            f"try scrapstore match {file.name} --try-harder 4"
        )
    return keep_answer(store, result, match_document(result), name, call.settings)


def _text(arranged: "Arranged", project: Path) -> Shown:
    from scrapstore.report.arrange_text import (
        how_many,
        impossible_lines,
        lies_words,
        scheme_lines,
        why_words,
    )

    parts: list[Shown] = [how_many(arranged)]
    impossible = list(impossible_lines(arranged))
    if impossible:
        parts.append("Not possible:")
        parts += [f"  {line}" for line in impossible]
    if arranged.ways:
        parts.append(
            "Next: --pin 'round 1=FABRIC' settles a place, --show 2 --swap 'A=B' swaps two, "
            "--picture FILE.png draws them (--grey for value alone), --more 6 shows more, "
            f"--keep 2 --as {project.stem}-2.toml takes one."
        )
        rows = [
            (
                str(number),
                ", ".join(way.arrangement.schemes),
                f"{lies_words(way)}. {why_words(way)}",
            )
            for number, way in enumerate(arranged.ways, 1)
        ]
        heads = ("no.", "scheme", "what lies where, and why")
        parts += ["", table(heads, rows, right=("no.",)), "\nWays that can be cut:"]
        parts += [f"  {line}" for line in scheme_lines(arranged)]
    if arranged.notes:
        parts.append("Mind:")
        parts += [f"  {note}" for note in arranged.notes]
    return stack(*parts)


def _numbers(way: "CuttableWay", places: Sequence[int]) -> str:
    """Return the numbers of the scraps, lots and lengths that give these places."""
    pieces = [way.pieces[place] for place in places]
    scraps = sorted({piece.scrap for piece in pieces if piece.scrap is not None})
    lots = sorted({piece.lot for piece in pieces if piece.lot is not None})
    lengths = sorted({piece.length for piece in pieces if piece.length is not None})
    others = [*(f"ready-cut {lot}" for lot in lots), *(f"length {one}" for one in lengths)]
    return ", ".join([*map(str, scraps), *others])


def _one(arranged: "Arranged", number: int, way: "CuttableWay") -> Shown:
    """Return one arrangement in full: what lies where, and what each cloth gives."""
    from scrapstore.report.arrange_text import why_words

    job, arrangement = arranged.job, way.arrangement
    rows = [(where, cloth) for where, cloth in arrangement.blocks]
    used: dict[str, list[int]] = {}
    for place, cloth in enumerate(arrangement.cloth_of):
        used.setdefault(job.cloths[cloth].word, []).append(place)
    cloths = [
        (
            word,
            str(len(places)),
            _numbers(way, places),
            ", ".join(job.top.places[p].position for p in places),
        )
        for word, places in used.items()
    ]
    return stack(
        f"Arrangement {number}: {', '.join(arrangement.schemes)}. {why_words(way)}",
        table(("where", "what lies there"), rows),
        "",
        table(("cloth", "pieces", "scraps", "positions"), cloths, right=("pieces",)),
    )
