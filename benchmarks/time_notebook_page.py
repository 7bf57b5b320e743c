"""The first page with 500 cylinders, timed in Chromium: python benchmarks/time_notebook_page.py

Prints when the list stands after the page is asked for, when the drawings in view do (the first time they are made, the
second they are kept), and how long after a key the list is narrowed down.
"""

import statistics
import tempfile
import time
from pathlib import Path

from playwright.sync_api import sync_playwright

from scribeline.tasks.notebook import keep_record
from tests.examples import path_of
from tests.web.browser.conftest import chromium
from tests.web.browser.serving import Served, cookie

CYLINDERS = 500
LISTED = f"document.querySelectorAll('.cylinder').length === {CYLINDERS}"
DRAWN = "[...document.querySelectorAll('[data-small]')].slice(0, 8).every((one) => one.querySelector('svg'))"
TYPED = """() => {
  const field = document.getElementById("search-cylinders");
  const times = [];
  for (const text of ["k", "ka", "kar", "kart", "kart 4", "kart 41", "kart 419", "", "kart 2"]) {
    const before = performance.now();
    field.value = text;
    field.dispatchEvent(new Event("input", { bubbles: true }));
    document.body.getBoundingClientRect();  // have it laid out
    times.push(performance.now() - before);
  }
  return times;
}"""


def main() -> None:
    """Fill a notebook, serve it, look at it."""
    with tempfile.TemporaryDirectory() as folder:
        notebook = Path(folder) / "notebook.sqlite"
        record = path_of("club-kart-98").read_text()
        own = Path(folder) / "one.toml"
        for number in range(CYLINDERS):
            own.write_text(record.replace("value = 50.00, ", f"value = {50 + number / 1000:.3f}, "))
            keep_record(own, build=f"kart {number:03}", author="bench", where=notebook)
        served = Served(notebook).start()
        try:
            look(served)
        finally:
            served.stop()


def look(served: Served) -> None:
    """Open the page three times."""
    with sync_playwright() as playwright:
        browser = chromium(playwright)
        for name in ("first", "again", "again"):
            context = browser.new_context(viewport={"width": 1280, "height": 900})
            context.add_cookies([cookie(served.port)])
            page = context.new_page()
            before = time.perf_counter()
            page.goto(served.url, wait_until="commit")
            page.wait_for_function(LISTED)
            listed = time.perf_counter() - before
            page.wait_for_function(DRAWN, timeout=60_000)
            drawn = time.perf_counter() - before
            typed = page.evaluate(TYPED)
            print(
                f"{name}: listed after {listed:.2f} s, drawings in view after {drawn:.2f} s, "
                f"narrowed down within {statistics.median(typed):.1f} ms (slowest {max(typed):.1f} ms)"
            )
            context.close()
        browser.close()


if __name__ == "__main__":
    main()
