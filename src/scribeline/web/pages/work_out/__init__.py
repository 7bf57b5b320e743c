"""Work out: what was measured, drawn, turned and worked out; edges that can be held, numbers that open."""

from scribeline.web.pages.work_out.bench import WorkOut
from scribeline.web.shell import StepPage


def build(page: StepPage) -> None:
    """Build the page."""
    WorkOut(page)
