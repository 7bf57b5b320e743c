"""Prove in a real browser: what is taken away from it, and a worker process that is killed while it reads a file."""

import os
import re
import signal
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import openpyxl
import pytest
from playwright.sync_api import Page, expect

from scribeline.tasks.trial_rows import type_cells
from scribeline.tasks.trials import new_trial, show_trial
from tests.examples import FOLDER
from tests.web.browser.conftest import until
from tests.web.browser.serving import Served

TIMES = {"as it was": ("1.72", "1.69", "1.75", "1.71"), "roof raised": ("1.58", "1.61", "1.57", "1.60")}


def opened(served: Served, open_page: Callable[..., Page], trial: str) -> Page:
    new_trial(trial, build="kart", gates=["30 to 45 km/h"], author="tests", where=served.notebook)
    return open_page(f"{served.url}cylinder/kart/prove?trial={trial}")


def taken(page: Page, button: str) -> tuple[str, bytes]:
    """Name and content of what a button saves."""
    with page.expect_download() as saving:
        page.get_by_role("button", name=re.compile(f"^{re.escape(button)}")).first.click()  # and of which picture
    return saving.value.suggested_filename, Path(saving.value.path()).read_bytes()


def test_pictures_tables_and_the_simulation(looked_at: Served, open_page: Callable[..., Page]) -> None:
    page = opened(looked_at, open_page, "taken away")
    rows = [(setup, one) for setup, times in TIMES.items() for one in times]
    cells = [
        cell
        for number, (setup, one) in enumerate(rows)
        for cell in ((f"row{number}", "setup", setup), (f"row{number}", "30 to 45 km/h", one))
    ]
    seen = show_trial("taken away", where=looked_at.notebook).state.number
    type_cells("taken away", cells, seen=seen, author="bench", where=looked_at.notebook)
    sentence = page.locator(".verdict-sentence").first
    expect(sentence).to_contain_text("roof raised is quicker")

    name, svg = taken(page, "as SVG")
    assert name.endswith(".svg")
    assert b"<svg" in svg[:300]
    name, png = taken(page, "This picture as PNG")
    assert (name[-4:], png[:8]) == (".png", b"\x89PNG\r\n\x1a\n")
    name, table = taken(page, "Tables as CSV")
    assert (name, b"roof raised" in table) == ("verdict.csv", True)
    name, book = taken(page, "Tables as a workbook (XLSX)")
    assert name == "verdict.xlsx"
    written = {cell.value for sheet in openpyxl.load_workbook(BytesIO(book)) for row in sheet for cell in row}
    assert {"as it was", "roof raised", 1.58} <= written

    page.get_by_role("button", name="Simulate it and set its times beside").click()
    expect(page.get_by_text("Simulating", exact=False).first).to_be_visible()
    page.get_by_role("button", name="Stop", exact=True).click()
    expect(page.get_by_text("The simulation was stopped, as asked.")).to_be_visible()
    expect(page.get_by_text("kept: everything you entered")).to_be_visible()
    expect(sentence).to_contain_text("roof raised is quicker")


def worker_processes(server: Served) -> list[int]:
    assert server.process is not None
    children = Path(f"/proc/{server.process.pid}/task/{server.process.pid}/children")
    threads = Path(f"/proc/{server.process.pid}/task").iterdir()
    found = [int(one) for thread in threads for one in (thread / children.name).read_text().split()]
    return [one for one in found if b"spawn_main" in Path(f"/proc/{one}/cmdline").read_bytes()]


@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="it finds the worker processes as Linux shows them")
def test_a_worker_that_is_killed_while_it_reads_a_file_is_said_and_the_page_goes_on(
    looked_at: Served, open_page: Callable[..., Page]
) -> None:
    page = opened(looked_at, open_page, "killed")
    page.get_by_label("Setup that was driven").fill("as it was")
    until(page, lambda: len(worker_processes(looked_at)) == 2)  # one that a former walk stopped comes back
    workers = worker_processes(looked_at)
    for one in workers:
        os.kill(one, signal.SIGSTOP)  # so that the file is surely in the hands of one of them
    dropped = page.locator("input[type=file]").first
    dropped.set_input_files(FOLDER / "gate-times.csv")
    expect(page.get_by_text("gate-times.csv: being read")).to_be_visible()
    for one in workers:
        os.kill(one, signal.SIGKILL)
    expect(page.get_by_text("gate-times.csv ended without an answer", exact=False)).to_be_visible()
    expect(page.get_by_text("kept: everything you entered", exact=False).first).to_be_visible()
    assert not show_trial("killed", where=looked_at.notebook).state.files
    dropped.set_input_files(FOLDER / "gate-times.csv")
    expect(page.get_by_text("gate-times.csv: added", exact=False)).to_be_visible()
    assert len(show_trial("killed", where=looked_at.notebook).state.files) == 1
