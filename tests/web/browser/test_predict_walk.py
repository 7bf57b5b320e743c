"""Foretold by simulation to its end, in the browser: on Prove beside the runs, on Learn before them and then beside."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from scribeline.tasks.trial_rows import type_cells
from scribeline.tasks.trials import new_trial, show_trial
from tests.web.browser.serving import Served

GATE = "30 to 45 km/h"
TIMES = {"as it was": ("1.72", "1.69", "1.75", "1.71"), "roof raised": ("1.58", "1.61", "1.57", "1.60")}


def driven(served: Served, build: str, trial: str) -> None:
    """Four runs of each setup; the times are invented."""
    runs = [(setup, seconds) for setup, times in TIMES.items() for seconds in times]
    cells = [
        cell
        for number, (setup, seconds) in enumerate(runs)
        for cell in ((f"row{number}", "setup", setup), (f"row{number}", GATE, seconds))
    ]
    new_trial(trial, build=build, gates=[GATE], author="bench", where=served.notebook)
    seen = show_trial(trial, where=served.notebook).state.number
    type_cells(trial, cells, seen=seen, author="bench", where=served.notebook)


def test_a_stopwatch_is_foretold_and_what_it_showed_set_beside(
    looked_at: Served, open_page: Callable[..., Page], kart_of_its_own: str
) -> None:
    # on Learn, before the day: the simulation foretells the stopwatch, which nobody can change any more
    page = open_page(f"{looked_at.url}cylinder/{kart_of_its_own}/learn")
    page.get_by_text("Write down what you expect", exact=True).click()
    page.get_by_label("Gates", exact=True).fill(GATE)
    page.get_by_role("button", name="Simulate, and write it down").click()
    expect(page.get_by_text("Written down.").first).to_be_visible()
    page.get_by_text(re.compile(r"^All \d+ in words")).click()
    foretold = page.locator("details.fold li", has_text=GATE).first
    expect(foretold).to_be_visible()
    number = re.search(r"([\d.]+) s", foretold.inner_text())
    assert number is not None, foretold.inner_text()
    assert 0.3 < float(number[1]) < 20.0

    # the day, on Prove: simulated once more, to its end, and the runs stand beside it
    day = f"{kart_of_its_own}, afterwards"
    driven(looked_at, kart_of_its_own, day)
    page.goto(f"{looked_at.url}cylinder/{kart_of_its_own}/prove?trial={day}")
    page.get_by_role("button", name="Simulate it and set its times beside").click()
    beside = page.locator("pre.said-text")
    expect(beside).to_contain_text("as it was: 1.72 s")  # the mean of the four
    row = next(line for line in beside.inner_text().splitlines() if line.strip().startswith(GATE))
    again = re.search(r"([\d.]+) s\s+([\d.]+) to ([\d.]+)", row)
    assert again is not None, row
    low, high = float(again[2]), float(again[3])
    assert low < float(again[1]) < high
    assert ("inside the band" in row) is (low <= 1.7175 <= high)
    assert float(again[1]) == pytest.approx(float(number[1]), rel=0.02)  # the same engine, simulated twice

    # and back on Learn the day is set beside what was foretold
    page.goto(f"{looked_at.url}cylinder/{kart_of_its_own}/learn")
    page.get_by_text("Set beside what was measured", exact=True).click()
    page.get_by_label("A day of test runs").click()
    page.get_by_role("option", name=re.compile("afterwards")).first.click()
    page.get_by_label("Which setup was foretold").fill("as it was")
    page.get_by_role("button", name="Set these runs beside").click()
    expect(page.get_by_text("Set beside.").first).to_be_visible()
    page.get_by_text(re.compile(r"^All \d+ in words")).click()
    said = page.locator("details.fold li", has_text=re.compile(rf"{re.escape(GATE)}.*\b1\.7\d*"))
    expect(said.first).to_be_visible()
