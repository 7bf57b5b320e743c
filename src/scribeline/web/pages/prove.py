"""Prove."""

from scribeline.web.shell import StepPage, section, text


def build(page: StepPage) -> None:
    """Build the page."""
    with section("Prove"):
        text(f"Not written yet: {page.build}")
