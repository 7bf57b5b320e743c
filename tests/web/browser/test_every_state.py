"""axe-core on every page with all that it unfolds, and on every dialog that a page may ask or tell by, in light and in
dark. The other walks look at what they come by; this one goes everywhere, and only looks."""

from collections.abc import Callable
from typing import Literal
from urllib.parse import quote

import pytest
from playwright.sync_api import Page

from scribeline.tasks.cylinders import begin_demonstration
from scribeline.tasks.desk import desk_of, edit
from scribeline.web.shell import step_url
from tests.web.browser.accessibility import barriers
from tests.web.browser.serving import Served

# Of the workings, which are all alike, a few: there are 150 of them.
UNFOLD = """() => {
  const folded = [...document.querySelectorAll("#content details:not([open])")].filter((one) => one.checkVisibility());
  const workings = folded.filter((one) => one.matches(".line")), others = folded.filter((one) => !one.matches(".line"));
  const open = document.querySelectorAll("#content details.line[open]").length;
  const now = [...others, ...workings.slice(0, Math.max(0, 6 - open))];
  now.forEach((one) => { one.open = true; });
  return now.length;
}"""
# What is called the same leads to the same: whoever hears a page's links one after the other has nothing else to go by.
ONE_NAME_TWO_PLACES = """() => {
  const places = {};
  for (const one of document.querySelectorAll("a[href]")) {
    if (!one.checkVisibility()) continue;
    const name = (one.ariaLabel || one.textContent).trim().replace(/\\s+/g, " ");
    (places[name] ??= new Set()).add(one.getAttribute("href"));
  }
  return Object.entries(places).filter(([, all]) => all.size > 1).map(([name, all]) => [name, ...all].join(" | "));
}"""
DAY = "Club kart 98, as bought against squish set"
# What a page brings only once it has been worked out.
COME = {
    "work out": "details.line", "plan": "article.cut-step", "sheets": ".sheet-picture img", "bench": ".step-sheet",
    "trial": ".verdict-sentence", "learn": ".history-drawing svg",
}  # fmt: skip
OPEN = "(one) => { one.open = true; }"
SETTLED_MS = 200  # parts that an unfolding or a dialog has asked the server for


@pytest.fixture(scope="module")
def told(looked_at: Served) -> str:
    """The demonstration with its whole story."""
    return begin_demonstration(author="tests", where=looked_at.notebook).build


class Looker:
    """Looks at a page in light and in dark, and keeps what is in anybody's way by the state that it stands in."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.found: dict[str, list[str]] = {}
        self.looked: list[str] = []

    def look(self, state: str, within: str | None = None) -> None:
        """At the page as it stands; in dark at what light and dark may differ in, the contrast.

        within : what lies over the page and takes every key and press
        """
        self.page.wait_for_timeout(SETTLED_MS)
        self._keep(f"{state}, light", barriers(self.page, within=within) + self.page.evaluate(ONE_NAME_TWO_PLACES))
        self._turn("dark")
        self._keep(f"{state}, dark", barriers(self.page, ["color-contrast"], within))
        self._turn("light")
        self.looked.append(state)

    def _turn(self, scheme: Literal["light", "dark"]) -> None:
        """Pages at the door follow the browser at once, the others when the framework has told them."""
        self.page.emulate_media(color_scheme=scheme)
        if self.page.locator(".q-layout, #app").count():
            self.page.locator(f"body.body--{scheme}").wait_for()

    def _keep(self, state: str, found: list[str]) -> None:
        if found:
            self.found[state] = found

    def unfolded(self, state: str) -> None:
        """At the page with everything unfolded, also what only then comes to be folded."""
        for _ in range(3):
            if not self.page.evaluate(UNFOLD):
                break
            self.page.wait_for_timeout(SETTLED_MS)
        self.look(state)


def test_every_page_with_all_that_it_unfolds(looked_at: Served, told: str, open_page: Callable[..., Page]) -> None:
    page = open_page(looked_at.url)
    looker = Looker(page)

    def step(name: str, **query: str) -> str:
        return looked_at.url.rstrip("/") + step_url(told, name, **query)

    pages = {
        "home": looked_at.url,
        "measure": step("measure", at="ports"),
        "rubbing": step("measure/rubbing"),
        "work out": step("work-out"),
        "plan": step("plan"),
        "sheets": step("mark-out", part="sheets"),
        "bench": step("mark-out", part="bench"),
        "trials": step("prove"),
        "trial": step("prove", trial=DAY),
        "learn": step("learn"),
        "photos": f"{looked_at.url}files/{quote(told)}",
        "settings": f"{looked_at.url}settings",
        "help": f"{looked_at.url}help",
        "lost": f"{looked_at.url}no/such/page",
    }
    for state, url in pages.items():
        page.goto(url)
        page.get_by_role("heading", level=1).first.wait_for()
        page.locator(COME.get(state, "h1")).first.wait_for()
        looker.unfolded(state)
    assert looker.found == {}
    assert looker.looked == list(pages)


def test_every_dialog_and_message(looked_at: Served, told: str, bare_kart: str, open_page: Callable[..., Page]) -> None:
    page = open_page(looked_at.url)
    looker = Looker(page)

    def go(build: str, name: str, **query: str) -> None:
        page.goto(looked_at.url.rstrip("/") + step_url(build, name, **query))

    def asked(state: str, button: str, leave: str) -> None:
        """A dialog that a button opens. leave : the button that closes it and does nothing"""
        page.get_by_role("button", name=button).first.click()
        page.locator(".q-dialog .panel").wait_for()
        looker.look(state, ".q-dialog")
        page.locator(".q-dialog").get_by_role("button", name=leave).click()
        page.locator(".q-dialog").wait_for(state="detached")

    go(bare_kart, "measure", at="bottom-end")
    page.locator('[data-path="record.crank.stroke_mm"]').click()
    page.get_by_role("button", name="Big keys").click()
    page.locator("#big-keys").wait_for()
    looker.look("a field in hand, with the big keys")
    asked("keep as a revision", "Keep as a revision", "Not yet")
    go(bare_kart, "measure", at="engine")
    asked("load a record", "Load it from a TOML file", "Leave it")
    page.get_by_role("link", name="Help", exact=True).click()
    page.get_by_role("dialog", name="Help").wait_for()
    looker.look("help beside the page", ".help-panel")
    page.keyboard.press("Escape")

    # two devices at one place; a message in passing; what was typed for a server that was away
    go(bare_kart, "measure", at="bottom-end")
    bore = page.locator('[data-path="record.cylinder.bore_mm"]')
    bore.fill("50.11")
    was = desk_of(bare_kart, where=looked_at.notebook).document["record"]["cylinder"]["bore_mm"]
    edit(
        bare_kart, "record.cylinder.bore_mm", 50.22, before=was, device="phone", label="bore 50.22 mm",
        where=looked_at.notebook,
    )  # fmt: skip
    bore.press("Tab")
    page.get_by_role("heading", name="Changed on two devices").wait_for()
    looker.look("changed on two devices", ".q-dialog")
    page.get_by_role("button", name="Keep theirs").click()
    page.locator(".q-dialog").wait_for(state="detached")
    page.evaluate(
        "localStorage.setItem(`scribeline:typed:${location.pathname}:record.gone`,"
        " JSON.stringify({ value: '12.5', label: 'gone', at: Date.now() }))"
    )
    page.reload()
    page.get_by_role("heading", name="Typed here while scribeline could not be reached").wait_for()
    looker.look("typed while away")
    page.get_by_role("button", name="Put it away").click()
    bore.fill("fifty")
    bore.press("Tab")
    page.locator("[aria-invalid=true]").wait_for()
    looker.look("a value that is refused")

    go(told, "learn")
    page.locator("details.fold", has_text="Set beside what was measured").first.evaluate(OPEN)
    page.get_by_role("button", name="Set this value beside").click()
    page.get_by_role("heading", name="That did not work").wait_for()
    looker.look("that did not work", ".q-dialog")
    page.get_by_role("button", name="Understood").click()
    page.get_by_role("combobox", name="Full lines: the later").click()
    page.get_by_role("listbox").wait_for()
    looker.look("a list to choose from", ".q-menu")
    page.keyboard.press("Escape")

    go(told, "prove", trial=DAY)
    asked("drop a run", "Drop", "Leave it")
    go(told, "mark-out", part="sheets")
    asked("a sheet looked at closely", "Look closer", "Close")
    go(bare_kart, "prove", trial="no such day")
    page.get_by_role("alert").first.wait_for()
    looker.look("a trial that is not there", ".q-dialog")
    page.goto(f"{looked_at.url}settings")
    asked("shut out", "Shut out", "Leave it in")

    stranger = open_page(looked_at.url, let_in=False)
    looker.page = stranger
    looker.look("not let in")
    stranger.goto(f"{looked_at.url}pair")
    looker.look("pair this device")
    assert looker.found == {}
    assert len(looker.looked) == 15


A4_WIDE = {"width": 703, "height": 1000}  # 210 mm less two margins of 12 mm, at 96 pixels an inch (CSS)
CUT_OFF = """() => [...document.querySelectorAll(".slides, .sliding, .grid-typed, .drawn-on")]
  .filter((one) => one.checkVisibility() && one.scrollWidth > one.clientWidth + 1)
  .map((one) => one.ariaLabel || one.className)"""


@pytest.mark.parametrize(
    ("name", "query", "come"),
    [("plan", {}, "table.apart"), ("prove", {"trial": DAY}, "table.runs"), ("learn", {}, ".history-drawing svg")],
)
def test_nothing_is_cut_off_where_a_page_is_printed(
    looked_at: Served, told: str, open_page: Callable[..., Page], name: str, query: dict[str, str], come: str
) -> None:
    """On paper nothing can be slid into view: what a cut list said of the degree wheel was gone."""
    page = open_page(looked_at.url.rstrip("/") + step_url(told, name, **query), size=A4_WIDE)
    page.locator(come).first.wait_for()
    page.emulate_media(media="print")
    assert page.evaluate(CUT_OFF) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= A4_WIDE["width"]
