"""The whole job by keyboard alone, from an empty notebook to a verdict and what Learn shows of it.

Nothing is clicked, and nothing is looked for in the page: whoever walks here knows what has the focus, and the way.
"""

import re
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from playwright.sync_api import FileChooser, Page, expect

from scribeline.recordings.invented import invented_runs
from scribeline.recordings.invented.files import write_gpx
from scribeline.tasks.desk import desk_of
from scribeline.web.shell import step_url
from tests.examples import path_of
from tests.web.browser.conftest import until
from tests.web.browser.keyboard import Keyboard
from tests.web.browser.serving import Served

RECORD = re.compile("The record is whole")


def step(keys: Keyboard, name: str) -> None:
    """On to another step, from wherever one is."""
    keys.use("link", name, back=True)
    keys.page.wait_for_url(f"**/{name.lower().replace(' ', '-')}*")
    keys.arrive()


def heard(page: Page, words: str | re.Pattern[str]) -> None:
    """What a screen reader is given to say of it."""
    expect(page.locator("[data-heard]")).to_contain_text(words)


def choose(keys: Keyboard, button: str, file: Path) -> None:
    """Go to the button, press Enter, and choose a file in the window that the browser opens."""
    opened: list[FileChooser] = []
    keys.page.once("filechooser", lambda window: opened.append(window))  # listens before the way there, not at the key
    keys.use("button", button)
    until(keys.page, lambda: opened)
    opened[0].set_files(file)


def test_from_an_empty_notebook_to_a_plan(served_empty: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(served_empty.url)
    keys = Keyboard(page)

    # a new cylinder, by the form
    keys.use("textbox", "Name of the cylinder")
    keys.hears("Give it a name")
    keys.type("only barrel")
    keys.press("Enter")
    page.wait_for_url("**/measure")
    keys.arrive()

    # Measure: a station, a few values with their +/- and instrument
    keys.use("button", re.compile("^Bottom end"))
    keys.wait_for("heading", "Bottom end")
    keys.go_to("textbox", "stroke, needed")
    keys.type("500")
    keys.press("Tab")
    keys.go_to("textbox", "stroke, needed", back=True)
    keys.hears("Accepted")
    keys.type("50")
    keys.press("Enter")
    keys.wait_for("textbox", "rod length, needed")
    keys.type("1 27/32 in")
    keys.press("Enter")
    keys.wait_for("textbox", re.compile("pin offset"))
    keys.press("Enter")
    keys.wait_for("textbox", "bore, needed")
    keys.type("49.98 ± 0.02")
    keys.press("Tab")
    keys.go_to("textbox", "bore, needed", back=True)
    keys.hears("49.980 ± 0.020 mm")
    heard(page, "Saved: bore")

    # what is in the hand: a step, another instrument, a +/- of its own, and back to the field
    keys.press("Shift+Enter")
    keys.wait_for("button", "\N{MINUS SIGN} 0.05 mm")
    keys.go_to("button", "+ 0.005 mm")
    keys.press("Enter", "Space")
    expect(page.get_by_label("bore, needed")).to_have_value(re.compile("^49.99"))
    keys.use("button", re.compile("caliper"))
    keys.wait_for("button", re.compile("caliper"))
    keys.go_to("textbox", re.compile("[+]/-"))
    keys.type("0.005")
    keys.press("Enter")
    keys.wait_for("textbox", re.compile("[+]/-"))
    keys.press("Escape")
    keys.wait_for("textbox", "bore, needed")
    keys.hears("± 0.0050 mm, caliper in the bore")

    # inch and back, from the head; what was typed stays
    keys.use("button", "inch", back=True)
    keys.wait_for("button", "inch")
    keys.go_to("textbox", "rod length, needed")
    keys.go_to("button", "mm", back=True)
    keys.press("Space")
    keys.wait_for("button", "mm")

    # the help opens beside it, and gives the focus back
    keys.use("link", "Help")
    keys.wait_for("heading", re.compile("Measure"))
    keys.press("Escape")
    keys.wait_for("link", "Help")

    # undo and redo
    keys.use("button", re.compile("^Undo: "), back=True)
    heard(page, "Taken back: ")
    keys.use("button", re.compile("^Redo: "))
    heard(page, "Done again: ")
    keys.is_somewhere()

    # the rest comes from a record that somebody wrote by hand, through the dialog and the chooser of files
    keys.use("button", re.compile("^The engine"))
    keys.wait_for("heading", "The engine")
    keys.use("button", "Load it from a TOML file")
    keys.stays_within("dialog")
    keys.press("Escape")
    keys.wait_for("button", "Load it from a TOML file")
    keys.press("Enter")
    keys.stays_within("dialog", 1)
    choose(keys, "Choose a TOML file", path_of("club-kart-98"))
    keys.wait_for("button", "Load it from a TOML file")
    expect(page.get_by_role("status")).to_contain_text(RECORD)
    keys.use("button", "Keep as a revision", back=True)
    keys.stays_within("dialog", 1)
    keys.go_to("textbox", re.compile("^What is it"))
    keys.type("as measured")
    keys.use("button", "Keep it")
    expect(page.get_by_text("revision 1; every edit is saved")).to_be_visible()
    keys.wait_for("button", re.compile("Keep as a revision|Big keys"))  # the one beside it, where it can't be pressed

    # Work out: an edge by arrow keys, the crank, a number's working
    step(keys, "Work out")
    keys.go_to("slider", "exhaust: roof below the deck")
    keys.press("ArrowUp", "ArrowUp", "Shift+ArrowUp")
    expect(page.locator(".as-if")).to_contain_text("roof 1.20 mm higher")
    heard(page, "exhaust")
    keys.wait_for("slider", "exhaust: roof below the deck")
    keys.use("button", "Put back")
    expect(page.locator(".as-if")).to_be_hidden()
    keys.go_to("slider", "Crank angle")
    keys.press("ArrowRight", "ArrowRight")
    expect(page.locator("[data-crank=deg]")).to_have_text("61.0° after TDC")
    keys.use("button", "On to the next mark")
    expect(page.locator("#crank-said")).to_have_text("intake closes")
    keys.use("DisclosureTriangle", re.compile("Exhaust opens after top dead centre"))
    expect(page.locator("details[data-number=exhaust_opens_deg_atdc] .working")).to_contain_text("Formula")
    keys.is_somewhere()

    # Plan: a goal, an operation, its slider and its field, taken away and brought back
    step(keys, "Plan")
    keys.use("DisclosureTriangle", re.compile("Goal: "))
    keys.go_to("radio", re.compile("most power"))
    keys.press("ArrowDown")
    keys.wait_for("radio", re.compile("torque"))
    heard(page, "Saved: goal")
    keys.press("ArrowUp", "ArrowUp")  # round at the ends
    keys.wait_for("radio", "mean power in a band of crank speeds")
    expect(page.get_by_text("Goal: mean power from 8000 to 10500 rev/min", exact=True)).to_be_visible()
    keys.press("ArrowUp", "ArrowUp")
    keys.wait_for("radio", re.compile("torque"))
    expect(page.get_by_label("from, rev/min")).to_be_hidden()
    keys.go_to("textbox", re.compile("^enough from"), most=1)  # the choices are one stop, and that is the one chosen
    keys.go_to("radio", re.compile("torque"), back=True, most=1)
    keys.go_to("DisclosureTriangle", re.compile("Goal: "), back=True, most=1)
    keys.use("DisclosureTriangle", re.compile("Ports: "))
    keys.use("button", "Add: raise exhaust roof")
    keys.wait_for("button", "Add: raise exhaust roof")
    keys.go_to("slider", re.compile("^raise exhaust roof"), back=True)
    keys.press("ArrowRight", "ArrowRight")
    expect(page.get_by_role("heading", name="Raise exhaust roof at exhaust: 0.2 mm", exact=True)).to_be_visible()
    keys.wait_for("slider", re.compile("^raise exhaust roof"))
    keys.go_to("textbox", re.compile("^raise exhaust roof"))
    keys.type("0.5")
    keys.press("Enter")
    expect(page.get_by_role("heading", name="Raise exhaust roof at exhaust: 0.5 mm", exact=True)).to_be_visible()
    keys.wait_for("textbox", re.compile("^raise exhaust roof"))
    keys.use("button", "Take away: raise exhaust roof", back=True)
    expect(page.locator("li.operation")).to_have_count(0)
    keys.use("button", re.compile("^Undo: taken away"), back=True)
    expect(page.locator("li.operation")).to_have_count(1)

    # a search: how patient, stopped once it has found something, and a plan picked from the picture
    keys.use("combobox", "how long", back=True)
    page.get_by_role("option", name="a patient one", exact=False).wait_for()
    until(page, lambda: page.locator(".q-menu .q-manual-focusable--focused").count())  # it knows what is chosen by then
    keys.press("ArrowDown", "Enter")
    keys.wait_for("combobox", "how long")
    until(page, lambda: "a patient one" in keys.here().value)
    keys.use("button", "Search")
    page.locator("button.dot").first.wait_for()
    keys.wait_for("button", "Search")  # dots that come in leave the keyboard where it is
    keys.use("button", "Stop")
    page.get_by_text(re.compile("^Stopped after")).wait_for()
    keys.is_somewhere()
    keys.go_to("button", re.compile("^plan 1: "), back=True)  # from the nearest thing behind where the button was
    keys.press("Space")
    keys.wait_for("button", re.compile("^plan 1: "))
    assert keys.here().pressed == "true"
    keys.use("button", "Take these operations")
    heard(page, "Saved: plan 1 of the search")
    keys.is_somewhere()
    keys.use("button", re.compile("^Undo: plan 1 of the search"), back=True)
    expect(page.locator("li.operation")).to_have_count(1)

    # a stack of gaskets that is worked out, and its steps taken; the cut list follows
    keys.use("button", "Which gaskets, how much off?")
    page.locator("li.stack").first.wait_for()
    keys.use("button", re.compile("^Take this stack: "))
    heard(page, "Saved: squish by base")
    keys.is_somewhere()
    steps = desk_of("only barrel", where=served_empty.notebook).document["plan"]["steps"]
    assert "raise exhaust roof" in [step["do"] for step in steps]
    expect(page.locator("article.cut-step")).to_have_count(len(steps))
    keys.go_to("button", "Print the cut list")


def test_from_sheets_to_what_was_learned(
    looked_at: Served, kart_of_its_own: str, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    page = open_page(looked_at.url.rstrip("/") + step_url(kart_of_its_own, "mark-out"))
    keys = Keyboard(page)

    # Mark out: the paper, a PDF, a number measured at its stop, a stage ticked
    keys.go_to("radio", "A4")
    keys.press("ArrowRight")
    keys.wait_for("radio", "A3")
    heard(page, "A3")
    keys.go_to("button", "One PDF to print")
    with page.expect_download() as coming:
        keys.press("Enter")
    assert Path(coming.value.path()).read_bytes().startswith(b"%PDF-")
    keys.is_somewhere()
    keys.use("link", "At the bench", back=True)
    page.locator("details.step-now").wait_for()
    keys.arrive()
    keys.go_to("textbox", re.compile("squish by solder at 0°"))
    keys.type("0.70")
    keys.press("Enter")
    heard(page, "0.70")
    keys.wait_for("textbox", re.compile("squish by solder at 0°"))
    keys.go_to("checkbox", "Done")
    keys.press("Space")
    heard(page, "Saved: done")
    keys.is_somewhere()

    # Prove: a new trial, a file brought, times typed, a pull's end moved, the verdict
    step(keys, "Prove")
    keys.go_to("textbox", "Name")
    keys.type("keyboard day")
    keys.go_to("textbox", "Gates to be timed")
    keys.type("40 to 60 km/h")
    keys.use("button", "Begin the trial")
    page.wait_for_url("**trial=*")
    keys.arrive()
    page.get_by_role("heading", name="keyboard day").wait_for()
    run, dice = invented_runs()[0], np.random.default_rng(1)
    write_gpx(tmp_path / "track.gpx", run, datetime(2026, 5, 16, 9, 0, tzinfo=UTC), dice)
    keys.go_to("textbox", "Setup that was driven")
    keys.type("as bought")
    choose(keys, "Choose files", tmp_path / "track.gpx")
    expect(page.get_by_text("track.gpx: added, 1 pull (gpx)")).to_be_visible()
    keys.wait_for("button", "Choose files")
    keys.use("button", re.compile("track.gpx"))
    keys.go_to("slider", re.compile("^Pull .* ends"))
    keys.press("ArrowLeft", "ArrowLeft", "ArrowLeft")
    page.get_by_role("button", name="Ends as they were found").wait_for()
    keys.wait_for("slider", re.compile("^Pull .* ends"))
    rows = [("as bought", one) for one in ("4,89", "5.18", "5.03")] + [
        ("squish set", one) for one in ("4.76", "4,57", "4.60")
    ]
    keys.go_to("textbox", "setup, row 1")
    for number, (setup, seconds) in enumerate(rows, start=1):
        if number > 1:
            keys.go_to("textbox", f"setup, row {number}")
        keys.type(setup)
        keys.go_to("textbox", f"40 to 60 km/h, s, row {number}")
        keys.type(seconds)
    keys.press("Tab")
    expect(page.locator("[aria-live] .verdict-sentence").first).to_contain_text("squish set")
    keys.is_somewhere()
    keys.use("button", re.compile("^Undo: "), back=True)
    keys.is_somewhere()

    # Learn: two revisions beside each other
    step(keys, "Learn")
    keys.use("button", re.compile("^Revision 1, "))
    keys.is_somewhere()
    keys.go_to("textbox", "A lesson")
    keys.type("Keys are enough.")
    keys.use("button", "Keep this lesson")
    expect(page.locator("ol.lessons")).to_contain_text("Keys are enough.")
    keys.is_somewhere()
