"""Every page: its address and the function that builds it. A step of the job is built on a `StepPage`."""

from collections.abc import Callable

from scribeline.web.pages import files, home, learn, mark_out, measure, plan, prove, rubbing, settings, work_out
from scribeline.web.pages import help as help_page
from scribeline.web.shell import StepPage

PAGES: dict[str, Callable[..., object]] = {
    "/": home.build,
    "/files/{build}": files.build_page,
    "/settings": settings.build,
    "/help": help_page.build,
    "/help/{page:path}": help_page.build,
}

STEP_PAGES: dict[str, tuple[str, Callable[[StepPage], object]]] = {
    "measure": ("Measure", measure.build),
    "measure/rubbing": ("Photo of a rubbing", rubbing.build),
    "work-out": ("Work out", work_out.build),
    "plan": ("Plan", plan.build),
    "mark-out": ("Mark out", mark_out.build),
    "prove": ("Prove", prove.build),
    "learn": ("Learn", learn.build),
}
