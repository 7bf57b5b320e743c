"""Prove while answers, files or other devices take their time: what was typed or sent stays, and the page says so."""

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from numpy.random import default_rng
from playwright.sync_api import Page, Route, expect

from scribeline.recordings.invented import invented_runs
from scribeline.recordings.invented.files import write_gpx
from scribeline.tasks.trial_rows import type_cells
from scribeline.tasks.trials import PullChange, add_files, edit_pulls, new_trial, show_trial
from tests.web.browser.conftest import DESKTOP, PHONE, until
from tests.web.browser.serving import Served
from tests.web.browser.test_typing import LATE

GATE = "30 to 45 km/h"
# Everything that stands in a cell from now on, each once.
WATCH = """(input) => {
    window.stood = [input.value];
    setInterval(() => input.value === stood.at(-1) || stood.push(input.value), 5);
}"""


def opened(served: Served, open_page: Callable[..., Page], trial: str, size: dict[str, int] = DESKTOP) -> Page:
    new_trial(trial, build="kart", gates=[GATE], author="tests", where=served.notebook)
    page = open_page(f"{served.url}cylinder/kart/prove?trial={trial}", size=size)
    page.get_by_label("setup, row 1", exact=True).wait_for()
    return page


def typed(served: Served, trial: str) -> list[dict[str, str]]:
    return [dict(row.cells) for row in show_trial(trial, where=served.notebook).state.typed.rows]


@pytest.mark.parametrize("size", [DESKTOP, PHONE], ids=["desktop", "telephone"])
def test_an_answer_from_before_does_not_empty_a_cell(
    looked_at: Served, open_page: Callable[..., Page], size: dict[str, int]
) -> None:
    """The answer to the setup knows nothing yet of the time, which was typed and left before it came."""
    trial = f"late answers {size['width']}"
    page = opened(looked_at, open_page, trial, size)
    setup, time = (page.get_by_label(f"{one}, row 1", exact=True) for one in ("setup", f"{GATE}, s"))
    page.evaluate(LATE, 400)
    setup.fill("as it was")
    page.keyboard.press("Tab")
    until(page, lambda: typed(looked_at, trial) == [{"setup": "as it was"}])
    time.evaluate(WATCH)
    time.fill("quick")
    page.keyboard.press("Tab")
    problem = page.locator(".problem", has_text="quick")
    expect(problem).to_be_visible()
    assert page.evaluate("stood") == ["", "quick"]
    time.fill("1,72")
    page.keyboard.press("Tab")
    expect(problem).to_be_hidden()
    assert page.evaluate("stood") == ["", "quick", "1,72"]
    assert typed(looked_at, trial) == [{"setup": "as it was", GATE: "1,72"}]

    # what is taken back is gone from the page, too, also where it was all that a row had
    page.get_by_label("setup, row 2", exact=True).fill("roof raised")
    page.keyboard.press("Tab")
    until(page, lambda: len(typed(looked_at, trial)) == 2)
    expect(page.get_by_text("Undo takes back: typed roof raised")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_label("setup, row 2", exact=True)).to_have_value("")


def test_a_column_that_another_device_adds_leaves_the_half_typed_cell_alone(
    looked_at: Served, open_page: Callable[..., Page]
) -> None:
    page = opened(looked_at, open_page, "another column")
    page.get_by_label("setup, row 1", exact=True).fill("as it was")
    page.keyboard.press("Tab")
    until(page, lambda: len(typed(looked_at, "another column")) == 1)
    page.get_by_label(f"{GATE}, s, row 2", exact=True).click()
    page.keyboard.type("1,7")
    cells = [("phone", "setup", "as it was"), ("phone", "40 to 60 km/h", "3.1")]
    type_cells("another column", cells, seen=9999, author="phone", where=looked_at.notebook)
    expect(page.locator("table.typed").get_by_label("40 to 60 km/h, s, row 1", exact=True)).to_be_visible()
    page.keyboard.type("2")
    half = page.locator("table.typed input:focus")
    expect(half).to_have_value("1,72")
    assert GATE not in [column for row in typed(looked_at, "another column") for column in row]  # not left yet
    page.keyboard.press("Tab")
    until(page, lambda: [row.get(GATE) for row in typed(looked_at, "another column")] == [None, None, "1,72"])


def test_a_file_that_takes_longer_than_the_others_arrives(
    looked_at: Served, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    """The page says that it is on its way; one whose way is broken off is said, too."""
    page = opened(looked_at, open_page, "slow file")
    names = ("slow.csv", "quick.csv", "broken.csv")
    for number, name in enumerate(names):
        (tmp_path / name).write_text(f"setup,run,30-45 km/h\nas it was,1,1.7{number}\nas it was,2,1.6{number}\n")
    held: list[Route] = []

    def on_its_way(route: Route) -> None:
        sent = route.request.post_data_buffer or b""
        if b"broken.csv" in sent:
            route.abort()
        elif b"slow.csv" in sent:
            held.append(route)
        else:
            route.continue_()

    page.route("**/upload/*", on_its_way)
    page.locator("input[type=file]").first.set_input_files([tmp_path / name for name in names])
    expect(page.get_by_text("quick.csv: added", exact=False)).to_be_visible()
    expect(page.get_by_text("slow.csv is being sent", exact=False)).to_be_visible()
    expect(page.get_by_text("quick.csv is being sent", exact=False)).to_be_hidden()
    expect(page.get_by_text("broken.csv did not arrive: the connection broke.", exact=False)).to_be_visible()
    (slow,) = held
    slow.continue_()
    expect(page.get_by_text("slow.csv: added", exact=False)).to_be_visible()
    expect(page.get_by_text("is being sent", exact=False)).to_have_count(0)
    page.get_by_role("button", name="Put broken.csv away").click()
    expect(page.get_by_text("broken.csv", exact=False)).to_have_count(0)
    kept = {one.file_name for one in show_trial("slow file", where=looked_at.notebook).state.files}
    assert kept == {"slow.csv", "quick.csv"}


def test_a_half_typed_reason_stays_when_the_pulls_are_drawn_anew(
    looked_at: Served, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    """Another device says which gear it was. A reason that was used does not come back."""
    new_trial("pulls", build="kart", gates=[GATE], author="tests", where=looked_at.notebook)
    write_gpx(tmp_path / "track.gpx", invented_runs()[0], datetime(2026, 5, 16, 9, 0, tzinfo=UTC), default_rng(1))
    add_files("pulls", [tmp_path / "track.gpx"], author="tests", where=looked_at.notebook)
    page = open_page(f"{looked_at.url}cylinder/kart/prove?trial=pulls")
    reason, ends = page.get_by_label("another reason"), page.get_by_label("Ends, s")
    reason.fill("a dog on")
    before = ends.input_value()
    ends.click()
    page.keyboard.press("End")
    page.keyboard.type("1")
    half = ends.input_value()
    assert half == f"{before}1"
    (pull,) = show_trial("pulls", where=looked_at.notebook).state.pulls
    change = PullChange(f"{pull.file}.1", "gear", gear=1)
    edit_pulls("pulls", [change], "seen", author="phone", where=looked_at.notebook)
    expect(page.get_by_label("Gear, where it was not the highest")).to_have_value("1")
    expect(reason).to_have_value("a dog on")
    expect(ends).to_have_value(half)
    expect(ends).to_be_focused()
    reason.press("End")
    reason.press_sequentially(" the track")
    page.get_by_role("button", name="Leave it out", exact=True).click()
    page.get_by_role("button", name="Put it back").click()
    expect(reason).to_have_value("")
    left = show_trial("pulls", where=looked_at.notebook).state.pulls[0].pull
    assert left.reasons[-2:] == ("a dog on the track", "it counts after all")

    # the same where the rule missed a pull: its fields keep what is half typed, until the pull is there
    page.locator(".trace:not(.close) .trace-field").first.click(position={"x": 3, "y": 20})
    why = page.get_by_label("Why", exact=True)
    why.fill("behind the")
    edit_pulls("pulls", [PullChange(f"{pull.file}.1", "leave-out")], "a gust", author="phone", where=looked_at.notebook)
    expect(page.get_by_text("left out: a gust", exact=False).first).to_be_visible()
    expect(why).to_have_value("behind the")
    why.press("End")
    why.press_sequentially(" van")
    page.get_by_role("button", name="Add this pull").click()
    expect(page.get_by_role("button", name=f"Pull {pull.file}.2", exact=True)).to_be_visible()
    assert show_trial("pulls", where=looked_at.notebook).state.pulls[-1].pull.reasons[-1] == "behind the van"
