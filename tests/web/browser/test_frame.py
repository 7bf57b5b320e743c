"""The frame of the pages in a real browser: it comes up, loads nothing from elsewhere, and puts up no barrier."""

import subprocess
from collections.abc import Callable
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from scribeline.web.drawing import NOT_TO_SCALE
from scribeline.web.shell import step_url
from tests.marking.printed import program
from tests.web.browser.conftest import DESKTOP, PHONE
from tests.web.browser.serving import Served


@pytest.mark.parametrize(("size", "dark"), [(DESKTOP, False), (DESKTOP, True), (PHONE, False)])
def test_a_step_comes_up_without_barriers(
    served: Served, open_page: Callable[..., Page], size: dict[str, int], dark: bool
) -> None:
    page = open_page(f"{served.url}cylinder/kart/measure", size=size, dark=dark)
    page.get_by_role("heading", name="kart", exact=True).wait_for()
    assert page.get_by_role("link", name="Measure").get_attribute("aria-current") == "step"
    assert [one["id"] for one in Axe().run(page).response["violations"]] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]


def test_nothing_is_loaded_from_elsewhere(served: Served, open_page: Callable[..., Page]) -> None:
    page = open_page("about:blank")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(f"{served.url}cylinder/kart/measure")
    page.get_by_role("heading", name="kart", exact=True).wait_for()
    assert asked
    assert {urlsplit(url).hostname for url in asked} == {"127.0.0.1"}


def test_the_server_ends_when_it_is_interrupted(served: Served) -> None:
    assert served.stop() == 0


def test_every_sheet_of_a_print_says_that_it_is_not_to_scale(
    served: Served, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    page = open_page(served.url.rstrip("/") + step_url("kart", "mark-out"))
    page.pdf(path=tmp_path / "print.pdf")
    words = subprocess.run(
        [program("pdftotext", "poppler-utils"), tmp_path / "print.pdf", "-"], capture_output=True, text=True, check=True
    )
    sheets = words.stdout.split("\f")[:-1]
    assert len(sheets) > 1
    assert all(NOT_TO_SCALE in " ".join(sheet.split()) for sheet in sheets)
