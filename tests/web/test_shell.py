"""The frame around the pages: steps, the cylinder's name, undo and redo, refusals."""

from pathlib import Path

import pytest
from nicegui.testing import User

from scribeline.web.shell import STEPS, step_url
from scribeline.web.state import State
from tests.web.simulation import simulated


@pytest.mark.parametrize("step", [step for step, _ in STEPS])
def test_every_step_names_the_cylinder(notebook: Path, step: str) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", step))
        await user.should_see("kart")
        await user.should_see("revision 1")

    simulated(notebook, walk)


def test_a_cylinder_that_is_not_there_is_said_so(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("nobody", "measure"))
        await user.should_see("No such cylinder")
        await user.should_see("All cylinders")

    simulated(notebook, walk)


def test_an_edit_can_be_undone_and_redone_from_the_head(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "measure"))
        was = state.hub.desk("kart").document["record"]["name"]
        from scribeline.web.desk import OpenDesk

        other = OpenDesk(state.hub, "kart", "phone")
        other.edit("record.name", "another", "name another")
        user.find("Undo").click()
        assert state.hub.desk("kart").document["record"]["name"] == was
        user.find("Redo").click()
        assert state.hub.desk("kart").document["record"]["name"] == "another"

    simulated(notebook, walk)
