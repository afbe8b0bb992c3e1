"""The finishing of a top in words, for the terminal and for the sheet."""

import shlex
from typing import TYPE_CHECKING

from scrapstore.cli.base import Call
from scrapstore.report.binding_picture import binding_drawing
from scrapstore.report.binding_text import (
    BINDING_CAUTION,
    binding_notes,
    lacking_lines,
    place_on_edge,
    reach_line,
    start_lines,
    strip_rows,
)
from scrapstore.report.finish_sheet import SHEET_EDGE, FinishSheet
from scrapstore.report.finish_text import (
    FINISH_CAUTIONS,
    FinishWords,
    back_lines,
    cover_lines,
    layer_lines,
    top_lines,
    work_steps,
)

if TYPE_CHECKING:
    from scrapstore.actions.finish import BindingResult, FinishResult, TopAsked

__all__ = ["finish_sheet", "finish_words"]

_COLUMNS = ("strip", "lies", "recut", "cut off", "join", "starts")


def finish_words(call: Call, result: "FinishResult", name: str) -> FinishWords:
    """Return what is said of a result; `name` is that of the project file or the plan."""
    top, binding, name = result.top, result.binding, shlex.quote(name)
    first: list[str] = []
    if top is not None:
        first += top_lines(top.sizes, name, call.units)
    if binding is not None:
        first += _reach(call, binding)
    if top is not None:
        first += _of_project(call, result, top, name)
    cautions = (BINDING_CAUTION,) if top is None else (BINDING_CAUTION, FINISH_CAUTIONS[-1])
    if binding is None:
        return FinishWords(tuple(first), cautions=cautions)
    plan, asked = binding.plan, binding.asked
    if not binding.strips:
        first.append("When they are cut, add them with binding add.")
        return FinishWords(tuple(first), cautions=cautions)
    notes = binding_notes(
        plan, asked.outline, [(strip.id, strip.width) for strip in binding.strips],
        seam=asked.seam, finished_width=asked.finished_width, units=call.units,
        started=asked.start is not None,
    )  # fmt: skip
    numbers = [strip.id for strip in binding.strips]
    return FinishWords(
        first=tuple(first),
        order="Lay the strips right side up, left to right, and join them in this order:"
        if plan.joins
        else "As far as they reach, they are joined like this:",
        columns=_COLUMNS,
        rows=tuple(strip_rows(plan, asked.outline, numbers, call.units)),
        notes=tuple(notes),
        cautions=cautions,
    )


def _reach(call: Call, result: "BindingResult") -> list[str]:
    """Say whether the binding reaches, and what to cut or where to start."""
    plan = result.plan
    if plan.extra is None:
        said = start_lines(plan, result.best, result.asked.outline, call.units)
    else:
        said = lacking_lines(
            plan, result.long_enough, result.lengths, call.units, call.settings.mark,
            usual_width=call.settings.usable_width, bias=result.asked.bias,
            some=bool(result.strips),
        )  # fmt: skip
    return [reach_line(plan, len(result.strips), call.units), *said]


def _of_project(call: Call, result: "FinishResult", top: "TopAsked", name: str) -> list[str]:
    """Say what is known of back, cover and layers."""
    units, needs = call.units, result.needs
    assert needs is not None, "they are worked out for every project"
    lines: list[str] = []
    if result.back is not None:
        lines += back_lines(result.back, result.sources, name, units, call.settings.mark)
    lines += cover_lines(top.sizes, needs, result.form, result.zip, units)
    lines += layer_lines(
        top.sizes, needs, result.batting, result.backing, units, call.settings.mark
    )
    return lines


def finish_sheet(call: Call, result: "FinishResult", words: FinishWords) -> FinishSheet:
    """Return the sheet of a result: its words, the edge as drawn, and the order of work."""
    top, binding = result.top, result.binding
    steps: tuple[str, ...] = ()
    if top is not None and result.needs is not None:
        start = None
        if binding is not None and binding.plan.joins:
            start = place_on_edge(binding.plan.joins[0], binding.asked.outline, call.units)
        project = top.project
        steps = tuple(
            work_steps(top.sizes, result.needs, project.back, project.binding, start, call.units)
        )
    return FinishSheet(
        title="Finishing" if top is None else f"Finishing: {top.project.name}",
        words=words,
        drawing=None
        if binding is None
        else binding_drawing(
            binding.asked.outline,
            binding.plan,
            [strip.id for strip in binding.strips],
            binding.asked.hems,
            across=SHEET_EDGE,
        ),
        steps=steps,
        cautions=FINISH_CAUTIONS,
        paper=call.settings.page,
    )
