"""A server and a browser for the walks. Without Chromium they are skipped; in CI, which can install it, they fail.

Which server: a start takes some ten seconds of processor time, more than most walks. So a walk takes

    looked_at        the one server that all share, where it leaves "kart" as it is
    bare_kart        on that server, a cylinder of the walk's own: the kart as measured, and nothing else
    kart_of_its_own  the same with a plan in hand and a trial, which has the cylinder's name
    served           a server of its own on "kart", where it kills, stops or pairs
    served_empty     a server of its own on an empty notebook
"""

import secrets
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Error, Page, Playwright, expect, sync_playwright

from scribeline.plan.plan_file import read_plan
from scribeline.tasks.desk import edit
from scribeline.tasks.notebook import keep_record
from scribeline.tasks.plan_in_hand import document_of
from scribeline.tasks.trials import new_trial
from tests.examples import FOLDER, path_of
from tests.marking.printed import program
from tests.web.browser.serving import TOKENS, Served, cookie

DESKTOP = {"width": 1280, "height": 900}
APP = "document.getElementById('app')"
PHONE = {"width": 360, "height": 780}
PATIENCE_MS = 180_000  # a slow machine with other work; nothing waits that long on an idle one
PLAN = document_of(read_plan((FOLDER / "club-kart-98-plan.toml").read_text(encoding="utf-8")))


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="session")
def browser(playwright: Playwright) -> Iterator[Browser]:
    started = chromium(playwright)
    yield started
    started.close()


def chromium(playwright: Playwright, *arguments: str) -> Browser:
    path = program("chromium", "chromium")
    return playwright.chromium.launch(executable_path=path, args=["--no-sandbox", *arguments])


@pytest.fixture
def served(notebook: Path) -> Iterator[Served]:
    """A server on a notebook that holds the demonstration kart as the build "kart"."""
    one = Served(notebook).start()
    yield one
    one.kill_if_running()


@pytest.fixture(scope="session")
def looked_at(kart_notebook: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """One server for all walks that leave its "kart" as it is, or work on a cylinder of their own."""
    one = Served(Path(shutil.copy(kart_notebook, tmp_path_factory.mktemp("looked at") / "notebook.sqlite"))).start()
    yield one
    one.kill_if_running()


@pytest.fixture
def bare_kart(looked_at: Served) -> str:
    """A new cylinder on the shared server with the demonstration kart as its first revision."""
    name = f"kart-{secrets.token_hex(4)}"
    keep_record(path_of("club-kart-98"), build=name, note="as measured", author="tests", where=looked_at.notebook)
    return name


@pytest.fixture
def kart_of_its_own(looked_at: Served, bare_kart: str) -> str:
    """The same with the demonstration's plan in hand, and a trial of its name."""
    edit(bare_kart, "plan", PLAN, device="bench", label="a plan", where=looked_at.notebook)
    new_trial(bare_kart, build=bare_kart, gates=["30 to 45 km/h"], author="tests", where=looked_at.notebook)
    return bare_kart


@pytest.fixture
def served_empty(tmp_path: Path) -> Iterator[Served]:
    """A server on a notebook that is not there yet."""
    one = Served(tmp_path / "notebook.sqlite").start()
    yield one
    one.kill_if_running()


def until(page: Page, condition: Callable[[], object]) -> None:
    """Wait for what only the notebook, or a field, can tell."""
    for _ in range(PATIENCE_MS // 100):
        if condition():
            return
        page.wait_for_timeout(100)
    raise AssertionError("it did not come to that")


def connected(page: Page, go: Callable[..., Any]) -> Callable[..., Any]:
    """The same way to a page, which comes back once the page listens: what a robot types before that, nobody hears."""

    def gone(*arguments: Any, **options: Any) -> Any:
        try:
            answer = go(*arguments, **options)
        except Error as broken:
            if "ERR_ABORTED" not in str(broken):
                raise
            answer = go(*arguments, **options)  # the page loaded itself anew just then: its server was back
        page.wait_for_function(f"{APP} == null || (window.did_handshake && !{APP}.inert)")
        return answer

    return gone


@pytest.fixture
def open_page(browser: Browser) -> Iterator[Callable[..., Page]]:
    """Opens an address in a browser of its own; what the page's scripts complain of fails the test.

    let_in : as one that opened the address with the key before
    """
    contexts, complaints = [], []

    def opened(
        url: str, *, size: dict[str, int] = DESKTOP, dark: bool = False, let_in: bool = True, **options: object
    ) -> Page:
        scheme = "dark" if dark else "light"
        context = browser.new_context(viewport=size, color_scheme=scheme, **options)  # type: ignore[arg-type]
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        if let_in:
            context.add_cookies([cookie(port) for port in TOKENS])
        page = context.new_page()
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.goto, page.reload = connected(page, page.goto), connected(page, page.reload)  # type: ignore[method-assign]
        page.goto(url)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert complaints == []
