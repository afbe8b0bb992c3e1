"""``plan``: keep answers, so that several projects share one store."""

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command, group
from scrapstore.cli.match_options import PROJECT, MatchOptions
from scrapstore.cli.tables import Shown, stack, table
from scrapstore.errors import PlanError
from scrapstore.units import format_cut

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scrapstore.json_output.plans import PlanOut
    from scrapstore.planning.result import MatchResult
    from scrapstore.store import Plan, ReadyCut

__all__ = ["app", "sheets_folder"]

_Name = Annotated[str, typer.Argument(metavar="PLAN", help="Its name or number.")]


app = group("plan", "Kept plans: cloth set aside for a project.")


@command(app, "keep")
def keep(
    call: Call,
    project: PROJECT,
    options: MatchOptions,
    name: Annotated[
        str | None,
        typer.Option("--name", metavar="NAME", help="What to call it (else the project's name)."),
    ] = None,
    answer: Annotated[
        int,
        o.number_option("--answer", "Which of the answers that match --answers shows.", most=3),
    ] = 1,
) -> None:
    """Match a project, keep the answer, and set its scraps and ready-cut pieces aside.

    All of it is set aside or nothing: when something was taken meanwhile, you are told. Given
    the options that match was given, over the same stock, it is the answer that match showed.
    """
    with options.matched(call, project, answer, stoppable=False) as (store, found):
        from scrapstore.actions.plan import keep_answer
        from scrapstore.cli.match import kept_line, match_text
        from scrapstore.json_output.match import match_document
        from scrapstore.json_output.plans import plan_out

        if answer > len(found):
            msg = f"answer {answer}: there are {len(found)} clearly different; keep one of those"
            raise PlanError(msg)
        result = found[answer - 1]
        plan = keep_answer(store, result, match_document(result), name, call.settings)
    call.show(plan_out(plan), lambda: match_text(result, call))
    call.say(kept_line(plan, call))


@command(app, "list")
def list_(call: Call) -> None:
    """List the kept plans."""
    from scrapstore.actions.plan import list_plans
    from scrapstore.json_output.plans import plans_out

    kept = call.in_store(list_plans)
    out = plans_out(kept)
    call.show(
        out,
        lambda: table(
            ("plan", "name", "project", "pieces", "cut", "holds"),
            [
                (
                    str(plan.id),
                    plan.name,
                    plan.project,
                    f"{plan.answer.together.covered} of {plan.answer.together.wanted}"
                    if plan.answer
                    else "cannot be read",
                    _counts(plan),
                    held_words(plan, call),
                )
                for plan in out.plans
            ],
            right=("plan",),
            none="No plan is kept. To keep one: scrapstore plan keep PROJECT.toml.",
        ),
    )


@command(app, "show")
def show(call: Call, name: _Name) -> None:
    """Show a kept plan: the whole answer as the match gave it."""
    from scrapstore.actions.plan import answer_again
    from scrapstore.json_output.match import positions_out
    from scrapstore.json_output.plans import readable_plan_out

    with call.open_store() as store:
        plan, result, _ = answer_again(store, name, call.settings)
        out = readable_plan_out(plan)
        if result is not None and out.answer is not None:
            out.answer.positions = positions_out(result.places)  # as they are now
    call.show(out, lambda: _text(out, _became_words(plan, result), result, call))


def sheets_folder(name: str) -> Path:
    """Return where the sheets of a plan go unless that is said."""
    plain = re.sub(r"[^\w]+", "-", name).strip("-") or "plan"
    return Path(f"{plain}-sheets")


@command(app, "sheets")
def sheets(
    call: Call,
    name: _Name,
    folder: Annotated[
        Path | None,
        typer.Argument(
            metavar="FOLDER",
            help="Where to write them (else a folder named after the plan).",
        ),
    ] = None,
) -> None:
    """Write the cutting sheets of a kept plan anew."""
    from scrapstore.actions.plan import answer_again, sheets_again
    from scrapstore.json_output.plans import SheetsOut

    with call.open_store() as store:
        plan, result, _ = answer_again(store, name, call.settings)
        called, became = plan.name, _became_words(plan, result)
        files = sheets_again(store, name, call.settings, folder or sheets_folder(called))
    out = SheetsOut(files=files)
    if became:
        call.say(became)
    call.show(out, lambda: f"Cutting sheets of {called!r}: open {files[0].resolve()} in a browser.")


@command(app, "picture")
def picture(
    call: Call,
    name: _Name,
    file: Annotated[
        Path,
        typer.Argument(metavar="FILE", help="FILE.png, .jpg, .svg, .html or .pdf: as it ends."),
    ],
    grey: Annotated[
        bool, typer.Option("--grey", help="In greys as light as the cloth, to judge values.")
    ] = False,
) -> None:
    """Draw the top of a kept plan in its own cloth, to see it before it is cut.

    Every piece shows the part of its scrap's photo that it is cut from, as it will lie. For
    projects that began with a design, whose pieces have places.
    """
    from scrapstore.actions.plan import picture_again
    from scrapstore.json_output.plans import PlanPictureOut

    written = call.in_store(picture_again, name, call.settings, file, grey=grey)
    call.show(PlanPictureOut(picture=written), lambda: f"Picture: {written}")


@command(app, "done")
def done(
    call: Call,
    name: _Name,
    left: Annotated[
        list[str] | None,
        typer.Option(
            "--left", metavar="'N PIECE'", help="Pieces that were left over: '2 A, C3' (see cut)."
        ),
    ] = None,
) -> None:
    """Close a kept plan whose pieces are sewn: what is set aside for it is used up.

    Cut it first (cut PLAN). Pieces that were left over are ready-cut pieces for the next project.
    The trimmings of a project go in with one photo: log PHOTO --from-project NAME.
    """
    from scrapstore.actions.plan import finish_kept, left_over
    from scrapstore.json_output.plans import plan_out

    named = [part.strip() for text in left or () for part in text.split(",") if part.strip()]
    kept = call.in_store(left_over, name, named)
    plan = call.in_store(finish_kept, name, named)
    out = plan_out(plan)
    rest = f", but for {', '.join(named)}" if named else ""
    call.show(out, lambda: _ended(f"Closed {out.name!r}", out, call, f"used up now{rest}"))
    if kept:
        call.say(f"Left over: {_left_words(kept, call)}.")
    call.say(f"To log the trimmings in one go: log PHOTO --from-project {plan.project!r}")


@command(app, "release")
def release(call: Call, name: _Name) -> None:
    """Let go of a kept plan; what is set aside for it is free again."""
    from scrapstore.actions.plan import release_kept
    from scrapstore.json_output.plans import plan_out

    plan = call.in_store(release_kept, name)
    out = plan_out(plan)
    call.show(out, lambda: _ended(f"Released {out.name!r}", out, call, "free again"))


def _left_words(left: "Sequence[tuple[int, ReadyCut]]", call: Call) -> str:
    """Say of which cloth the pieces are that were left over, and where they lie."""
    from scrapstore.sentences import several
    from scrapstore.shapes import label_in

    return several(
        [
            f"{count} × {label_in(lot, call.units)} ("
            + (f"of {lot.fabric.name}" if lot.fabric else lot.shown_family or "no colour yet")
            + (f", kept in {lot.place})" if lot.place else ")")
            for count, lot in left
        ]
    )


def _ended(what: str, plan: "PlanOut", call: Call, how: str) -> Shown:

    numbers = f" (scraps {', '.join(map(str, plan.scraps))})" if plan.scraps else ""
    return f"{what}; {held_words(plan, call)} {how}{numbers}."


def held_words(plan: "PlanOut", call: Call) -> str:
    """Say what a plan holds, such as: 2 scraps, ready-cut pieces no. 4 and 9 in of length 3."""
    from scrapstore.sentences import several

    scraps = len(plan.scraps)
    words = [f"{scraps} scrap{'' if scraps == 1 else 's'}"] if scraps else []
    if plan.ready:
        words.append(f"ready-cut pieces no. {', '.join(map(str, plan.ready))}")
    words += [
        f"{format_cut(inches, call.units, 1 / 16)} of length {number}"
        for number, inches in plan.yardage.items()
    ]
    if plan.binding:
        many = "" if len(plan.binding) == 1 else "s"
        words.append(f"binding strip{many} {', '.join(map(str, plan.binding))}")
    return several(words or ["nothing"])


def _counts(plan: "PlanOut") -> str:
    """Return ``9, 1 spoilt``: how many pieces were cut of a plan; nothing before the first."""
    states = [one.state for one in plan.became.values()]
    lost = [f"{states.count(one)} {one}" for one in ("spoilt", "not cut") if one in states]
    return ", ".join([str(states.count("cut")), *lost]) if states else ""


def _became_words(plan: "Plan", result: "MatchResult | None") -> str:
    """Say by label what is cut, spoilt, not cut and still to be cut; nothing before the first."""
    from scrapstore.planning.cut_sources import cut_sources
    from scrapstore.report.ruler_words import labels_text

    if not plan.pieces:
        return ""
    labels: dict[str, list[str]] = {}
    for label, piece in plan.pieces.items():
        labels.setdefault(piece.state, []).append(label)
    labels["still to cut"] = [
        label
        for source in (cut_sources(result) if result else ())
        for label in source.labels
        if label not in plan.pieces
    ]
    words = [
        f"{state.capitalize()}: {labels_text(labels[state])}"
        for state in ("cut", "spoilt", "not cut", "still to cut")
        if labels.get(state)
    ]
    return f"{'. '.join(words)}."


def _text(plan: "PlanOut", became: str, result: "MatchResult | None", call: Call) -> Shown:
    from scrapstore.cli.match import match_text

    head = (
        f"{plan.name} ({plan.project}), kept {plan.created:%Y-%m-%d}; holds "
        f"{held_words(plan, call)}.\n"
    )
    answer = _from_document(plan) if result is None else match_text(result, call)
    see = f"\nTo see the top in its cloth: plan picture {plan.name!r} FILE.png."
    placed = result is not None and result.places
    return stack(head, *([f"{became}\n"] if became else []), answer, *([see] if placed else []))


def _from_document(plan: "PlanOut") -> Shown:
    """Return what an older version kept of the answer, and what it did not."""
    answer = plan.answer
    assert answer is not None
    missing = (
        "An earlier version kept this plan, without how its scraps are cut: there are no cuts and "
        f"no sheets of it. To have them: plan release {plan.name!r}, then match the project again."
    )
    pieces = [
        (p.name, p.role, str(p.wanted), str(p.ready), str(p.scraps), str(p.yardage))
        for p in answer.pieces
    ]
    cuts = [
        (
            str(cut.id),
            cut.name or cut.fabric or "",
            cut.place or "",
            ", ".join(f"{count} {name}" for name, count in sorted(cut.counts.items())),
        )
        for cut in answer.scraps
    ]
    return stack(
        f"{missing}\n",
        table(
            ("piece", "role", "wanted", "ready", "scraps", "yardage"),
            pieces,
            right=("wanted", "ready", "scraps", "yardage"),
        ),
        answer.statement,
        *(f"ready-cut pieces no. {use.id}: {use.count} {use.piece}" for use in answer.ready),
        table(("scrap", "what", "place", "pieces"), cuts, right=("scrap",)),
        *(line for role in answer.yardage for line in role.instructions),
        *answer.notes,
    )
