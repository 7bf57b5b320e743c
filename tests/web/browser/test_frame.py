"""The frame of the pages in a real browser: it comes up, loads nothing from elsewhere, and puts up no barrier."""

import subprocess
from collections.abc import Callable
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Page, TimeoutError

from scribeline.tasks.desk import edit
from scribeline.web.drawing import NOT_TO_SCALE
from scribeline.web.shell import STEPS, step_url
from tests.marking.printed import program
from tests.web.browser.accessibility import STILL, barriers
from tests.web.browser.conftest import DESKTOP, PHONE, until
from tests.web.browser.serving import Served


@pytest.mark.parametrize(("size", "dark"), [(DESKTOP, False), (DESKTOP, True), (PHONE, False)])
def test_a_step_comes_up_without_barriers(
    looked_at: Served, open_page: Callable[..., Page], size: dict[str, int], dark: bool
) -> None:
    page = open_page(f"{looked_at.url}cylinder/kart/measure", size=size, dark=dark)
    page.get_by_role("heading", name="kart", exact=True).wait_for()
    assert page.get_by_role("link", name="Measure").get_attribute("aria-current") == "step"
    assert barriers(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]


SHOWN_WITHIN_MS = 30_000  # a field is marked by the framework's script, a moment later
SHOWN = """() => {
  const one = document.activeElement, style = getComputedStyle(one), field = one.closest(".q-field");
  const ringed = (parseFloat(style.outlineWidth) > 0 && style.outlineStyle !== "none") || style.boxShadow !== "none";
  const { top, bottom } = one.getBoundingClientRect();
  const marked = ringed || field?.classList.contains("q-field--focused");
  return (one === document.body || (marked && bottom > 0 && top < innerHeight)) && one.tagName;
}"""


APART = """() => {
  const said = document.querySelector(".said").getBoundingClientRect();
  return [...document.querySelectorAll(".steps, .crank")].every((one) => {
    const { top, bottom } = one.getBoundingClientRect();
    return bottom <= said.top || top >= said.bottom;
  }) && said.top > 0;
}"""


@pytest.mark.parametrize("width", [360, 390, 1280])
def test_a_message_in_passing_lies_over_nothing_that_is_pressed_next(
    looked_at: Served, open_page: Callable[..., Page], bare_kart: str, width: int
) -> None:
    """The steps on a telephone, and the bar that turns the crank wherever it stands, stay in sight."""
    moved = {"exhaust": {"roof_mm": -0.5}}
    edit(bare_kart, "as_if", moved, device="bench", label="as if", where=looked_at.notebook)
    page = open_page(f"{looked_at.url}cylinder/{bare_kart}/work-out", size={"width": width, "height": 780})
    page.get_by_role("button", name="It was misread", exact=False).click()
    page.get_by_text("The record has these readings now").wait_for()
    page.wait_for_function(STILL)
    assert page.evaluate(APART)


LARGE = {"width": 3840, "height": 2160}
# Words that are smaller than 0.7 of the page's own size, as they are seen: [pixels of a letter, words].
SMALL = """() => {
  const least = 0.7 * parseFloat(getComputedStyle(document.documentElement).fontSize), small = [];
  const walk = document.createTreeWalker(document.getElementById("app"), NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const words = walk.currentNode.textContent.trim(), one = walk.currentNode.parentElement;
    if (!words || one.closest("svg, option, .q-icon, [hidden]") || !one.checkVisibility()) continue;
    const scale = one.offsetHeight ? one.getBoundingClientRect().height / one.offsetHeight : 1;
    const letter = parseFloat(getComputedStyle(one).fontSize) * Math.min(scale, 1);
    if (letter > 4 && letter < least) small.push([letter, words]);
  }
  return small;
}"""


@pytest.mark.parametrize("at", ["", *(f"cylinder/kart/{step}" for step, _ in STEPS), "settings"])
def test_words_grow_with_a_large_screen(looked_at: Served, open_page: Callable[..., Page], at: str) -> None:
    """The framework's fields have sizes in pixels: beside words that grew, their labels were half as high."""
    page = open_page(f"{looked_at.url}{at}", size=LARGE)
    page.get_by_role("heading").first.wait_for()
    page.locator(".q-field, .q-radio, .drawn, .history").first.or_(page.locator("main")).first.wait_for()
    assert page.evaluate("parseFloat(getComputedStyle(document.documentElement).fontSize)") == 24
    assert page.evaluate(SMALL) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= LARGE["width"]


@pytest.mark.parametrize("step", ["plan", "measure?at=ports"])
def test_whatever_the_tab_key_comes_to_shows_it(looked_at: Served, open_page: Callable[..., Page], step: str) -> None:
    page = open_page(f"{looked_at.url}cylinder/kart/{step}")
    page.get_by_role("heading", level=2).first.wait_for()
    kinds = set()
    for _ in range(45):
        page.keyboard.press("Tab")
        try:
            kinds.add(page.wait_for_function(SHOWN, timeout=SHOWN_WITHIN_MS).json_value())
        except TimeoutError:
            pytest.fail("does not show that it has the focus: " + page.evaluate("document.activeElement.outerHTML"))
    assert {"A", "BUTTON", "SUMMARY"} <= kinds


def test_nothing_is_loaded_from_elsewhere(looked_at: Served, open_page: Callable[..., Page]) -> None:
    page = open_page("about:blank")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(f"{looked_at.url}cylinder/kart/measure")
    page.get_by_role("heading", name="kart", exact=True).wait_for()
    assert asked
    assert {urlsplit(url).hostname for url in asked} == {"127.0.0.1"}


# Whether the server shakes hands for a page, which it does for those only that it has.
IS_THERE = """([client_id, tab_id]) => new Promise((resolve) => {
  const path = "/_nicegui_ws/socket.io";
  const socket = io({ path, query: { client_id }, transports: ["websocket"], forceNew: true });
  socket.on("connect", async () => {
    resolve(await socket.emitWithAck("handshake", { client_id, tab_id, document_id: "probe" }));
    socket.close();
  });
})"""


def test_a_page_that_is_left_is_let_go_of(looked_at: Served, open_page: Callable[..., Page]) -> None:
    """A page that vanished without a word is kept for ten minutes; hundreds of reloads would fill the memory."""
    page = open_page(f"{looked_at.url}cylinder/kart/measure")
    names = "[window.clientId, sessionStorage.__nicegui_tab_id]"
    page.wait_for_function("window.did_handshake")
    left = page.evaluate(names)
    page.reload()
    page.wait_for_function("window.did_handshake")
    assert page.evaluate(IS_THERE, page.evaluate(names))
    until(page, lambda: not page.evaluate(IS_THERE, left))


def test_every_sheet_of_a_print_says_that_it_is_not_to_scale(
    looked_at: Served, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    page = open_page(looked_at.url.rstrip("/") + step_url("kart", "mark-out"))
    page.pdf(path=tmp_path / "print.pdf")
    words = subprocess.run(
        [program("pdftotext", "poppler-utils"), tmp_path / "print.pdf", "-"], capture_output=True, text=True, check=True
    )
    sheets = words.stdout.split("\f")[:-1]
    assert len(sheets) > 1
    assert all(NOT_TO_SCALE in " ".join(sheet.split()) for sheet in sheets)
