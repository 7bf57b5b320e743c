"""The pages as a builder sees them who reads inches: what stands in fields and words, and what typing does."""

import re
from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest
from nicegui import ui
from nicegui.testing import User
from nicegui.testing.user_interaction import UserInteraction

from scribeline.web.desk import at
from scribeline.web.preferences import COOKIE, Preferences, cookie_text
from scribeline.web.shell import step_url
from scribeline.web.state import State
from tests.web.at_work import at_once, until, with_plan
from tests.web.simulation import simulated

Walk = Callable[[User, State], Awaitable[None]]
MM_ALONE = re.compile(r"\d mm\b(?![²³]| bar| \()|\bmm\b, ")


def in_inches(notebook: Path, walk: Walk) -> None:
    """The walk of a device that chose inches."""

    async def chosen(user: User, state: State) -> None:
        kept = cookie_text(Preferences(units="inch")).partition(";")[0]
        user.http_client.cookies.set(COOKIE, kept.partition("=")[2])
        await walk(user, state)

    simulated(notebook, chosen)


def shown(user: User) -> str:
    """Every word of the page, drawings with their descriptions too."""
    assert user.client is not None
    found = []
    for one in user.client.elements.values():
        if isinstance(one, ui.html):
            found.append(re.sub(r"<style.*?</style>|<[^>]*>", " ", one.content))
        found += [str(one.props[key]) for key in ("label", "aria-label", "hint") if key in one.props]
    return "\n".join(found)


def element(user: User, prop: str, value: str) -> ui.element:
    assert user.client is not None
    (found,) = [one for one in user.client.elements.values() if one.props.get(prop) == value]
    return found


def type_in(user: User, path: str, text: str) -> None:
    field = element(user, "data-path", path)
    assert isinstance(field, ui.input)
    with field:
        field.set_value(text)
    UserInteraction(user, {field}, None).trigger("change")


def test_work_out_reads_in_inches_with_its_drawings_warnings_and_edges(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "work-out"))
        await user.should_see("Exhaust opens after top dead centre")
        page = shown(user)
        assert "roof 1.146" in page  # 29.1 mm by 25.4 (yard-and-pound-1959)
        assert "squish gap" in page
        assert "0.0562 in" in page
        assert MM_ALONE.findall(page) == []

    in_inches(notebook, walk)


def test_measure_shows_and_takes_inches_in_refusals_and_instruments_too(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "measure", at="bottom-end"))
        await user.should_see("bore, inch")
        field = element(user, "data-path", "record.crank.stroke_mm")
        assert isinstance(field, ui.input)
        assert field.value == "1.9685"
        type_in(user, "record.crank.stroke_mm", "50")
        assert "5 to 250 mm (0.20 to 9.84 in)" in shown(user)
        type_in(user, "record.crank.stroke_mm", "1 31/32")
        assert at(state.hub.desk("kart").document, "record.crank.stroke_mm.typed") == "1 31/32 in"
        UserInteraction(user, {element(user, "data-entry", "record.crank.rod_length_mm")}, None).trigger("focusin")
        await user.should_see("micrometer ± 0.0004 in")
        user.find("mm").click()
        await user.should_see("bore, mm")
        assert field.value == "1 31/32 in"  # what was typed stays as it was typed

    in_inches(notebook, walk)


def test_the_plan_moves_in_thousandths_and_lists_its_cuts_in_inches(
    notebook: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    at_once(monkeypatch)

    async def walk(user: User, state: State) -> None:
        with_plan(notebook)
        await user.open(step_url("kart", "plan"))
        await user.should_see("Raise exhaust roof at exhaust: 0.031 in")
        await user.should_see("Accepted: 0 to 0.394 in. Slider in steps of 0.005 in.")
        await until(lambda: "line, in" in shown(user))
        page = shown(user)
        assert re.search(r"1\.100\d ± 0\.008\d", page)  # the exhaust roof's target, 27.95 mm
        places = [i for i, one in enumerate(state.hub.desk("kart").document["plan"]["steps"])
                  if one["do"] == "raise exhaust roof"]  # fmt: skip
        type_in(user, f"plan.steps.{places[0]}.up_mm", "0.05")
        step = state.hub.desk("kart").document["plan"]["steps"][places[0]]
        assert step["up_mm"] == pytest.approx(1.27)  # 0.05 x 25.4
        assert MM_ALONE.findall(shown(user)) == []

    in_inches(notebook, walk)


def test_mark_out_asks_for_inches_and_its_sheets_follow_the_device_until_chosen(
    notebook: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    at_once(monkeypatch)

    async def walk(user: User, state: State) -> None:
        with_plan(notebook)
        await user.open(step_url("kart", "mark-out"))
        await user.should_see("measure both 4 in bars")
        type_in(user, "marking.thickness", "0.005")
        marking = state.hub.desk("kart").document["marking"]
        assert marking["thickness"] == "0.005 in"
        type_in(user, "marking.bars.across", "4.00")
        assert state.hub.desk("kart").document["marking"]["bars"] == {"across": "4.00 in"}
        (radio,) = [one for one in user.client.elements.values()  # type: ignore[union-attr]
                    if one.props.get("aria-label") == "Lengths on the sheets are in"]  # fmt: skip
        assert isinstance(radio, ui.radio)
        assert radio.value == "inch"
        with radio:
            radio.set_value("mm")
        assert state.hub.desk("kart").document["marking"]["units"] == "mm"

    in_inches(notebook, walk)
