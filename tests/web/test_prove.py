"""Prove without a browser: what the page says, what it keeps, and that it sees what other devices add."""

import asyncio
import importlib
import threading
from pathlib import Path
from typing import Any

import pytest
from nicegui import ui
from nicegui.testing import User
from nicegui.testing.user_interaction import UserInteraction

from scribeline.recordings.invented import invent_day
from scribeline.tasks.trial_rows import type_cells
from scribeline.tasks.trial_turning import Turning
from scribeline.tasks.trial_views import PullView, RecordingView, SpeedLine
from scribeline.tasks.trials import add_files, new_trial, show_trial, trials_of
from scribeline.tasks.verdicts import Compared, compare_shown
from scribeline.web.desk import OpenDesk
from scribeline.web.pages.prove.trace import trace
from scribeline.web.shell import step_url
from scribeline.web.state import State
from scribeline.web.text_input import TextInput
from tests.web.at_work import until
from tests.web.simulation import simulated

GATES = "examples/gate-times.csv"
VERDICT = importlib.import_module("scribeline.web.pages.prove.verdict")  # the room's own name is the function


@pytest.fixture
def with_trial(notebook: Path) -> Path:
    """A notebook whose kart has a trial of typed times."""
    new_trial("squish test", build="kart", note="dry, calm", author="tests", where=notebook)
    add_files("squish test", [Path(GATES)], author="tests", where=notebook)
    return notebook


def test_a_new_cylinder_is_shown_how_to_begin(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "prove"))
        await user.should_see("None yet. Plan the day below, then begin one.")
        await user.should_see("Full throttle belongs on a closed course")
        user.find("Work the day out").click()
        await user.should_see("6 runs of each setup")
        await user.should_see("fuel and oil from one can")
        user.find("Name").type("Saturday")
        user.find("Begin the trial").click()
        await user.should_see("Type times")
        assert [one.trial.name for one in trials_of("kart", where=state.notebook)] == ["Saturday"]

    simulated(notebook, walk)


def test_a_name_that_is_taken_is_said_so_and_nothing_begins(with_trial: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "prove"))
        user.find("Name").type("squish test")
        user.find("Begin the trial").click()
        await user.should_see("That did not work")
        await user.should_see("There is a trial called")

    simulated(with_trial, walk)


def test_the_verdict_is_on_the_page_and_follows_what_another_device_types(with_trial: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "prove", trial="squish test"))
        await user.should_see("squish set is quicker than as bought by 0.325 s")
        await user.should_see("1 entry so far")
        cells = [("row", "setup", "as bought"), ("row", "30 to 55 km/h", "4.95")]
        await asyncio.to_thread(type_cells, "squish test", cells, seen=0, author="phone", where=state.notebook)
        await user.should_see("Undo takes back: 2 cells typed.")

    simulated(with_trial, walk)


def test_what_is_typed_while_a_verdict_is_worked_out_is_in_the_one_after_it(
    with_trial: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Typed a, then b: the verdict of a must not end the one of b, nor stand over it, whichever is slow."""
    begun, ended, slow = [], [], [threading.Event(), threading.Event()]

    def slowly(*args: Any, **kwargs: Any) -> Compared:
        begun.append(args)
        assert slow[len(begun) - 1].wait(180.0)
        compared = compare_shown(*args, **kwargs)
        ended.append(args)
        return compared

    async def walk(user: User, state: State) -> None:
        async def typed(row: str, seconds: str) -> None:
            cells = [(row, "setup", "another pipe"), (row, "30 to 55 km/h", seconds)]
            await asyncio.to_thread(type_cells, "squish test", cells, seen=99, author="phone", where=state.notebook)

        await user.open(step_url("kart", "prove", trial="squish test"))
        await user.should_see("squish set is quicker than as bought by 0.325 s")
        monkeypatch.setattr(VERDICT, "compare_shown", slowly)
        await typed("a", "4.95")
        await until(lambda: len(begun) == 1)
        await typed("b", "4.05")
        await user.should_see("3 entries so far")
        await asyncio.sleep(0.3)  # who does not wait for the first has begun the second
        slow[0].set()
        await until(lambda: len(ended) == 1)
        await asyncio.sleep(0.5)  # it has shown what it found, if it wanted to
        slow[1].set()
        await user.should_see("with 2 runs of another pipe")

    simulated(with_trial, walk)


def test_undo_on_the_page_takes_back_what_was_added_last(with_trial: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "prove", trial="squish test"))
        await user.should_see("Undo takes back: gate-times.csv added.")
        user.find("Undo").click()
        await user.should_see("Redo brings back: gate-times.csv added.")
        assert show_trial("squish test", where=state.notebook).state.files == []
        user.find("Redo").click()
        await user.should_see("Undo takes back: gate-times.csv added.")
        assert len(show_trial("squish test", where=state.notebook).state.files) == 1

    simulated(with_trial, walk)


def test_one_undo_for_the_trial_and_the_work_in_hand(with_trial: Path) -> None:
    """What was edited on another page after the file came in is taken back before it, and said: it is not seen here."""

    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "prove", trial="squish test"))
        await user.should_see("Undo takes back: gate-times.csv added.")
        assert len([one for one in user.find(ui.button).elements if "Undo" in one.text]) == 1
        was = state.hub.desk("kart").document["record"]["name"]
        OpenDesk(state.hub, "kart", "phone").edit("record.name", "another", "name another")
        await user.should_see("Undo takes back: name another.")
        (undo,) = user.find(kind=ui.button, content="Undo").elements
        press = UserInteraction(user, {undo}, None)
        press.click()  # twice, faster than the page can follow: the next one is meant
        press.click()
        await user.should_see("Redo brings back: gate-times.csv added.")
        await user.should_see("Taken back in the work in hand: name another")
        assert state.hub.desk("kart").document["record"]["name"] == was
        assert show_trial("squish test", where=state.notebook).state.files == []
        assert undo.props["title"] == "Undo: nothing"

    simulated(with_trial, walk)


def test_a_trial_that_is_not_there_is_said_so(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "prove", trial="nobody's"))
        await user.should_see("There is no trial called")

    simulated(notebook, walk)


def test_what_turns_is_kept_and_refused_at_its_field(with_trial: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "prove", trial="squish test"))
        await user.should_see("Undo takes back: gate-times.csv added.")
        (turns,) = (one for one in user.find(TextInput).elements if one.props["label"] == "What turns")
        leave = UserInteraction(user, {turns}, None)
        turns.set_value("flywheel 3 kg cm2")
        leave.trigger("change")
        await until(lambda: bool(turns.props.get("error-message")))
        assert "wheels, crank and clutch, each with its moment of inertia" in turns.props["error-message"]
        await user.should_not_see("That did not work")
        assert show_trial("squish test", where=state.notebook).state.turning is None
        turns.set_value("wheels 0.32 kg m2, crank 21 kg cm2 ± 3 kg cm2")
        leave.trigger("change")
        await user.should_see("Undo takes back: turning of the day.")
        await until(lambda: not turns.props.get("error-message"))
        told = show_trial("squish test", where=state.notebook).state.turning
        assert told == Turning((0.32, 0.0), (0.0021, 0.0003))
        await user.should_not_see("what turns beside the engine")

    simulated(with_trial, walk)


def test_roll_outs_are_fitted_and_taken_over(with_trial: Path, tmp_path: Path) -> None:
    invent_day(tmp_path)
    files = [tmp_path / "rolling-out.csv", tmp_path / "rolling-back.csv"]
    add_files("squish test", files, author="tests", where=with_trial)

    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "prove", trial="squish test"))
        await user.should_see("Undo takes back: rolling-back.csv added.")
        await user.should_see("keep off the brakes")
        user.find("Fit rolling and drag").click()
        await user.should_see("each way in a file of its own")
        ways = {str(one.props["label"]): one for one in user.find(ui.select).elements}
        ways["Rolled one way"].set_value([2])
        ways["Rolled the other way"].set_value([3])
        user.find("Fit rolling and drag").click()
        await user.should_see("from 10 roll-outs in rolling-out.csv, rolling-back.csv")
        await user.should_see("speeds scatter by")
        user.find("Take these into this trial's vehicle").click()
        await user.should_see("Undo takes back: rolling and drag taken over.")
        held = show_trial("squish test", where=state.notebook).state.held_back
        assert held is not None
        assert held.rests_on == "10 roll-outs in rolling-out.csv, rolling-back.csv"

    simulated(with_trial, walk)


# --- the markup of a trace

PULL = PullView("2.1", 1, 4.0, 9.0, (4.0, 9.0), None, "", "", (), ("40 to 60 km/h: 2.51 s",))
OUT = PullView("2.2", 2, 12.0, 15.0, (12.0, 15.0), None, 'a "quick" <rider>', "", (), ())
RECORDING = RecordingView(2, "<b>.gpx", "gpx", "cut", "out", "speed over ground", 20.0, (), (10.0,), (PULL, OUT), False)
LINE = SpeedLine((((0.0, 5.0, 10.0), (10.0, 30.0, 55.0)),))


def test_bands_lie_where_their_pulls_are_and_only_the_chosen_one_can_be_moved() -> None:
    markup = trace(RECORDING, LINE, 0.0, 20.0, chosen=1, handles=True, label="all of <b>.gpx")
    assert 'style="left:20.000%;width:25.000%"' in markup
    assert 'style="left:60.000%;width:15.000%"' in markup
    assert markup.count('role="slider"') == 2
    assert 'aria-label="Pull 2.1 begins" aria-valuemin="0" aria-valuemax="20.00" aria-valuenow="4.00"' in markup
    assert "2.2 out" in markup
    assert 'class="trace-break" style="left:50.000%"' in markup


def test_names_and_reasons_in_a_trace_are_escaped() -> None:
    markup = trace(RECORDING, LINE, 0.0, 20.0, label="all of <b>.gpx")
    assert "<b>" not in markup
    assert "<rider>" not in markup
    assert "left out: a &quot;quick&quot; &lt;rider&gt;" in markup


def test_what_lies_outside_the_view_is_not_drawn() -> None:
    markup = trace(RECORDING, LINE, 10.5, 20.0, chosen=1, handles=True, label="closely")
    assert 'data-pull="1"' not in markup
    assert 'data-pull="2"' in markup
