"""Every page as it looks, light, dark and on a phone, into docs/pictures/pages: look at them after a change.

    .venv/bin/python docs/screenshots.py              all of them
    .venv/bin/python docs/screenshots.py plan prove   some

A real server on a notebook of its own with the invented kart in it: measured, planned, driven, compared. The pictures
are drawn by Debian's Chromium and kept in few colours, so that the repository stays small.
"""

import io
import sys
import tempfile
from contextlib import ExitStack
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))  # the tests' server and browser are used, and are not installed

from scribeline.plan.plan_file import read_plan_file  # noqa: E402
from scribeline.tasks.desk import desk_of, edit  # noqa: E402
from scribeline.tasks.ledger_predicting import keep_prediction  # noqa: E402
from scribeline.tasks.notebook import keep_record  # noqa: E402
from scribeline.tasks.plan_in_hand import document_of  # noqa: E402
from scribeline.tasks.trials import add_files, new_trial  # noqa: E402
from tests.marking.printed import program  # noqa: E402
from tests.web.browser.serving import Served, cookie  # noqa: E402

FOLDER = ROOT / "docs" / "pictures" / "pages"
EXAMPLES = ROOT / "examples"
BUILD = "club kart 98"
DAY = "before and after"
VARIANTS = {
    "light": ({"width": 1280, "height": 860}, "light"),
    "dark": ({"width": 1280, "height": 860}, "dark"),
    "phone": ({"width": 360, "height": 780}, "light"),
}
COLOURS = 64  # enough for lines, letters and one accent on paper
# page: address behind the cylinder's, words to wait for, and the heading that comes to the top of the picture
PAGES: dict[str, tuple[str, str, str]] = {
    "home": ("", "club kart 98", ""),
    "measure": ("measure?at=bottom-end", "Crank and rod", ""),
    "work-out": ("work-out", "The port in hand", ""),
    "plan": ("plan", "Before and after", "Operations, in the order they are done"),
    "mark-out": ("mark-out", "Take the sheets", "1 Prove the printer"),
    "prove": (f"prove?trial={DAY.replace(' ', '%20')}", "quicker than", "Verdict"),
    "learn": ("learn", "This cylinder, so far", ""),
}


def demonstration(notebook: Path) -> None:
    """The invented kart in a notebook: two revisions, a plan in hand, a day of runs, something foretold."""
    keep_record(EXAMPLES / "club-kart-98.toml", build=BUILD, note="as measured", author="demonstration", where=notebook)
    for what, value, low, high, unit in (
        ("squish gap with the thinner gasket", 0.83, 0.75, 0.91, "mm"),
        ("gate time 30 to 45 km/h", 1.62, 1.50, 1.74, "s"),
    ):
        keep_prediction(BUILD, what, value, low, high, unit, author="demonstration", where=notebook)
    squish_set = EXAMPLES / "club-kart-98-squish-set.toml"
    keep_record(squish_set, build=BUILD, note="squish set", author="demonstration", where=notebook)
    plan = document_of(read_plan_file(EXAMPLES / "club-kart-98-plan.toml"))
    plan["steps"] = [one for one in plan["steps"] if "gasket" not in one["do"] and "deck" not in one["do"]]  # done
    before = desk_of(BUILD, where=notebook).document.get("plan")
    edit(BUILD, "plan", plan, before=before, device="bench", label="a plan from its file", where=notebook)
    new_trial(DAY, build=BUILD, author="demonstration", where=notebook)
    add_files(DAY, [EXAMPLES / "gate-times.csv"], author="demonstration", where=notebook)


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
        demonstration(notebook)
        served = Served(notebook).start()
        open_things.callback(served.kill_if_running)
        browser = open_things.enter_context(sync_playwright()).chromium.launch(
            executable_path=program("chromium", "chromium"), args=["--no-sandbox"]
        )
        for step in wanted or list(PAGES):
            for name, (size, scheme) in VARIANTS.items():
                path, *shown = PAGES[step]
                url = served.url + (f"cylinder/{BUILD.replace(' ', '%20')}/{path}" if path else "")
                context = browser.new_context(viewport=size, color_scheme=scheme)  # type: ignore[arg-type]
                context.add_cookies([cookie(served.port)])  # type: ignore[list-item]
                picture = taken(context.new_page(), url, *shown)
                few = picture.quantize(COLOURS, dither=Image.Dither.NONE)
                few.save(FOLDER / f"{step}-{name}.png", optimize=True)
                context.close()
                print(FOLDER / f"{step}-{name}.png")


if __name__ == "__main__":
    main(sys.argv[1:])
