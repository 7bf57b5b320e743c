"""A new user's whole path, from an empty notebook to a verdict, on a desktop and on a telephone."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.examples import path_of
from tests.web.browser.conftest import DESKTOP, PHONE
from tests.web.browser.serving import Served

NEEDED = {"crank.stroke_mm": "50", "crank.rod_length_mm": "100", "crank.pin_offset_mm": "", "cylinder.bore_mm": "50,0"}
BEFORE, AFTER = ("1,72", "1.69", "1.75", "1.71"), ("1.58", "1.61", "0:01.57", "1,60")


def step(page: Page, name: str) -> None:
    """Go on by the steps in the head, or under the thumb."""
    page.get_by_role("navigation", name="The six steps").get_by_role("link", name=name).click()
    expect(page.get_by_role("heading", level=1)).to_have_text("only barrel")


@pytest.mark.parametrize("size", [DESKTOP, PHONE], ids=["desktop", "telephone"])
def test_from_an_empty_notebook_to_a_verdict(
    served_empty: Served, open_page: Callable[..., Page], size: dict[str, int], tmp_path: Path
) -> None:
    page = open_page(served_empty.url, size=size)

    # a new cylinder; its first readings are typed, the others come from a record that somebody wrote by hand
    page.get_by_label("Name of the cylinder").fill("only barrel")
    page.keyboard.press("Enter")
    page.wait_for_url("**/measure")
    page.goto(f"{page.url}?at=bottom-end")
    for path, typed in NEEDED.items():
        field = page.locator(f'input[data-path="record.{path}"]')
        field.fill(typed)
        field.press("Tab")
    expect(page.get_by_role("status").first).to_contain_text("still needed")
    page.goto(page.url.partition("?")[0])
    page.get_by_role("button", name="Load it from a TOML file").click()
    page.locator(".q-dialog input[type=file]").set_input_files(path_of("club-kart-98"))
    expect(page.get_by_role("status").first).to_contain_text("The record is whole")
    page.get_by_role("button", name="Keep as a revision").click()
    page.get_by_label("What is it?").fill("as measured")
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_text("revision 1; every edit is saved")).to_be_visible()

    step(page, "Work out")
    expect(page.locator(".chief [data-number=exhaust_opens_deg_atdc] .is")).to_have_text("90.31°")

    # one cut of the builder's own, and what it makes of the engine
    step(page, "Plan")
    page.get_by_text(re.compile("^Ports: .* possible here")).click()
    page.get_by_role("button", name=re.compile("^Add.*raise exhaust roof")).click()
    amount = page.locator('input[data-path="plan.steps.0.up_mm"]')
    amount.fill("0.5")
    amount.press("Enter")
    expect(page.get_by_role("heading", name="Raise exhaust roof at exhaust: 0.5 mm", exact=True)).to_be_visible()
    expect(page.get_by_role("img", name="The bore, before and after").locator("desc")).to_contain_text(
        "roof from 29.10 to 28.60 mm"
    )
    expect(page.locator("article.cut-step")).to_have_count(1)

    # the sheets it is marked out by
    step(page, "Mark out")
    with page.expect_download() as coming:
        page.get_by_role("button", name="One PDF to print").click()
    coming.value.save_as(tmp_path / "sheets.pdf")
    assert (tmp_path / "sheets.pdf").read_bytes().startswith(b"%PDF-")

    # the day of test runs, typed as they were read
    step(page, "Prove")
    page.get_by_label("Name").fill("first day")
    page.get_by_label("Gates to be timed").fill("30 to 45 km/h")
    page.get_by_role("button", name="Begin the trial").click()
    page.get_by_role("heading", name="first day").wait_for()
    rows = [(setup, one) for setup, times in (("as it was", BEFORE), ("roof raised", AFTER)) for one in times]
    for number, (setup, one) in enumerate(rows, start=1):
        for label, text in (("setup", setup), ("30 to 45 km/h, s", one)):
            page.get_by_label(f"{label}, row {number}", exact=True).fill(text)
            page.keyboard.press("Tab")
    sentence = page.locator(".verdict-sentence").first
    # 1.7175 - 1.59 = 0.1275 s: what the mean times themselves say
    expect(sentence).to_contain_text(re.compile(r"roof raised is quicker .* by 0\.12[78] s"))

    step(page, "Learn")
    expect(page.get_by_role("img", name=re.compile("its history.*first day"))).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
