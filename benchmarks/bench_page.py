"""From a hand's movement to redrawn geometry and to the first curve, in a real browser on a real server.

    .venv/bin/python benchmarks/bench_page.py            # the tables of docs/performance.md, three minutes
    .venv/bin/python benchmarks/bench_page.py --full     # beside 500 cylinders and 5,000 recordings, filled first

Promised: 100 ms at the 95th percentile from an input (an edge that moves, a value that is typed) to the bore drawn
again with it, measured in Chromium on 2 cores; and 60 pictures a second while the crank turns, with nothing on the
wire. Each time runs in the browser: from the event that it got to the change of its own drawing. A power curve shall
appear, coarse, within a second of being asked for: by going on to the page "Plan", or by a change of an amount there.
And from a server that said a moment ago that it is ready: its first page, promised within 2 s, and its first curve.
"""

import shutil
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

from playwright.sync_api import Browser, Page, sync_playwright

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from benchmarks.time_full_notebook import fill  # noqa: E402
from scribeline.notebook import open_notebook  # noqa: E402
from scribeline.plan.plan_file import read_plan  # noqa: E402
from scribeline.tasks.desk import edit  # noqa: E402
from scribeline.tasks.notebook import keep_record  # noqa: E402
from scribeline.tasks.plan_in_hand import document_of  # noqa: E402
from tests.web.browser.serving import Served  # noqa: E402

MOVES = 120
PLANS, CHANGES, STARTS = 5, 10, 5
TURN_S = 5.0
# Notes when an input came and when the drawing that follows from it was there, both by the browser's clock.
WATCH = """() => {
  window.waits = []; let since = 0;
  for (const kind of ['pointermove', 'change', 'keydown']) {
    document.addEventListener(kind, (e) => { if (!since) since = performance.now(); }, true);
  }
  new MutationObserver(() => {
    if (!since) return;
    const began = since; since = 0;
    requestAnimationFrame(() => waits.push(performance.now() - began));
  }).observe(document.querySelector('.place-bore .paper > div'), { childList: true });
}"""


ASK = "(one) => { sessionStorage.since = Date.now(); one.click(); }"
# The power curve where it is of the plan as it stands, else "".
CURVE = """() => {
  const named = (one) => one.querySelector('figcaption')?.textContent.startsWith('Power before');
  const drawn = [...document.querySelectorAll('figure.drawn')].find(named);
  return drawn && !drawn.querySelector('.of-before') ? drawn.querySelector('svg').innerHTML : '';
}"""


def percentile(values: list[float], share: float) -> float:
    """The value that `share` of them do not pass."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, round(share * (len(ordered) - 1)))]


def dragged(page: Page) -> list[float]:
    """The exhaust's roof up and down by tenths of a millimetre."""
    box = page.locator(".grip-roof").first.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] - 8
    page.mouse.move(x, y)
    page.mouse.down()
    page.evaluate("waits.length = 0")
    for i in range(MOVES):
        page.mouse.move(x, y - 4 - 12 * (i % 2) - 0.1 * i)
        page.wait_for_timeout(120)
    found: list[float] = page.evaluate("waits")
    page.mouse.up()
    page.wait_for_timeout(800)
    return found


def typed(page: Page) -> list[float]:
    """The exhaust's roof typed, each value saved as an edit."""
    page.evaluate("waits.length = 0")
    field = page.get_by_label("roof below the deck, mm").first
    for i in range(MOVES // 4):
        field.fill(f"{28.0 + 0.02 * i:.2f}")
        before = page.evaluate("waits.length")
        field.press("Enter")
        page.wait_for_function(f"waits.length > {before}")
        page.wait_for_timeout(250)
    found: list[float] = page.evaluate("waits")
    return found


def turned(page: Page, wire: list[int]) -> tuple[float, int]:
    """Pictures a second while the crank turns, and messages on the wire meanwhile."""
    page.click("[data-crank=play]")
    first, began, sent = page.evaluate("[scribelineBench.framesDrawn(), performance.now()]"), 0.0, wire[0]
    page.wait_for_timeout(TURN_S * 1000)
    last = page.evaluate("[scribelineBench.framesDrawn(), performance.now()]")
    began = last[1] - first[1]
    page.click("[data-crank=play]")
    return 1000.0 * (last[0] - first[0]) / began, wire[0] - sent


def curves(page: Page, url: str) -> list[tuple[str, list[float]]]:
    """From the click on "Plan" to its first curve, for plans that nobody looked at; then from a step of an amount."""
    opened = []
    for number in range(PLANS):
        page.goto(f"{url}cylinder/plan-{number}/work-out")
        page.wait_for_selector(".grip-roof")
        page.wait_for_timeout(1500)
        page.get_by_role("link", name="Plan").first.evaluate(
            "(one) => { sessionStorage.since = Date.now(); one.click(); }"
        )
        page.wait_for_url("**/plan")
        page.wait_for_function(CURVE)
        opened.append(page.evaluate("Date.now() - sessionStorage.since"))
    changed = []
    for _ in range(CHANGES):
        page.wait_for_timeout(1500)
        was = page.evaluate(CURVE)
        page.get_by_role("button", name="more: raise exhaust roof").evaluate(ASK)
        page.wait_for_function(f"(was) => {{ const now = ({CURVE})(); return now && now !== was; }}", arg=was)
        changed.append(page.evaluate("Date.now() - sessionStorage.since"))
    return [("going on to Plan", opened), ("an amount changed there", changed)]


def started(browser: Browser, notebook: Path) -> list[tuple[str, list[float]]]:
    """From "ready" to the first page, and from asking for Plan straight afterwards to its curve; a server each time."""
    pages, found = [], []
    for number in range(STARTS):
        server = Served(notebook).start()
        try:
            ready = time.monotonic()
            page = browser.new_page(viewport={"width": 1280, "height": 900})
            page.goto(server.opening_url)
            page.get_by_role("link", name="kart").first.wait_for()
            pages.append(1000.0 * (time.monotonic() - ready))
            asked = time.monotonic()
            page.goto(f"{server.url}cylinder/plan-{number}/plan")
            page.wait_for_function(CURVE)
            found.append(1000.0 * (time.monotonic() - asked))
            page.close()
        finally:
            server.kill_if_running()
    return [("a server is ready: the first page", pages), ("then Plan: its curve", found)]


def main() -> None:
    """Print the tables."""
    folder = Path(tempfile.mkdtemp())
    if "--full" in sys.argv:
        began = time.monotonic()
        with open_notebook(folder / "notebook.sqlite", create=True) as notebook:
            fill(notebook, folder, 500, 250, 20)
        print(f"500 cylinders and 5,000 recordings were put in, in {time.monotonic() - began:.0f} s")
    keep_record(ROOT / "examples" / "club-kart-98.toml", build="kart", where=folder / "notebook.sqlite")
    plan = document_of(read_plan((ROOT / "examples" / "club-kart-98-plan.toml").read_text(encoding="utf-8")))
    for number in range(PLANS):
        build = f"plan-{number}"
        keep_record(ROOT / "examples" / "club-kart-98.toml", build=build, where=folder / "notebook.sqlite")
        edit(build, "plan", plan, device="bench", label="a plan", where=folder / "notebook.sqlite")
    server = Served(folder / "notebook.sqlite").start()
    try:
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
            page = browser.new_page(viewport={"width": 1280, "height": 900})
            wire = [0]

            def count(_: object) -> None:
                wire[0] += 1

            page.on("websocket", lambda socket: (socket.on("framesent", count), socket.on("framereceived", count)))
            page.goto(server.opening_url)
            page.goto(f"{server.url}cylinder/kart/work-out")
            page.wait_for_selector(".grip-roof")
            page.locator(".place-bore").evaluate("(one) => one.scrollIntoView()")
            page.wait_for_timeout(1500)
            page.evaluate(WATCH)
            print(f"{'input':<34}{'n':>5}{'median':>10}{'95 %':>10}{'worst':>10}   ms to the redrawn bore")
            for words, waits in (("an edge in motion", dragged(page)), ("a value typed, and saved", typed(page))):
                figures = "".join(f"{one:>10.0f}" for one in (median(waits), percentile(waits, 0.95), max(waits)))
                print(f"{words:<34}{len(waits):>5}{figures}")
            pictures, sent = turned(page, wire)
            print(f"the crank turns: {pictures:.1f} pictures a second, {sent} messages on the wire in {TURN_S:g} s")
            print(
                f"{'a power curve, after':<34}{'n':>5}{'median':>10}{'95 %':>10}{'worst':>10}   ms to the coarse curve"
            )
            measured = curves(page, server.url)
            server.kill_if_running()
            for words, waits in measured + started(browser, folder / "notebook.sqlite"):
                figures = "".join(f"{one:>10.0f}" for one in (median(waits), percentile(waits, 0.95), max(waits)))
                print(f"{words:<34}{len(waits):>5}{figures}")
            browser.close()
    finally:
        server.kill_if_running()
        shutil.rmtree(folder)


if __name__ == "__main__":
    main()
