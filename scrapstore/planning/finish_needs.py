"""What a project needs beside its pieces, and the sizes of its top; by its file and settings."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from scrapstore.errors import ShapeError
from scrapstore.finishing import (
    BackWish,
    BindingWish,
    FinishNeeds,
    FinishSizes,
    QuiltingWish,
    binding_length,
    plan_sizes,
    strip_width,
    strips_across,
    zip_length,
)
from scrapstore.projects import Project, top_outline
from scrapstore.settings import Settings

__all__ = [
    "BindingChanges",
    "as_asked",
    "finish_needs",
    "needs_of",
    "plumpness_of",
    "project_sizes",
    "strips_width",
]


def project_sizes(
    project: Project,
    settings: Settings,
    *,
    measured: Sequence[float] | None = None,
    trim: Sequence[float] | None = None,
) -> FinishSizes:
    """Return the sizes of the top of a project; see `finishing.plan_sizes`.

    Raises ShapeError where the project does not say how large the top is.
    """
    top = top_outline(project)
    if top is None:
        msg = f"{project.name}: the file does not say how large the top is; add [cushion] with"
        raise ShapeError(f"{msg} width and height to it, or give --size")
    quilting = project.quilting or QuiltingWish()
    drawn_in = settings.quilting_shrinkage if quilting.shrinkage is None else quilting.shrinkage
    return plan_sizes(
        top,
        allowance=project.seam_allowance,
        seam=project.cover_seam,
        binding=None if project.binding is None else project.binding.finished_width,
        shrinkage=drawn_in,
        measured=measured,
        trim=trim,
    )


def finish_needs(project: Project, settings: Settings) -> FinishNeeds:
    """Return what the file of a project asks for beside its pieces, before anything is measured.

    Nothing is needed that has no table in the file: [quilting], [back], [binding].
    """
    if not (project.quilting or project.back or project.binding):
        return FinishNeeds()
    return needs_of(project, project_sizes(project, settings), settings)


@dataclass(frozen=True, kw_only=True)
class BindingChanges:
    """What is asked of a binding in place of what the file says; None leaves it."""

    seam: float | None = None
    finished_width: float | None = None
    bias: bool = False

    def of(self, binding: BindingWish) -> BindingWish:
        """Return `binding` with these changes."""
        return replace(
            binding,
            seam=binding.seam if self.seam is None else self.seam,
            finished_width=binding.finished_width
            if self.finished_width is None
            else self.finished_width,
            bias=self.bias or binding.bias,
        )


def as_asked(project: Project, changes: BindingChanges) -> Project:
    """Return the project with what was asked for in place of what its file says.

    One that says neither a back nor a binding is bound, and a turned cover may be sewn with
    another seam.
    """
    if project.binding is None and project.back is not None and changes.finished_width is None:
        own = project.back.seam if changes.seam is None else changes.seam
        return replace(project, back=replace(project.back, seam=own))
    return replace(project, binding=changes.of(project.binding or BindingWish()))


def needs_of(project: Project, sizes: FinishSizes, settings: Settings) -> FinishNeeds:
    """Return the same for sizes that may have been measured."""
    layer = length = width = count = None
    quilting, binding, back = project.quilting, project.binding, project.back
    if quilting is not None:
        over = settings.quilting_overhang if quilting.overhang is None else quilting.overhang
        layer = sizes.layer(over)
    if binding is not None:
        length = binding_length(sizes.trimmed, binding.finished_width, binding.seam)
        width = strips_width(binding)
        count = strips_across(length, project.usable_width, width)
    return FinishNeeds(
        batting=layer if quilting and quilting.batting else None,
        backing=layer if quilting and quilting.backing else None,
        binding_length=length,
        strip_width=width,
        binding_strips=count,
        bias=binding is not None and binding.bias,
        form=sizes.form(plumpness_of(back, settings)) if back else None,
        zip_length=zip_length(sizes.pocket.bounds[1]) if back and back.kind == "zip" else None,
    )


def strips_width(binding: BindingWish) -> float:
    """Return how wide the strips of a binding are cut."""
    return binding.strip_width or strip_width(binding.finished_width, binding.seam, binding.turn)


def plumpness_of(back: BackWish | None, settings: Settings) -> float:
    """Return how much larger than the pocket the form is."""
    own = None if back is None else back.plumpness
    return settings.plumpness if own is None else own
