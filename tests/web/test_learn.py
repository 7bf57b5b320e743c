"""The page Learn with a simulated user: choosing, foretelling, setting beside, going back, lessons."""

import asyncio
import shutil
import threading
from pathlib import Path
from typing import Any

import pytest
from nicegui import ui
from nicegui.testing import User

from scribeline.tasks.desk import begin_build
from scribeline.tasks.history import Timeline, timeline
from scribeline.tasks.ledger import ledger_of, write_lesson
from scribeline.web.pages.learn import book
from scribeline.web.shell import step_url
from scribeline.web.state import State
from tests.lives import lived
from tests.web.at_work import until
from tests.web.simulation import simulated


@pytest.fixture(scope="module")
def life(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return lived(tmp_path_factory.mktemp("life"))


@pytest.fixture
def notebook(life: Path, tmp_path: Path) -> Path:
    """A copy of a notebook with a cylinder that has a history."""
    return Path(shutil.copy(life, tmp_path / "notebook.sqlite"))


def field(user: User, label: str) -> ui.input:
    (found,) = [one for one in user.find(ui.input).elements if one.props.get("label") == label]
    return found


def chosen(user: User, label: str) -> ui.select:
    (found,) = [one for one in user.find(ui.select).elements if one.props.get("label") == label]
    return found


def station(user: User, number: int) -> ui.button:
    (found,) = user.find(kind=ui.button, marker=f"revision-{number}").elements
    return found


def told(user: User) -> str:
    """All that is written on the page as HTML."""
    return " ".join(one.content for one in user.find(ui.html).elements)


def test_a_history_that_took_long_to_read_does_not_hide_what_came_meanwhile(
    notebook: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, ended, slow = [], [], threading.Event()

    def slow_at_first(*args: Any, **kwargs: Any) -> Timeline:
        begun.append(args)
        found = timeline(*args, **kwargs)
        if len(begun) == 1:
            assert slow.wait(180.0)
        ended.append(args)
        return found

    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "learn"))
        await until(lambda: len(begun) == 1)
        write_lesson("kart", "Files first.", author="phone", where=state.notebook)
        await until(lambda: "Files first." in told(user))
        slow.set()
        await until(lambda: len(ended) >= 2)
        await asyncio.sleep(0.5)  # it has shown what it read, if it wanted to
        assert "Files first." in told(user)

    # the page first shows what this cylinder's own history says, read while it is built
    monkeypatch.setattr(
        book, "timeline", lambda *a, **k: (slow_at_first if k.get("everybody", True) else timeline)(*a, **k)
    )
    simulated(notebook, walk)


def test_two_revisions_are_chosen_on_the_line_and_laid_over_each_other(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "learn"))
        assert "revision 2, 0.65 mm off the top" in told(user)
        assert station(user, 3).props["aria-pressed"] == "true"
        assert station(user, 1).props["aria-pressed"] == "false"
        await until(lambda: "What was read differently" in told(user), "the comparison did not come")
        assert "The bore: revision 2 broken, revision 3 full" in told(user)
        user.find(marker="revision-1").click()
        await until(lambda: "The bore: revision 3 broken, revision 1 full" in told(user), "the other pair did not come")
        assert chosen(user, "Full lines: the later").value == 1
        assert "deck clearance at top dead centre" in told(user)

    simulated(notebook, walk)


def test_the_address_remembers_which_two(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "learn", **{"from": "1", "to": "2"}))
        assert "is-before" in station(user, 1)._classes
        assert "is-after" in station(user, 2)._classes
        await until(lambda: "Section: revision 1 broken, revision 2 full" in told(user), "the comparison did not come")

    simulated(notebook, walk)


def test_what_is_expected_is_written_down_and_set_beside(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "learn"))
        field(user, "What is foretold").value = "idle speed"
        field(user, "Unit").value = "rpm"
        for label, value in (("Value you expect", "1200"), ("At least", "11oo"), ("At most", "1300")):
            field(user, label).value = value
        user.find("Write it down").click()
        await user.should_see("That did not work")
        assert len(ledger_of("kart", where=notebook).promises) == 10
        assert field(user, "What is foretold").value == "idle speed"  # nothing typed is lost
        field(user, "At least").value = "1100"
        user.find("Write it down").click()
        await until(lambda: len(ledger_of("kart", where=notebook).promises) == 11, "it was not kept")
        kept = ledger_of("kart", where=notebook).promises[-1]
        assert (kept.prediction.what, kept.prediction.low, kept.prediction.unit) == ("idle speed", 1100.0, "rpm")
        await until(lambda: "idle speed: predicted 1200 rpm (1100 to 1300), not" in told(user), "it is not shown")
        chosen(user, "Prediction").value = kept.number
        field(user, "Measured").value = "1410"
        field(user, "Its +/-").value = "50"
        user.find("Set this value beside").click()
        await until(lambda: "210 rpm more, outside the band" in told(user), "it was not set beside")

    simulated(notebook, walk)


def test_a_lesson_is_kept_and_goes_along_as_a_page(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "learn"))
        assert "Solder &lt;in&gt; four places first." in told(user)
        area = field(user, "A lesson")
        area.value = "Deburr every port edge."
        user.find("Keep this lesson").click()
        await until(lambda: "Deburr every port edge." in told(user), "the lesson was not kept")
        await until(lambda: area.value == "", "the field was not emptied")
        user.find("Take it all along as one page").click()
        response = await user.download.next()
        assert "Deburr every port edge." in response.text
        assert "Do not cut metal to it." in response.text

    simulated(notebook, walk)


def test_going_back_is_an_edit_that_can_be_undone(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "learn", **{"from": "1", "to": "3"}))
        was = state.hub.desk("kart").document["record"]
        user.find("Take revision 1 in hand again").click()
        now = state.hub.desk("kart")
        assert now.document["record"]["cylinder"]["deck_clearance_at_tdc_mm"]["value"] == 0.62
        assert now.undoable is not None
        assert now.undoable.label == "back to revision 1"
        assert now.revision_number == 3  # the history is as it was
        user.find("Undo").click()
        assert state.hub.desk("kart").document["record"] == was

    simulated(notebook, walk)


def test_a_cylinder_without_a_history_says_how_it_begins(tmp_path: Path) -> None:
    notebook = tmp_path / "notebook.sqlite"
    begin_build("fresh", where=notebook)

    async def walk(user: User, state: State) -> None:
        await user.open(step_url("fresh", "learn"))
        await user.should_see("Nothing happened yet")
        await user.should_see("As soon as there are two revisions")
        assert "Nothing is foretold yet." in told(user)

    simulated(notebook, walk)
