"""The notebook: every cylinder."""

from scribeline.tasks.notebook import list_builds
from scribeline.web.shell import begin_page, frame, link, section, step_url
from scribeline.web.state import State


def build(state: State) -> None:
    """Build the page."""
    begin_page("Cylinders")
    with frame("Cylinders"), section("In this notebook"):
        for one in list_builds(where=state.notebook):
            link(one.build.name, step_url(one.build.name, "measure"))
