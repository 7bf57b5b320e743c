"""Photo of a rubbing."""

from scribeline.web.shell import StepPage, section, text


def build(page: StepPage) -> None:
    """Build the page."""
    with section("Photo of a rubbing"):
        text(f"Not written yet: {page.build}")
