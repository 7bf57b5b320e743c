"""One walk through the page Learn in a real browser, by keyboard, then the same page small and in the dark."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.lives import lived
from tests.web.browser.accessibility import barriers
from tests.web.browser.conftest import PHONE
from tests.web.browser.serving import Served


@pytest.fixture(scope="module")
def life(looked_at: Served, tmp_path_factory: pytest.TempPathFactory) -> str:
    """Where a cylinder that has a history learns; the walks leave its revisions as they are."""
    lived(tmp_path_factory.mktemp("life"), "lived with", looked_at.notebook)
    return f"{looked_at.url}cylinder/lived%20with/learn"


def test_a_walk_by_keyboard(life: str, open_page: Callable[..., Page]) -> None:
    page = open_page(life)
    expect(page.locator("figcaption", has_text="The bore: revision 2 broken, revision 3 full")).to_be_visible()
    assert barriers(page) == []

    first = page.get_by_role("button", name="Revision 1, as bought")
    first.focus()
    page.keyboard.press("Enter")
    expect(page.locator("figcaption", has_text="The bore: revision 3 broken, revision 1 full")).to_be_visible()
    assert page.url.endswith("from=3&to=1")
    page.reload()
    expect(page.locator("figcaption", has_text="The bore: revision 3 broken, revision 1 full")).to_be_visible()

    page.get_by_role("button", name="Work out both curves").press("Enter")
    expect(page.get_by_text("Quick: long cells, every second speed")).to_be_visible()
    page.get_by_role("button", name="Stop").press("Enter")
    expect(page.get_by_role("button", name="Stop")).to_be_hidden()
    expect(page.get_by_text("Most power: revision 3")).to_be_visible()  # what there was stays

    page.get_by_text("A picture of both, to show to others").press("Enter")
    expect(page.get_by_role("img", name="Revisions 3 and 1: timing, squish")).to_be_visible()
    with page.expect_download() as picture:
        page.get_by_role("button", name="Take it as PNG").press("Enter")
    assert picture.value.suggested_filename == "lived with, revisions 3 and 1.png"
    assert picture.value.path().read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"

    page.get_by_role("textbox", name="A lesson").fill("Deburr every port edge.")
    page.get_by_role("button", name="Keep this lesson").press("Enter")
    expect(page.locator("ol.lessons")).to_contain_text("Deburr every port edge.")
    page.get_by_role("button", name="Revision 2, 0.65 mm").press("Enter")
    page.get_by_role("button", name="Take revision 1 in hand again").press("Enter")
    expect(page.get_by_role("button", name="Undo: back to revision 1")).to_be_enabled()
    assert barriers(page) == []


def test_on_a_telephone_in_the_dark(life: str, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{life}?from=1&to=3", size=PHONE, dark=True)
    expect(page.locator("figcaption", has_text="The bore: revision 1 broken, revision 3 full")).to_be_visible()
    for summary in page.locator("summary").all():
        summary.click()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert barriers(page) == []
    small = page.evaluate(
        "[...document.querySelectorAll('main button, main summary')].filter((e) => e.offsetParent && "
        "e.getBoundingClientRect().height < 47.5).map((e) => e.textContent)"
    )
    assert small == []
