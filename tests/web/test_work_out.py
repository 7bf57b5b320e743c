"""The page "Work out" without a browser: what it shows, and what an edge that is held, typed or settled does."""

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

from nicegui import ui
from nicegui.testing import User, UserInteraction

from scribeline.tasks.desk import begin_build
from scribeline.web.desk import OpenDesk
from scribeline.web.shell import step_url
from scribeline.web.state import State
from tests.web.at_work import until
from tests.web.simulation import simulated

Walk = Callable[[User, State], Awaitable[None]]


def element(user: User, css: str) -> ui.element:
    """The one element of the open page that has this class."""
    assert user.client is not None
    (found,) = [one for one in user.client.elements.values() if css in one.classes]
    return found


def tell(user: User, **detail: Any) -> None:
    """What static/work_out.js would tell the server."""
    UserInteraction(user, {element(user, "bench")}, None).trigger("bench", {"detail": detail})


def chief(user: User) -> str:
    return str(element(user, "chief").props["innerHTML"])


def document(state: State) -> dict[str, Any]:
    return dict(state.hub.desk("kart").document)


async def opened(user: User) -> None:
    await user.open(step_url("kart", "work-out"))
    await user.should_see("Exhaust opens after top dead centre")


def test_it_shows_the_numbers_under_the_questions_and_warns_where_it_matters(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await opened(user)
        for words in ("When does it breathe?", "How hard is it squeezed?", "Ring end 1 over the intake",
                      "Measured twice", "Assumed, because nobody measured it", "Invented for demonstration",
                      "Before you go on: cautions"):  # fmt: skip
            await user.should_see(words)
        assert "90.31°" in chief(user)

    simulated(notebook, walk)


def test_an_edge_that_is_let_go_is_one_edit_and_leaves_the_record_alone(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await opened(user)
        record = document(state)["record"]
        for mm in (28.8, 28.5, 28.1):
            tell(user, what="move", port="exhaust", side="roof", mm=mm)
        assert "as_if" not in document(state)
        tell(user, what="set", port="exhaust", side="roof", mm=28.1)
        await until(lambda: "as_if" in document(state))
        assert document(state) == {"record": record, "as_if": {"exhaust": {"roof_mm": 1.0}}}
        await user.should_see("exhaust: roof 1.00 mm higher")
        assert state.hub.desk("kart").number == 2  # the beginning, and one edit
        assert state.hub.desk("kart").undoable.label == "as if exhaust: roof 1.00 mm higher"
        user.find("Undo").click()
        await until(lambda: "as_if" not in document(state))

    simulated(notebook, walk)


def test_what_was_typed_goes_where_it_says_or_says_why_not(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await opened(user)
        tell(user, what="type", port="exhaust", side="opens", text="84°")
        await until(lambda: "as_if" in document(state))
        moved = document(state)["as_if"]["exhaust"]["roof_mm"]
        assert 2.5 < moved < 3.1  # 6.3° of crank at some 0.43 mm a degree
        tell(user, what="type", port="exhaust", side="roof", text="1 1/8 in")
        await until(lambda: document(state)["as_if"]["exhaust"]["roof_mm"] != moved)
        assert document(state)["as_if"]["exhaust"]["roof_mm"] == 0.53  # 29.1 less 28.575
        for junk in ("1,234", "twenty", "-3", "200"):
            tell(user, what="type", port="exhaust", side="roof", text=junk)
            await asyncio.sleep(0.05)
        assert document(state)["as_if"]["exhaust"]["roof_mm"] == 0.53

    simulated(notebook, walk)


def test_a_value_that_follows_at_once_keeps_the_one_before_and_neither_is_called_saved_before_it_is(
    notebook: Path,
) -> None:
    async def walk(user: User, state: State) -> None:
        await opened(user)
        assert user.client is not None
        told: list[tuple[str, bool]] = []

        def noted(code: str, **_: Any) -> None:
            if '"saved"' in code:
                told.append((code, "as_if" in document(state)))

        user.client.run_javascript = noted  # type: ignore[method-assign, assignment]
        tell(user, what="type", port="exhaust", side="roof", text="28.1")
        tell(user, what="type", port="main transfer", side="roof", text="36.5")
        await until(lambda: len(document(state).get("as_if", {})) == 2)
        assert document(state)["as_if"]["exhaust"] == {"roof_mm": 1.0}
        await until(lambda: bool(told) and "main transfer" in told[-1][0])
        assert all(was_kept for _, was_kept in told)
        assert "as_if.exhaust.roof_mm" in told[0][0]

    simulated(notebook, walk)


def test_it_was_misread(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await opened(user)
        tell(user, what="set", port="exhaust", side="roof", mm=28.1)
        await until(lambda: "as_if" in document(state))
        await user.should_see("make this the reading")
        user.find("It was misread: make this the reading").click()
        await until(lambda: "as_if" not in document(state))
        port = document(state)["record"]["ports"][0]
        assert port["roof_from_deck_mm"]["value"] == 28.1
        assert port["name"] == "exhaust"
        assert state.hub.desk("kart").undoable.label == "exhaust: roof 1.00 mm higher, as the reading"
        user.find("Undo").click()  # once
        await until(lambda: "as_if" in document(state))
        assert document(state)["record"]["ports"][0]["roof_from_deck_mm"]["value"] == 29.1

    simulated(notebook, walk)


def test_what_can_be_cut_goes_into_the_plan_and_the_rest_stays(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await opened(user)
        tell(user, what="set", port="exhaust", side="roof", mm=28.1)
        await until(lambda: "as_if" in document(state))
        tell(user, what="set", port="rear transfer", side="floor", mm=51.0)
        await until(lambda: "rear transfer" in document(state)["as_if"])
        await user.should_see("Cut it")
        user.find("Cut it: put it into the plan").click()
        await until(lambda: "plan" in document(state))
        assert document(state)["plan"]["steps"] == [{"do": "raise exhaust roof", "at": "exhaust", "up_mm": 1.0}]
        assert document(state)["as_if"] == {"rear transfer": {"floor_mm": 0.4}}
        await user.should_see("no operation cuts this edge")
        user.find("Undo").click()  # once
        await until(lambda: "plan" not in document(state))
        assert document(state)["as_if"]["exhaust"] == {"roof_mm": 1.0}

    simulated(notebook, walk)


def test_another_devices_edit_shows(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await opened(user)
        phone = OpenDesk(state.hub, "kart", "phone")
        phone.edit("as_if", {"exhaust": {"roof_mm": 0.6}}, "as if exhaust: roof 0.60 mm higher")
        await user.should_see("exhaust: roof 0.60 mm higher")

    simulated(notebook, walk)


def test_a_working_opens_with_everything_that_went_in(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await opened(user)
        sent: list[str] = []
        assert user.client is not None
        user.client.run_javascript = lambda code, **_: sent.append(code)  # type: ignore[method-assign, assignment]
        tell(user, what="open", name="ports.exhaust.roof_depth_mm.from_deck")
        # Once with the page's first pass, once more when the +/- and what makes it are there.
        await until(lambda: any("What makes its" in code for code in sent))
        said = next(code for code in sent if "What makes its" in code)
        for words in ("Formula", "With your numbers", "Measure it again", "measure?at=ports&port=0", "Source"):
            assert words in said.replace("&amp;", "&"), words

    simulated(notebook, walk)


def test_a_record_that_is_no_engine_yet_says_what_is_missing_and_where_to_go(notebook: Path) -> None:
    begin_build("new", {"speed_rpm": 9000.0}, where=notebook)

    async def walk(user: User, state: State) -> None:
        await user.open(step_url("new", "work-out"))
        await user.should_see("Not everything can be worked out yet")
        await user.should_see("Bore: not measured yet.")
        await user.should_see("Go on measuring")

    simulated(notebook, walk)


def test_of_an_unfinished_record_the_rest_is_shown(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        phone = OpenDesk(state.hub, "kart", "phone")
        phone.edit("record.ports.1.width_chord_mm", None, "no width")
        await user.open(step_url("kart", "work-out"))
        await user.should_see("Not everything can be worked out yet")
        await user.should_see("without what is refused above")
        await user.should_see("Exhaust opens after top dead centre")

    simulated(notebook, walk)


def test_what_a_record_is_called_is_never_taken_for_markup(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        phone = OpenDesk(state.hub, "kart", "phone")
        phone.edit("record.ports.0.name", "<img src=x onerror=alert(1)>", "a name")
        await user.open(step_url("kart", "work-out"))
        await user.should_see("When does it breathe?")
        assert user.client is not None
        pages = " ".join(str(one.props.get("innerHTML", "")) for one in user.client.elements.values())
        assert "&lt;img src=x" in pages
        assert "<img" not in pages

    simulated(notebook, walk)
