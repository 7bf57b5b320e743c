"""mm and inch at any time: the choice takes effect at once, and what is half typed stays in its field."""

import re
from collections.abc import Callable

from playwright.sync_api import Page, expect

from tests.web.browser.serving import Served


def test_choosing_inches_in_the_middle_of_a_number_loses_nothing_of_it(
    looked_at: Served, open_page: Callable[..., Page], bare_kart: str
) -> None:
    """On Measure only the fields are built anew, elsewhere the whole page; 1.1 in are 27.94 mm (25.4 mm an inch)."""
    page = open_page(f"{looked_at.url}cylinder/{bare_kart}/measure?at=bottom-end")
    stroke = page.locator('[data-path="record.crank.stroke_mm"]')
    stroke.fill("1.97")
    page.get_by_role("button", name="inch").click()
    expect(page.get_by_text("stroke, inch")).to_be_visible()
    expect(stroke).to_have_value("1.97")
    expect(stroke).to_be_focused()
    expect(page.get_by_role("button", name="Undo")).to_have_attribute("title", "Undo: nothing")
    stroke.press("Tab")
    expect(page.get_by_role("button", name="Undo")).to_have_attribute("title", "Undo: stroke 1.97 in")

    page.goto(f"{looked_at.url}cylinder/{bare_kart}/work-out")
    roof = page.locator('[data-path="as_if.exhaust.roof_mm"]')
    expect(roof).to_have_value("1.146")
    roof.fill("28")
    page.get_by_role("button", name="mm", exact=True).click()
    expect(page.get_by_text("roof below the deck, mm").first).to_be_visible()
    expect(roof).to_have_value("28")
    expect(page.locator(".crank [data-crank=depth]")).to_have_text(re.compile(r"^\d+\.\d\d mm down$"))
    roof.blur()
    expect(page.get_by_role("button", name="Undo")).to_have_attribute(
        "title", re.compile("Undo: as if exhaust: roof 1.10 mm higher")
    )


def test_a_slider_of_the_plan_speaks_of_what_is_read(
    looked_at: Served, open_page: Callable[..., Page], kart_of_its_own: str
) -> None:
    """Its own numbers are in mm; 0.8 mm are 0.0315 in (25.4 mm an inch)."""
    page = open_page(f"{looked_at.url}cylinder/{kart_of_its_own}/plan")
    slider = page.get_by_role("slider", name=re.compile("^raise exhaust roof"))
    expect(slider).to_have_accessible_name("raise exhaust roof, how far the roof goes up, in mm")
    expect(slider).to_have_attribute("aria-valuetext", "0.8 mm")
    page.get_by_role("button", name="inch", exact=True).click()
    expect(slider).to_have_accessible_name("raise exhaust roof, how far the roof goes up, in inches")
    expect(slider).to_have_attribute("aria-valuetext", "0.0315 inches")
    slider.press("ArrowRight")
    expect(slider).not_to_have_attribute("aria-valuetext", "0.0315 inches")
    expect(slider).to_have_attribute("aria-valuetext", re.compile(r"^0\.0\d+ inches$"))
    assert page.get_by_label(re.compile("in mm$")).count() == 0
