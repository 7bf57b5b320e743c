"""Work out."""

from scribeline.web.shell import StepPage, section, text


def build(page: StepPage) -> None:
    """Build the page."""
    with section("Work out"):
        text(f"Not written yet: {page.build}")
