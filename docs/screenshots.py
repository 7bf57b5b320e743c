"""Every page as it looks, light, dark and on a phone, into docs/pictures/pages: look at them after a change.

    .venv/bin/python docs/screenshots.py              all of them
    .venv/bin/python docs/screenshots.py plan prove   some

A real server on a notebook of its own with the demonstration in it: measured, planned, driven, compared. The pictures
are drawn by Debian's Chromium and kept in few colours, so that the repository stays small.
"""

import io
import sys
import tempfile
from contextlib import ExitStack
from pathlib import Path
from urllib.parse import quote

from PIL import Image
from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))  # the tests' server and browser are used, and are not installed

from scribeline.tasks.cylinders import begin_demonstration  # noqa: E402
from tests.marking.printed import program  # noqa: E402
from tests.web.browser.serving import Served, cookie  # noqa: E402

FOLDER = ROOT / "docs" / "pictures" / "pages"
BUILD = "Club kart 98"
DAY = "Club kart 98, as bought against squish set"
VARIANTS = {
    "light": ({"width": 1280, "height": 860}, "light"),
    "dark": ({"width": 1280, "height": 860}, "dark"),
    "phone": ({"width": 360, "height": 780}, "light"),
}
COLOURS = 64  # enough for lines, letters and one accent on paper
# page: address behind the cylinder's, words to wait for, and the heading that comes to the top of the picture
PAGES: dict[str, tuple[str, str, str]] = {
    "home": ("", BUILD, ""),
    "measure": ("measure?at=bottom-end", "Crank and rod", ""),
    "work-out": ("work-out", "The port in hand", ""),
    "plan": ("plan", "Before and after", "Operations, in the order they are done"),
    "mark-out": ("mark-out", "Take the sheets", "1 Prove the printer"),
    "prove": (f"prove?trial={quote(DAY)}", "quicker than", "Verdict"),
    "learn": ("learn", "This cylinder, so far", ""),
}


def taken(page: Page, url: str, wait_for: str, at_the_top: str) -> Image.Image:
    """A picture of a page once it shows what it should and has come to rest."""
    page.goto(url)
    page.get_by_text(wait_for).first.wait_for(timeout=60_000)
    page.wait_for_timeout(4_000)
    if at_the_top:
        page.get_by_role("heading", name=at_the_top).first.evaluate("one => one.scrollIntoView({ block: 'start' })")
        page.wait_for_timeout(1_000)
    return Image.open(io.BytesIO(page.screenshot())).convert("RGB")


def main(wanted: list[str]) -> None:
    """Take the pictures."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, ExitStack() as open_things:
        notebook = Path(folder) / "notebook.sqlite"
        begin_demonstration(author="demonstration", where=notebook)
        served = Served(notebook).start()
        open_things.callback(served.kill_if_running)
        browser = open_things.enter_context(sync_playwright()).chromium.launch(
            executable_path=program("chromium", "chromium"), args=["--no-sandbox"]
        )
        for step in wanted or list(PAGES):
            for name, (size, scheme) in VARIANTS.items():
                path, *shown = PAGES[step]
                url = served.url + (f"cylinder/{quote(BUILD)}/{path}" if path else "")
                context = browser.new_context(viewport=size, color_scheme=scheme)  # type: ignore[arg-type]
                context.add_cookies([cookie(served.port)])  # type: ignore[list-item]
                picture = taken(context.new_page(), url, *shown)
                few = picture.quantize(COLOURS, dither=Image.Dither.NONE)
                few.save(FOLDER / f"{step}-{name}.png", optimize=True)
                context.close()
                print(FOLDER / f"{step}-{name}.png")


if __name__ == "__main__":
    main(sys.argv[1:])
