"""The documents of scribeline, as pages."""

from scribeline.web.shell import begin_page, frame, section, text
from scribeline.web.state import State


def build(state: State, page: str = "") -> None:
    """Build the page."""
    begin_page("Help")
    with frame("Help"), section("Help"):
        text(f"Not written yet: {page}")
