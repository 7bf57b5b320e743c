"""Searches and curves that end before their end: stopped by the builder, or with the server that was killed."""

import os
import re
import signal
from collections.abc import Callable

from playwright.sync_api import Locator, Page, expect

from scribeline.tasks.desk import edit
from tests.web.browser.conftest import PLAN
from tests.web.browser.serving import Served


def part(page: Page, heading: str) -> Locator:
    """A section of the page; several have a button to stop what is worked out for them."""
    return page.locator("section", has=page.get_by_role("heading", name=heading, exact=True))


def engines(page: Page, words: str) -> int:
    """How many engines the page says that the search has looked at."""
    found = page.get_by_text(re.compile(words)).first
    expect(found).to_be_visible()
    number = re.search(words, found.inner_text())
    assert number is not None
    return int(number[1])


def test_a_search_is_stopped_gone_on_with_and_survives_the_server(
    served: Served, open_page: Callable[..., Page]
) -> None:
    edit("kart", "plan", PLAN, device="bench", label="a plan", where=served.notebook)
    page = open_page(f"{served.url}cylinder/kart/plan")
    dots, going_on = page.locator("button.dot"), page.get_by_role("button", name="Go on with the search")
    stop = part(page, "Let it search for plans").get_by_role("button", name="Stop", exact=True)

    # stopped while it runs: what it had found stays, and can be taken
    page.get_by_role("button", name="Search", exact=True).click()
    expect(dots.first).to_be_visible()
    stop.click()
    stopped_after = engines(page, r"Stopped after (\d+) of 1000 engines")
    assert 0 < stopped_after < 1000
    expect(dots.first).to_be_visible()
    best = page.locator("button.dot").last.get_attribute("aria-label") or ""
    expect(going_on).to_be_visible()

    # gone on with from there; then the server alone is killed, and its workers end with it
    going_on.click()
    at = re.compile(r"searching: (\d+) of 1000")
    expect(page.get_by_text(at).first).to_be_visible()
    page.wait_for_function(
        "(before) => [...document.querySelectorAll('.working p')].some((one) => "
        "Number(one.textContent.match(/searching: (\\d+) of/)?.[1] ?? 0) > before)",
        arg=stopped_after + 100,  # some seconds more: the journal is written every other second
    )  # fmt: skip
    assert served.process is not None
    os.kill(served.process.pid, signal.SIGKILL)
    served.process.wait()
    served.kill_if_running()
    served.start()
    page.goto(f"{served.url}cylinder/kart/plan")
    cut_off_after = engines(page, r"This search was cut off after (\d+) of 1000")
    assert cut_off_after > stopped_after
    expect(dots.first).to_be_visible()
    assert gain(page.locator("button.dot").last.get_attribute("aria-label") or "") >= gain(best)

    # and once more from there
    going_on.click()
    page.wait_for_function(
        "(before) => [...document.querySelectorAll('.working p')].some((one) => "
        "Number(one.textContent.match(/searching: (\\d+) of/)?.[1] ?? 0) > before)",
        arg=cut_off_after,
    )  # fmt: skip
    stop.click()
    assert engines(page, r"Stopped after (\d+) of 1000 engines") > cut_off_after


def gain(words: str) -> float:
    """What a dot of the picture says that its plan gains."""
    found = re.search(r"([+-][\d.]+)", words)
    assert found is not None, words
    return float(found[1])


def test_a_curve_that_is_stopped_leaves_the_quick_one_and_says_so(
    looked_at: Served, open_page: Callable[..., Page], kart_of_its_own: str
) -> None:
    page = open_page(f"{looked_at.url}cylinder/{kart_of_its_own}/plan")
    curves = part(page, "Power before and after")
    expect(curves.get_by_text(re.compile("^Quick: long cells")).first).to_be_visible()
    stop = curves.get_by_role("button", name="Stop", exact=True)
    expect(stop).to_be_hidden()  # the quick curve has one too, and is shown a moment before its work has ended
    page.get_by_role("button", name="Fine curves with their band").click()
    stop.click()
    expect(curves.get_by_text("Stopped, as asked.", exact=False).first).to_be_visible()
    expect(stop).to_be_hidden()
    expect(page.get_by_role("img", name="Power before and after the plan, simulated")).to_be_visible()
