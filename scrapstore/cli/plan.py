"""``plan``: keep answers, so that several projects share one store."""

from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli.asking import AIMS, EFFORT, PROJECT, PROVE, SEED, USUAL_AIMS, asked
from scrapstore.cli.base import Call, command, group

if TYPE_CHECKING:
    from rich.console import RenderableType

    from scrapstore.actions.plans import PlanOut

__all__ = ["register"]

_Name = Annotated[str, typer.Argument(metavar="PLAN", help="Its name or number.")]


def register(app: typer.Typer) -> None:
    """Add the commands to `app`."""
    plan = group(app, "plan", "Kept plans: cloth set aside for a project.")
    command(plan, "keep")(keep)
    command(plan, "list")(list_)
    command(plan, "show")(show)
    command(plan, "done")(done)
    command(plan, "drop")(drop)


def keep(
    call: Call,
    project: PROJECT,
    name: Annotated[
        str | None,
        typer.Option("--name", metavar="NAME", help="What to call it (else the project's name)."),
    ] = None,
    answer: Annotated[
        int,
        typer.Option(
            "--answer",
            metavar="N",
            min=1,
            max=3,
            help="Which of the answers that match --answers shows.",
        ),
    ] = 1,
    seed: SEED = 0,
    aims: AIMS = USUAL_AIMS,
    effort: EFFORT = 1.0,
    prove: PROVE = 0.0,
) -> None:
    """Match a project, keep the answer, and set its scraps and ready-cut pieces aside.

    All of it is set aside or nothing: when something was taken meanwhile, you are told. With the
    seed, aims, effort and proof that match was given, over the same stock, it is the answer that
    match showed.
    """
    with asked(call, project, answer, seed=seed, aims=aims, effort=effort, prove=prove) as (
        store,
        found,
    ):
        from scrapstore.actions.plans import keep_answer, plan_out
        from scrapstore.cli.match import kept_line, match_text
        from scrapstore.errors import PlanError

        if answer > len(found):
            msg = f"answer {answer}: there are {len(found)} clearly different; keep one of those"
            raise PlanError(msg)
        result = found[answer - 1]
        plan = keep_answer(store, result, name)
    call.show(plan_out(plan), lambda: match_text(result, call))
    call.say(kept_line(plan))


def list_(call: Call) -> None:
    """List the kept plans."""
    from scrapstore.actions.plans import list_plans, plans_out
    from scrapstore.cli.tables import table

    with call.open_store() as store:
        kept = list_plans(store)
    out = plans_out(kept)
    call.show(
        out,
        lambda: table(
            ("plan", "name", "project", "pieces", "scraps"),
            [
                (
                    str(plan.id),
                    plan.name,
                    plan.project,
                    f"{plan.answer.together.covered} of {plan.answer.together.wanted}",
                    ", ".join(map(str, plan.scraps)),
                )
                for plan in out.plans
            ],
            right=("plan",),
        ),
    )


def show(call: Call, name: _Name) -> None:
    """Show what a kept plan cuts from which scrap."""
    from scrapstore.actions.plans import plan_out, show_plan

    with call.open_store() as store:
        out = plan_out(show_plan(store, name))
    call.show(out, lambda: _text(out))


def drop(call: Call, name: _Name) -> None:
    """Drop a kept plan; what is still set aside for it is free again."""
    from scrapstore.actions.plans import drop_kept, plan_out

    with call.open_store() as store:
        plan = drop_kept(store, name)
    out = plan_out(plan)
    call.show(out, lambda: _dropped(out))


def done(call: Call, name: _Name) -> None:
    """Close a kept plan that has been cut: what is set aside for it is used up.

    What is left of a scrap is a new scrap: log a photo of the remnants, or type them with scrap add
    --parent NUMBER.
    """
    from scrapstore.actions.plans import finish_kept, plan_out

    with call.open_store() as store:
        plan = finish_kept(store, name)
    out = plan_out(plan)
    call.show(out, lambda: _finished(out))
    if out.scraps:
        call.say("Log what is left of them: log PHOTO, or scrap add --parent NUMBER --size …")


def _dropped(plan: "PlanOut") -> "RenderableType":
    from rich.text import Text

    return Text(f"Dropped {plan.name!r}; {_taken(plan)} free again.")


def _finished(plan: "PlanOut") -> "RenderableType":
    from rich.text import Text

    numbers = f" ({', '.join(map(str, plan.scraps))})" if plan.scraps else ""
    return Text(f"Closed {plan.name!r}; {_taken(plan)} used up now{numbers}.")


def _taken(plan: "PlanOut") -> str:
    scraps, lots = len(plan.scraps), len(plan.ready)
    words = [f"{scraps} scrap{'' if scraps == 1 else 's'}"]
    words += [f"{lots} ready-cut lot{'' if lots == 1 else 's'}"] if lots else []
    return f"{' and '.join(words)} {'is' if scraps == 1 and not lots else 'are'}"


def _text(plan: "PlanOut") -> "RenderableType":
    from rich.text import Text

    from scrapstore.cli.tables import stack, table

    pieces = [
        (p.name, p.role, str(p.wanted), str(p.ready), str(p.scraps), str(p.yardage))
        for p in plan.answer.pieces
    ]
    cuts = [
        (
            str(cut.id),
            cut.name or cut.fabric or "",
            cut.place or "",
            ", ".join(f"{count} {name}" for name, count in sorted(cut.counts.items())),
        )
        for cut in plan.answer.scraps
    ]
    return stack(
        Text(f"{plan.name} ({plan.project}), kept {plan.created:%Y-%m-%d}"),
        Text(""),
        table(
            ("piece", "role", "wanted", "ready", "scraps", "yardage"),
            pieces,
            right=("wanted", "ready", "scraps", "yardage"),
        ),
        Text(plan.answer.statement),
        table(("scrap", "what", "place", "pieces"), cuts, right=("scrap",)),
    )
