"""Measure."""

from scribeline.web.shell import StepPage, section, text


def build(page: StepPage) -> None:
    """Build the page."""
    with section("Measure"):
        text(f"Not written yet: {page.build}")
