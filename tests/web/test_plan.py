"""The plan page without a browser: cards, their order and refusals, undo, and what is kept of long work."""

import os
import signal
from pathlib import Path
from typing import Any

from nicegui import ui
from nicegui.testing import User
from nicegui.testing.user_interaction import UserInteraction

from scribeline.plan.plan_file import read_plan
from scribeline.tasks.plan_in_hand import document_of
from scribeline.tasks.plan_kept import folder_of, kept
from scribeline.web.desk import OpenDesk
from scribeline.web.shell import step_url
from scribeline.web.state import State
from tests.examples import FOLDER, edited
from tests.web.at_work import until
from tests.web.simulation import simulated

PLAN = document_of(read_plan((FOLDER / "club-kart-98-plan.toml").read_text(encoding="utf-8")))


def other(state: State) -> OpenDesk:
    """Another device on the same cylinder."""
    return OpenDesk(state.hub, "kart", "phone")


def plan_of(state: State) -> dict[str, Any]:
    return dict(state.hub.desk("kart").document.get("plan") or {})


def press(user: User, label: str) -> None:
    """Click the one button with this label for those who do not see it."""
    (found,) = (one for one in user.find(ui.button).elements if one.props.get("aria-label") == label)
    UserInteraction(user, {found}, None).click()


def test_an_empty_plan_offers_every_group_of_the_job(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "plan"))
        for words in ("Squish and deck: 10 possible here", "Ports: 11", "Piston: 2", "Goal: the most power"):
            await user.should_see(words)
        await user.should_see("No operation yet")

    simulated(notebook, walk)


def test_an_operation_is_added_changed_and_undone(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "plan"))
        press(user, "Add: raise exhaust roof")
        assert plan_of(state)["steps"] == [{"do": "raise exhaust roof", "at": "exhaust", "up_mm": 0.0}]
        await user.should_see("It changes nothing until you move its slider")
        other(state).edit("plan.steps.0.up_mm", 1.2, "raise exhaust roof 1.2 mm")
        await user.should_see("Raise exhaust roof at exhaust: 1.2 mm")
        await user.should_see("179.52° to")
        user.find("Undo").click()
        assert plan_of(state)["steps"][0]["up_mm"] == 0.0
        await user.should_see("Raise exhaust roof at exhaust: 0 mm")

    simulated(notebook, walk)


def test_the_order_is_enforced_with_its_reason_and_a_refusal_stands_at_its_operation(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        other(state).edit("plan", PLAN, "a plan")
        other(state).edit("plan.steps.3.off_mm", -0.2, "deck barrel top -0.2 mm")
        await user.open(step_url("kart", "plan"))
        await user.should_see("Written as number 3; done as number 1: it moves the deck")
        await user.should_see("metal does not grow back")
        await user.should_see("Instead: swap head gasket")
        user.find("Instead: swap head gasket").click()
        assert plan_of(state)["steps"][3] == {"do": "swap head gasket", "choice": "fitted 1"}

    simulated(notebook, walk)


def test_what_is_of_an_earlier_plan_says_so_until_the_quick_curves_have_followed(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        other(state).edit("plan", PLAN, "a plan")
        await user.open(step_url("kart", "plan"))
        await user.should_see("Most power")
        await user.should_not_see("Of the plan before your last change.", retries=100)
        other(state).edit("plan.steps.0.up_mm", 1.4, "raise exhaust roof 1.4 mm")
        await user.should_see("Of the plan before your last change.")
        await user.should_not_see("Of the plan before your last change.", retries=600)
        await user.should_see("3. Raise exhaust roof at exhaust: 1.4 mm")  # the cut list has followed, too

    simulated(notebook, walk)


def test_a_record_that_is_not_whole_is_sent_back_to_measure(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        other(state).edit("record.crank.stroke_mm", None, "no stroke")
        await user.open(step_url("kart", "plan"))
        await user.should_see("First the record")
        await user.should_see("Stroke: not measured yet.")
        await user.should_see("Go on measuring")
        await user.open(step_url("kart", "mark-out"))
        await user.should_see("First the record")
        await user.should_not_see("Take the sheets")

    simulated(notebook, walk)


def test_a_pipe_is_designed_and_put_among_the_parts_at_hand(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "plan"))
        user.find("for crank speed, rev/min").clear().type("200")
        user.find("Design a pipe").click()
        await user.should_see("accepted: 500 to 30000 rpm")
        user.find("for crank speed, rev/min").clear().type("9000")
        user.find("By the published rules alone").click()
        user.find("Design a pipe").click()
        await user.should_see("By the published formula it is tuned for")
        user.find("Put the pipe for 9000 rpm among the parts at hand").click()
        await user.should_see("Other parts at hand: pipe for 9000 rpm")
        assert state.hub.desk("kart").document["plan"]["box"]["pipes"][0]["name"] == "pipe for 9000 rpm"

    simulated(notebook, walk)


def test_a_search_for_a_pipe_that_is_stopped_shows_the_best_so_far(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "plan"))
        await user.should_see("one curve lies on the other")
        user.find("Design a pipe").click()
        await user.should_see("searching: ")
        user.find("Stop").click()
        await user.should_see("Stopped, as asked. Below is the best pipe so far.")
        await user.should_see("Stopped before the search was finished: this is the best it had.")
        await user.should_see(f"Put the pipe for {edited().speed_rpm:g} rpm among the parts at hand")

    simulated(notebook, walk)


def test_one_revolution_is_looked_into_when_asked_as_it_is_and_after_the_plan(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "plan"))
        await user.should_see("one curve lies on the other")
        kind = user.find("inside one revolution at, rev/min")
        most = max(kept_curve(state), key=lambda pair: pair[0])[1]
        (field,) = kind.elements
        assert getattr(field, "value", None) == f"{most:g}"  # the speed of most power of the curve above
        await user.should_not_see("What limits it as it is")
        kind.clear().type("31000")
        user.find("Look inside").click()
        await user.should_see("accepted: 500 to 30000 rev/min")
        kind.clear().type("28000")
        user.find("Look inside").click()
        await user.should_see("the engine as it is cannot be looked into at 28000 rev/min")
        kind.clear().type("9000")
        user.find("Look inside").click()
        await user.should_see("Inside one revolution at 9000 rev/min")
        await user.should_see("Pressure along the exhaust pipe against time at 9000 rev/min, as it is")
        await user.should_see("Through one turn at 9000 rev/min, as it is")
        await user.should_see("At every event, as it is")
        await user.should_not_see("Through one turn at 9000 rev/min, after the plan")

        other(state).edit("plan", PLAN, "a plan")
        await user.should_see("Of the plan before your last change.")
        user.find("Look inside").click()
        await user.should_see("Pressure along the exhaust pipe against time at 9000 rev/min, after the plan")
        await user.should_see("full lines after the plan, broken lines as it is")
        assert getattr(field, "value", None) == "9000"  # what was typed stays, wherever the new curve has its most

    simulated(notebook, walk)


def test_a_worker_that_is_killed_leaves_the_fine_speeds_it_had_and_another_goes_on(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        other(state).edit("plan", PLAN, "a plan")
        await user.open(step_url("kart", "plan"))
        await user.should_see("Quick: long cells, every second speed.")
        user.find("Fine curves").click()
        await until(lambda: len(curve_of(state).get("fine", [])) >= 3)
        (worker,) = state.workers.process_ids
        os.kill(worker, signal.SIGKILL)
        await user.should_see("its process was ended from outside")
        await user.should_see("and what it had finished where that is shown")
        had = curve_of(state)
        assert had["stage"] == "part"
        await user.should_see(f"Stopped after {len(had['fine'])} of 17 speeds: up to {had['fine'][-1]:g} rev/min")

        user.find("Go on with the fine curves").click()
        await user.should_see("With the usual cells.")
        await user.should_not_see("its process was ended from outside")
        await user.should_not_see("Go on with the fine curves")
        now = curve_of(state)
        assert now["fine"] == now["speeds"]
        count = len(had["fine"])
        assert now["after"][:count] == had["after"][:count]  # what was done is not done again
        user.find("Fine curves").click()
        await user.should_see("They are below already")

    simulated(notebook, walk)


def curve_of(state: State) -> dict[str, Any]:
    return kept(folder_of(state.folder, "kart"), "curve") or {}


def kept_curve(state: State) -> list[tuple[float, float]]:
    """Power after the plan and crank speed, of the curve that is kept."""
    document = kept(folder_of(state.folder, "kart"), "curve")
    assert document is not None
    return [(power, speed) for power, speed in zip(document["after"], document["speeds"], strict=True) if power]
