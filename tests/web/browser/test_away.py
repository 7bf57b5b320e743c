"""The network goes away while somebody types, on each of the six pages: what was typed is there when it comes back."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from scribeline.tasks.desk import desk_of
from scribeline.tasks.trials import show_trial
from scribeline.web.desk import at
from tests.web.browser.conftest import until
from tests.web.browser.serving import Served


def cut_off(page: Page, *, unnoticed: bool) -> None:
    """A dead spot. unnoticed : the browser holds its socket for open yet, and what goes into it goes nowhere."""
    page.evaluate("socket.once('connect', () => { window.isBack = true })")
    if unnoticed:
        page.evaluate("socket.io.engine.transport.ws.send = () => {}")
    else:
        page.context.set_offline(True)
        page.wait_for_function("!socket.connected")


def come_back(page: Page, *, unnoticed: bool) -> None:
    """The network is there again, and the page finds it."""
    if unnoticed:
        page.evaluate("socket.io.engine.close()")  # as it does itself when it has missed two pulses
    page.context.set_offline(False)
    page.wait_for_function("window.isBack")  # it tries again after a while, and longer after each failure


# Where on the page, which field, what is typed, and where it is in the work in hand then.
SAVED: dict[str, tuple[str, str, str, str, Any]] = {
    "measure": (
        "measure?at=bottom-end",
        '[data-path="record.crank.stroke_mm"]',
        "50.4",
        "record.crank.stroke_mm",
        50.4,
    ),
    "work-out": ("work-out", '[data-field="exhaust|roof"]', "28.11", "as_if.exhaust.roof_mm", 0.99),
    "plan": ("plan", '[data-path="plan.steps.0.up_mm"]', "1.25", "plan.steps.0.up_mm", 1.25),
    "mark-out": ("mark-out", '[data-path^="marking."][inputmode=decimal]', "99.8", "", "99.8"),
}


@pytest.mark.parametrize("unnoticed", [False, True], ids=["cut", "unnoticed"])
@pytest.mark.parametrize("step", SAVED)
def test_what_was_typed_and_left_without_a_network_is_saved_once_it_is_back(
    looked_at: Served, open_page: Callable[..., Page], kart_of_its_own: str, step: str, unnoticed: bool
) -> None:
    address, selector, typed, path, value = SAVED[step]
    page = open_page(f"{looked_at.url}cylinder/{kart_of_its_own}/{address}")
    field = page.locator(selector).first
    field.scroll_into_view_if_needed()
    path = path or str(field.get_attribute("data-path"))
    cut_off(page, unnoticed=unnoticed)
    field.fill(typed)
    field.press("Tab")
    page.wait_for_timeout(500)
    come_back(page, unnoticed=unnoticed)

    def kept() -> Any:
        found = at(desk_of(kart_of_its_own, where=looked_at.notebook).document, path)
        return found["value"] if isinstance(found, dict) else found

    until(page, lambda: kept() == value)
    expect(field).to_have_value(typed)
    expect(page.get_by_text("could not be reached")).to_have_count(0)


@pytest.mark.parametrize("unnoticed", [False, True], ids=["cut", "unnoticed"])
def test_a_cell_of_the_grid_and_a_field_of_the_day(
    looked_at: Served, open_page: Callable[..., Page], kart_of_its_own: str, unnoticed: bool
) -> None:
    page = open_page(f"{looked_at.url}cylinder/{kart_of_its_own}/prove?trial={kart_of_its_own}")
    cell = page.locator('table.typed input[data-column="30 to 45 km/h"]').first
    band = page.get_by_label("Band of engine speeds for mean power")
    expect(cell).to_be_visible()
    page.locator('table.typed input[data-column="setup"]').first.fill("as it was")
    cut_off(page, unnoticed=unnoticed)
    cell.fill("4.89")
    cell.press("Tab")
    band.fill("6000 to 9000")
    band.press("Tab")
    page.wait_for_timeout(500)
    come_back(page, unnoticed=unnoticed)

    def kept() -> tuple[Any, ...]:
        state = show_trial(kart_of_its_own, where=looked_at.notebook).state
        return state.band_rpm, [row.cells.get("30 to 45 km/h") for row in state.typed.rows]

    until(page, lambda: kept() == ((6000.0, 9000.0), ["4.89"]))


def test_half_a_lesson_is_there_after_the_page_was_loaded_anew(
    looked_at: Served, open_page: Callable[..., Page], kart_of_its_own: str
) -> None:
    page = open_page(f"{looked_at.url}cylinder/{kart_of_its_own}/learn")
    lesson = page.get_by_role("textbox", name="A lesson")
    cut_off(page, unnoticed=False)
    lesson.fill("Deburr every port ")
    page.context.set_offline(False)
    page.reload()
    expect(lesson).to_have_value("Deburr every port ")
    lesson.press("End")
    page.keyboard.type("edge.")
    page.get_by_role("button", name="Keep this lesson").click()
    expect(page.locator("ol.lessons")).to_contain_text("Deburr every port edge.")
    expect(lesson).to_have_value("")
    page.reload()
    expect(lesson).to_have_value("")
    expect(page.get_by_text("could not be reached")).to_have_count(0)
