"""``match``: what a project can be cut from."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command
from scrapstore.cli.match_options import PROJECT, MatchOptions
from scrapstore.cli.tables import Shown, stack, table

if TYPE_CHECKING:
    from scrapstore.matching import Miss, Pieced
    from scrapstore.planning.allocate import Shortage
    from scrapstore.planning.result import MatchResult
    from scrapstore.planning.strip_cuts import RoleCuttings
    from scrapstore.store import Plan

__all__ = ["app", "kept_line", "match_text"]

_MOST_STEPS = 4
"""Cuts of a strip; one that takes more is described on the sheets alone."""


app = typer.Typer()


@command(app, "match")
def match(
    call: Call,
    project: PROJECT,
    options: MatchOptions,
    sheets: Annotated[
        Path | None,
        typer.Option(
            "--sheets",
            metavar="FOLDER",
            help="Where to write the cutting sheets (else a folder named after the project file).",
        ),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(
            "--picture",
            metavar="FILE",
            help="Draw the top in its own cloth, as plan picture does.",
        ),
    ] = None,
    no_sheets: Annotated[bool, typer.Option("--no-sheets", help="Write no sheets.")] = False,
    answers: Annotated[
        int,
        o.number_option(
            "--answers",
            "Show up to three clearly different answers side by side.",
            most=3,
        ),
    ] = 1,
    keep: Annotated[
        str | None,
        typer.Option("--keep", metavar="NAME", help="Keep this answer as a plan; see plan."),
    ] = None,
) -> None:
    """Tell what a project can be cut from, what stays short and what to buy.

    Looks through all that is available: ready-cut pieces first, then scraps; what they cannot give
    is planned as strips of full-width fabric. Ctrl-C ends the search and takes the best plan so
    far; once more, or with --keep, it stops with nothing done. With --json no sheets are written
    unless --sheets names a folder. With several answers, each has a folder of sheets of its own,
    --picture draws the first and --keep keeps it.
    """
    folder = None if no_sheets or (call.json and sheets is None) else sheets
    if folder is None and not no_sheets and not call.json:
        folder = _free_folder(call, project.stem)
    names = [""] if answers == 1 else [f"answer-{n}" for n in range(1, answers + 1)]
    _check_places([] if folder is None else [folder / name for name in names], picture)
    if picture is not None:
        from scrapstore.actions.project import read_project_file
        from scrapstore.planning.places import placed_design

        placed_design(read_project_file(project, call.settings))
    with options.matched(call, project, answers, stoppable=keep is None) as (store, found):
        from scrapstore.json_output.match import answers_out

        # Sheets first: cloth is not set aside for an answer whose sheets cannot be written.
        written, plan = [], None
        if folder is not None:
            from scrapstore.report.cutting_report import make_sheets

            for name, result in zip(names, found, strict=False):
                written.append(make_sheets(store, result, call.settings, folder / name)[0])
        if picture is not None:
            from scrapstore.report.plan_picture import write_top

            picture = write_top(store, found[0], picture, call.settings)
        if keep is not None:
            from scrapstore.actions.plan import keep_answer
            from scrapstore.json_output.match import match_document

            document = match_document(found[0])
            plan = keep_answer(store, found[0], document, keep, call.settings)
    call.show(answers_out(found), lambda: _text(found, answers, call))
    if plan is not None:
        call.say(kept_line(plan, call))
    for number, page in enumerate(written, 1):
        which = "" if answers == 1 else f" of answer {number}"
        call.say(
            f"Cutting sheets{which}: open {page.resolve()} in a browser, "
            "or print cutting-sheets.pdf beside it."
        )
    if picture is not None:
        call.say(f"Picture: {picture}")
    if len(found) > 1 and keep is None:
        call.say(f"Keep the second with: scrapstore plan keep {project} --answer 2")


def _check_places(folders: Sequence[Path], picture: Path | None) -> None:
    """Raise, before a match is looked for, where its sheets or picture cannot be written."""
    from scrapstore.report.folder import check_folder
    from scrapstore.report.picture_file import checked_picture_path

    for folder in folders:
        check_folder(folder)
    if picture is not None:
        checked_picture_path(picture)


def _free_folder(call: Call, name: str) -> Path:
    """Return where sheets go unless that is said: not where those of a kept plan are already."""
    folder = Path(f"{name}-sheets")
    if folder.is_dir():
        from scrapstore.actions.plan import list_plans
        from scrapstore.cli.plan import sheets_folder

        plans = call.in_store(list_plans)
        if folder in {sheets_folder(plan.name) for plan in plans}:
            return Path(f"{name}-match-sheets")
    return folder


def _text(found: Sequence["MatchResult"], asked_for: int, call: Call) -> Shown:

    from scrapstore.cli.answers import answers_text

    if asked_for == 1:
        return match_text(found[0], call)
    return stack(
        answers_text(found, asked_for, call),
        "\nAnswer 1:\n",
        match_text(found[0], call),
    )


def kept_line(plan: "Plan", call: Call) -> str:
    """Say what a kept plan holds."""
    from scrapstore.cli.plan import held_words
    from scrapstore.json_output.plans import plan_out

    return f"Kept as {plan.name!r}. Set aside for it: {held_words(plan_out(plan), call)}."


def match_text(result: "MatchResult", call: Call) -> Shown:
    """Return the answer as tables for a terminal eighty columns wide."""
    from rich.padding import Padding

    from scrapstore.planning.strip_cuts import strip_cuttings
    from scrapstore.report.answer_text import can_make, limit_words
    from scrapstore.shapes import label_in

    letter = result.project.letters
    supplies = {supply.need: supply for supply in result.supplies}
    pieces = table(
        ("", "piece", "role", "wanted", "ready-cut", "scraps", "yardage"),
        [
            (
                letter[piece.name],
                piece.name,
                piece.role,
                str(supplies[piece.name].wanted),
                str(supplies[piece.name].ready),
                str(supplies[piece.name].scraps),
                str(supplies[piece.name].short),
            )
            for piece in result.project.pieces
        ],
        right=("wanted", "ready-cut", "scraps", "yardage"),
    )
    parts: list[Shown] = [
        result.project.name,
        can_make(result, call.units),
        *(sentence for sentence in (limit_words(result),) if sentence),
        "",
        pieces,
    ]
    if result.scraps_looked_at < result.scraps_in_store:
        looked = f"{result.scraps_looked_at} of {result.scraps_in_store} scraps"
        if result.scraps_looked_at:
            parts.append(f"Looked at {looked}: enough to choose from.")
        elif any(supply.short for supply in supplies.values()):
            parts.append("No scrap can serve, by its size, grain, colour and fabric.")
    if result.ready:
        rows = [
            (
                str(use.lot.id),
                label_in(use.lot, call.units),
                f"{use.count} {letter[use.need]}{use.cut_up and f' {use.cut_up}'}",
                use.lot.place or "",
            )
            for use in result.ready
        ]
        parts += [
            "\nTake these ready-cut pieces first:",
            table(("no.", "what", "take", "place"), rows, right=("no.",)),
        ]
    if result.cuts:
        rows = [
            (
                str(cut.scrap.id),
                cut.scrap.title,
                cut.scrap.place or "",
                ", ".join(
                    f"{cut.counts[name]} {letter[name]}" for name in letter if name in cut.counts
                ),
            )
            for cut in result.cuts
        ]
        parts += [
            "\nCut from scraps:",
            table(("scrap", "what", "place", "pieces"), rows, right=("scrap",)),
        ]
    if result.misses or result.changes or result.pieced:
        parts.append("\nWhy short:")
        parts += [f"  {_miss_line(miss, letter, call)}" for miss in result.misses]
        if any(miss.lacking for miss in result.misses):
            parts.append("  Only what lies inside a scrap's margin counts.")
        parts += [f"  {_pieced_line(way, letter)}" for way in result.pieced]
        parts += [
            f"  {change.role}: with {change.what}, {change.more} more."
            for change in result.changes[:4]
        ]
    if result.shortages:
        parts.append("\nFrom yardage:")
        parts += [
            Padding(line.lstrip(), (0, 0, 0, 2 + len(line) - len(line.lstrip())))
            for shortage, plans in zip(result.shortages, strip_cuttings(result), strict=True)
            for line in _yardage_lines(shortage, plans, letter, call)
        ]
    if result.notes:
        parts.append("\nMind:")
        parts += [f"  {note}" for note in result.notes]
    return stack(*parts)


def _miss_line(miss: "Miss", letter: dict[str, str], call: Call) -> str:
    lacks = {
        "narrow": "{} too narrow",
        "short": "{} too short",
        "small": "{} too small both ways",
        "shape": "too small as it lies",
        "grain": "of unknown grain, which this piece must follow",
        "share": "large enough, but its fabric gives all that one fabric may",
        "set": "large enough, but its fabric gives no whole set",
    }[miss.reason].format(call.shown(miss.lacking) if miss.lacking else "")
    ways = [
        way
        for way, helps in (("with trimmed tips", miss.trimmed), ("off the grain", miss.off_grain))
        if helps
    ]
    fits = f"; it would fit {' or '.join(ways)}" if ways else ""
    return f"{letter[miss.need]}: scrap {miss.scrap_id} is {lacks}{fits}."


def _pieced_line(way: "Pieced", letter: dict[str, str]) -> str:
    one, other = way.scrap_ids
    where = f"scrap {one}" if one == other else f"scraps {one} and {other}"
    return f"{letter[way.need]}: {where} would give one, pieced from two with a seam in the middle."


def _yardage_lines(
    shortage: "Shortage", plans: "RoleCuttings", letter: dict[str, str], call: Call
) -> list[str]:
    from scrapstore.report.yardage_text import role_words

    words = role_words(shortage, letter, call.units, plans, most_steps=_MOST_STEPS)
    pieces = ", ".join(f"{count} {letter[name]}" for name, count in shortage.pieces.items())
    return [
        f"{shortage.role}: {pieces}.",
        *(f"  {line}" for line in words),
    ]
