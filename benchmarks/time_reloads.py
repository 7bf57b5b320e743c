"""The same page loaded again and again, with the server's memory before and after: python benchmarks/time_reloads.py

Two hundred loads of the page Plan (or as many as are given) in one tab, each with something half typed in a form, which
has to stand there again. Prints memory and pages of the server after the first load, now and then, and after the last.
"""

import sys
import tempfile
import time
from pathlib import Path

from playwright.sync_api import sync_playwright

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from scribeline.tasks.desk import edit  # noqa: E402
from scribeline.tasks.notebook import keep_record  # noqa: E402
from tests.examples import path_of  # noqa: E402
from tests.web.browser.conftest import PLAN, chromium, connected  # noqa: E402
from tests.web.browser.serving import Served, cookie  # noqa: E402

WARM = 10  # loads after which everything is there that the server keeps for good


def memory_mib(process_id: int) -> float:
    """What a process holds of the machine's memory, as Linux says it."""
    held = Path(f"/proc/{process_id}/status").read_text().partition("VmRSS:")[2].split()[0]
    return int(held) / 1024


def main(loads: int = 200) -> None:
    """Load, type, load."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        notebook = Path(folder) / "notebook.sqlite"
        keep_record(path_of("club-kart-98"), build="kart", author="bench", where=notebook)
        edit("kart", "plan", PLAN, device="bench", label="a plan", where=notebook)
        served, browser = Served(notebook).start(), chromium(playwright)
        assert served.process is not None
        try:
            context = browser.new_context(viewport={"width": 1280, "height": 900})
            context.add_cookies([cookie(served.port)])
            page = context.new_page()
            page.goto, page.reload = connected(page, page.goto), connected(page, page.reload)  # type: ignore[method-assign]
            page.goto(f"{served.url}cylinder/kart/plan")
            page.get_by_text("Gaskets at hand", exact=False).first.click()
            sheets, lost, began = page.get_by_label("add sheets", exact=False), 0, time.monotonic()
            for number in range(loads):
                sheets.fill(f"sheet {number}")
                page.reload()
                page.wait_for_timeout(100)
                lost += sheets.input_value() != f"sheet {number}"
                if number + 1 in (1, WARM) or (number + 1) % 50 == 0:
                    print(f"{number + 1:4} loads: {memory_mib(served.process.pid):6.1f} MiB, {lost} lost")
            print(f"{(time.monotonic() - began) / loads:.2f} s each")
        finally:
            served.kill_if_running()
            browser.close()


if __name__ == "__main__":
    main(*(int(one) for one in sys.argv[1:]))
