"""How this device wants the pages."""

from scribeline.web.shell import begin_page, frame, section, text
from scribeline.web.state import State


def build(state: State) -> None:
    """Build the page."""
    begin_page("Settings")
    with frame("Settings"), section("This device"):
        text("Not written yet")
