"""A whole new engine entered on the Measure page in a real browser: by keyboard alone, and with big keys on a telephone."""

from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from scribeline.tasks.desk import begin_build, desk_of
from tests.web.browser.conftest import DESKTOP
from tests.web.browser.serving import Served

TELEPHONE = {"width": 390, "height": 844}
NEEDED = {
    "crank.stroke_mm": "50",
    "crank.rod_length_mm": "1 27/32 in",
    "crank.pin_offset_mm": "",
    "cylinder.bore_mm": "49.98",
}


def focused(page: Page) -> Any:
    return page.evaluate("document.activeElement?.dataset?.path ?? null")


def no_barriers(page: Page) -> None:
    assert [(one["id"], one["nodes"][0]["html"][:200]) for one in Axe().run(page).response["violations"]] == []
    wide = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
    assert wide[0] <= wide[1]


def test_a_new_cylinder_by_keyboard_alone(served_empty: Served, open_page: Callable[..., Page]) -> None:
    """Nothing is clicked: Tab, Enter and typing, from an empty record to the first revision."""
    begin_build("new one", where=served_empty.notebook)
    page = open_page(f"{served_empty.url}cylinder/new%20one/measure", size=DESKTOP)
    expect(page.get_by_role("status")).to_contain_text("4 still needed", timeout=20_000)
    no_barriers(page)
    page.get_by_role("button", name="engine speed for the card is needed").focus()
    page.keyboard.press("Enter")
    page.wait_for_function("document.activeElement?.dataset?.path === 'record.speed_rpm'")
    page.keyboard.type("9000")
    page.keyboard.press("Tab")
    page.get_by_role("button", name="stroke is needed").focus()
    page.keyboard.press("Enter")
    page.wait_for_function("document.activeElement?.dataset?.path === 'record.crank.stroke_mm'")
    expect(page.get_by_text("Where it is measured: stroke")).to_be_visible()
    for path, typed in NEEDED.items():
        assert focused(page) == f"record.{path}"
        page.keyboard.type(typed)
        page.keyboard.press("Enter")  # goes on to the next field
        page.wait_for_timeout(150)
    expect(page.get_by_role("status")).to_contain_text("The record is whole", timeout=10_000)
    page.get_by_role("button", name="Keep as a revision").focus()
    page.keyboard.press("Enter")
    page.get_by_label("What is it?").focus()
    page.keyboard.type("first readings")
    page.get_by_role("button", name="Keep it").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("revision 1; every edit is saved")).to_be_visible()
    desk = desk_of("new one", where=served_empty.notebook)
    assert desk.revision_number == 1
    assert desk.document["record"]["crank"]["rod_length_mm"] == {"value": 46.83125, "typed": "1 27/32 in"}
    assert desk.document["record"]["cylinder"] == {"bore_mm": 49.98}
    page.reload()
    expect(page.get_by_label("bore", exact=False).first).to_have_value("49.98")


def test_on_a_telephone_with_gloves(served: Served, open_page: Callable[..., Page]) -> None:
    """Only the page's own big keys and steps are tapped; a killed server loses nothing of it."""
    page = open_page(f"{served.url}cylinder/kart/measure?at=bottom-end", size=TELEPHONE, dark=True, has_touch=True)
    page.get_by_role("button", name="Big keys").tap()
    bore = page.get_by_label("bore, needed")
    bore.tap()
    assert bore.get_attribute("inputmode") == "none"  # the telephone's own small keys stay away
    for _ in range(len(bore.input_value())):
        page.get_by_role("button", name="take the last one away").tap()
    for key in "51.2":
        page.get_by_role("button", name=key, exact=True).tap()
    page.get_by_role("button", name="next field").tap()
    page.wait_for_timeout(300)
    stroke = page.get_by_label("stroke, needed")
    stroke.tap()
    page.get_by_role("button", name="+ 0.01 mm").tap()
    expect(stroke).to_have_value("50.01")
    no_barriers(page)
    served.kill()
    record = desk_of("kart", where=served.notebook).document["record"]
    assert record["crank"]["stroke_mm"]["value"] == 50.01
    assert record["cylinder"]["bore_mm"]["value"] == 51.2
    for small in page.locator("button:visible, a:visible, input:visible").all():
        box = small.bounding_box()
        assert box is None or box["height"] >= 44 or small.evaluate("one => getComputedStyle(one).display") == "inline"


@pytest.mark.parametrize(("station", "dark"), [("ports", False), ("ports", True), ("intake", False)])
def test_a_full_station_has_no_barriers(
    served: Served, open_page: Callable[..., Page], station: str, dark: bool
) -> None:
    page = open_page(f"{served.url}cylinder/kart/measure?at={station}", dark=dark)
    expect(page.get_by_role("status")).to_contain_text("The record is whole", timeout=20_000)
    no_barriers(page)
