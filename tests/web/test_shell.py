"""The frame around the pages: steps, the cylinder's name, undo and redo, refusals."""

import gc
from pathlib import Path

import pytest
from nicegui import ui
from nicegui.testing import User

from scribeline.errors import NotebookError
from scribeline.tasks.desk import edit
from scribeline.web.desk import OpenDesk
from scribeline.web.shell import STEPS, button, say, step_url
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
        await user.open(step_url("karrt", "plan"))
        await user.should_see("No such cylinder")
        await user.should_see("All cylinders")
        await user.should_see("Did you mean")
        assert step_url("kart", "plan") in [one.props.get("href") for one in user.find(kind=ui.element).elements]
        await user.should_not_see("scribeline notebook")
        user.find("Begin measuring karrt").click()
        await user.should_see("no revision kept yet")
        assert state.hub.desk("karrt").document["record"]["name"] == "karrt"

    simulated(notebook, walk)


def test_a_button_may_take_its_own_place_away_and_say_so(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        def page() -> None:
            with ui.element("div") as place:

                def away() -> None:
                    place.delete()
                    gc.collect()
                    say("taken away")

                button("Away", away)

        ui.page("/away")(page)
        await user.open("/away")
        user.find("Away").click()
        await user.should_see("taken away")

    simulated(notebook, walk)


def test_an_edit_can_be_undone_and_redone_from_the_head(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "measure"))
        was = state.hub.desk("kart").document["record"]["name"]
        other = OpenDesk(state.hub, "kart", "phone")
        other.edit("record.name", "another", "name another")
        user.find("Undo").click()
        assert state.hub.desk("kart").document["record"]["name"] == was
        user.find("Redo").click()
        assert state.hub.desk("kart").document["record"]["name"] == "another"

    simulated(notebook, walk)


def test_words_beside_undo_are_shown_as_they_are(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "learn"))
        label = 'name "left" of=\\ <b>it</b>'
        OpenDesk(state.hub, "kart", "phone").edit("record.name", "left", label)
        (undo,) = user.find("Undo").elements
        assert (undo.props["title"], undo.props["aria-label"]) == (f"Undo: {label}", f"Undo: {label}")

    simulated(notebook, walk)


def test_a_step_that_breaks_leaves_the_way_to_the_others(notebook: Path, caplog: pytest.LogCaptureFixture) -> None:
    """What another program put into the work in hand may be of any shape."""

    async def walk(user: User, state: State) -> None:
        OpenDesk(state.hub, "kart", "program").edit("record", {"cylinder": "soup", "ports": 7}, "soup")
        await user.open(step_url("kart", "measure"))
        await user.should_see("This page broke")
        await user.should_see("Kept: everything that you entered before.")
        caplog.clear()  # that the fault is told to whoever looks at the server is meant
        user.find("Undo").click()
        await user.open(step_url("kart", "measure"))
        await user.should_not_see("This page broke")

    simulated(notebook, walk)


def test_what_a_button_is_refused_with_is_said_and_not_piled_up(
    notebook: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """A notebook that may only be read: the page says so, whichever part of it wanted to write."""

    def refuses(*args: object, **kwargs: object) -> bool:
        raise NotebookError("writing is not allowed by the file\n    kept: nothing of this\n    what to do: allow it")

    async def walk(user: User, state: State) -> None:
        steps = [{"do": "raise exhaust roof", "at": "exhaust", "up_mm": 0.5}]
        edit("kart", "plan", {"steps": steps}, device="tests", label="a plan", where=state.notebook)
        await user.open(step_url("kart", "plan"))
        monkeypatch.setattr(OpenDesk, "edit", refuses)
        for _ in range(2):
            user.find("Take away", kind=ui.button).click()
        await user.should_see("writing is not allowed by the file")
        await user.should_see("what to do: allow it")
        assert len(user.find("That did not work").elements) == 1
        caplog.clear()  # it was logged, too

    simulated(notebook, walk)
