"""The notebook's own pages as a builder walks through them: from an empty one to cylinders with photographs."""

import io
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from scribeline.tasks.desk import begin_build
from scribeline.tasks.notebook import list_builds, show_build
from tests.examples import path_of
from tests.web.browser.accessibility import barriers
from tests.web.browser.conftest import DESKTOP, PHONE
from tests.web.browser.serving import Served


def fits(page: Page) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth"))


def test_from_an_empty_notebook_to_cylinders_and_back_from_a_file(
    served_empty: Served, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    page = open_page(served_empty.url, size=PHONE)
    page.get_by_text("This notebook is empty").wait_for()
    assert barriers(page) == []
    page.get_by_role("button", name="Begin measuring").click()
    page.get_by_text("Give it a name that you will know it by").wait_for()
    page.get_by_label("Name of the cylinder").fill("left barrel")
    page.keyboard.press("Enter")
    page.wait_for_url("**/cylinder/left%20barrel/measure")

    page.goto(served_empty.url)
    page.get_by_role("button", name="Take the demonstration engine").click()
    page.wait_for_url("**/work-out")
    page.goto(served_empty.url)
    page.get_by_label("Choose a record").set_input_files(path_of("reed-125"))
    page.wait_for_url("**/measure")
    page.goto(served_empty.url)
    expect(page.locator(".cylinder")).to_have_count(3)
    page.locator(".cylinder svg path.small-exhaust").first.wait_for()
    assert barriers(page) == []
    assert fits(page)

    broken = tmp_path / "broken.toml"
    broken.write_text("bore = = 5")
    page.get_by_label("Choose a record").set_input_files(broken)
    page.get_by_role("alert").get_by_text("broken.toml is no engine record").wait_for()
    page.get_by_role("button", name="Understood").click()
    page.get_by_label("Choose a record").set_input_files(
        {"name": "film.toml", "mimeType": "video/mp4", "buffer": b"\0\0\0\x20ftypisom"}
    )
    page.get_by_text("film.toml is not accepted").wait_for()
    assert len(list_builds(where=served_empty.notebook)) == 3

    with page.expect_download() as saved:
        page.get_by_role("link", name="Save the notebook to a file").click()
    saved.value.save_as(tmp_path / "saved.zip")
    assert served_empty.stop() == 0  # as Ctrl-C does, and in good order
    other = Served(tmp_path / "other.sqlite").start()
    try:
        page = open_page(other.url)
        page.get_by_label("Choose a saved notebook").set_input_files(tmp_path / "saved.zip")
        expect(page.locator(".cylinder")).to_have_count(3)
    finally:
        other.kill_if_running()


def test_photographs_are_added_shown_small_and_refused(
    looked_at: Served, open_page: Callable[..., Page], bare_kart: str
) -> None:
    page = open_page(looked_at.url, dark=True)
    page.get_by_role("link", name=f"Add photos of {bare_kart}").click()
    choose = page.get_by_label("Take or choose photos")
    made = io.BytesIO()
    Image.new("RGB", (1600, 1200), "teal").save(made, "JPEG")
    choose.set_input_files({"name": "exhaust <b> before.jpg", "mimeType": "image/jpeg", "buffer": made.getvalue()})
    picture = page.get_by_role("img", name="Photo: exhaust b before.jpg")
    picture.wait_for()
    page.wait_for_function("document.querySelector('.photos img').naturalWidth === 320")
    assert barriers(page) == []
    truncated = {"name": "half.jpg", "mimeType": "image/jpeg", "buffer": made.getvalue()[:900]}
    choose.set_input_files(truncated)
    page.get_by_role("alert").get_by_text("half.jpg is no photograph that can be shown").wait_for()
    assert len(show_build(bare_kart, where=looked_at.notebook).attachments) == 1


def test_hundreds_of_cylinders_are_narrowed_down_as_one_types(notebook: Path, open_page: Callable[..., Page]) -> None:
    for number in range(60):
        begin_build(f"barrel {number:03}", note="blue" if number == 41 else "", where=notebook)
    served = Served(notebook).start()
    try:
        page = open_page(served.url)
        field = page.get_by_label("Find a cylinder")
        field.fill("barrel 04")
        expect(page.locator(".cylinder:visible")).to_have_count(11)  # 004, and 040 to 049
        expect(page.get_by_role("status").get_by_text("11 of 61 cylinders")).to_be_visible()
        field.fill("BLUE")
        expect(page.locator(".cylinder:visible")).to_have_count(1)
        drawn = page.evaluate(
            "performance.getEntriesByType('resource').filter((one) => one.name.includes('/small/')).length"
        )
        assert drawn < 40  # those out of view were not asked for
        page.locator(".cylinder:visible").get_by_role("link").first.press("Enter")
        page.wait_for_url("**/cylinder/barrel%20041/measure")
        page.goto(f"{served.url}cylinder/kart/learn")
        page.get_by_role("heading", level=1).wait_for()
        page.goto(served.url)
        page.get_by_role("link", name="kart").first.click()
        page.wait_for_url("**/cylinder/kart/learn")  # where it was left
    finally:
        served.kill_if_running()


@pytest.mark.parametrize("size", [PHONE, DESKTOP])
def test_settings_and_help_have_no_barriers_and_are_kept(
    looked_at: Served, open_page: Callable[..., Page], size: dict[str, int]
) -> None:
    page = open_page(f"{looked_at.url}settings", size=size)
    page.get_by_label("Inches").check()
    page.get_by_label("Dark: garage").check()
    page.locator("body.body--dark").wait_for()
    page.get_by_label("Your name").fill("kim")
    page.keyboard.press("Tab")
    page.get_by_text("Kept on this device").first.wait_for()
    assert barriers(page) == []
    assert fits(page)
    page.reload()
    expect(page.get_by_label("Inches")).to_be_checked()
    expect(page.get_by_label("Your name")).to_have_value("kim")
    page.locator("body.body--dark").wait_for()
    page.get_by_label("What the program is called").fill("bench script")
    page.get_by_role("button", name="Make a key").click()
    key = page.locator("code.key").inner_text()
    found = page.request.get(f"{looked_at.url}api/v1/builds", headers={"Authorization": f"Bearer {key}"})
    assert "kart" in [one["name"] for one in found.json()]
    helped = page.get_by_role("link", name="Help").first
    helped.click()
    panel = page.get_by_role("dialog", name="Help")
    panel.get_by_role("heading", name="Use a phone in the garage").wait_for()
    assert barriers(page) == []
    panel.get_by_role("link", name="who may come in").click()
    panel.get_by_role("heading", name="Who may come in to the pages").wait_for()
    assert page.url.endswith("/settings")  # nothing of the page is left
    page.keyboard.press("Escape")
    expect(panel).to_be_hidden()
    expect(helped).to_be_focused()
    page.goto(f"{looked_at.url}help")
    page.get_by_role("link", name="How to measure").first.click()
    page.locator(".help-text a[href='/help/howto/measure-squish']").first.click()
    page.get_by_role("heading", level=1, name="Measure the squish").wait_for()
    page.wait_for_function("[...document.images].every((one) => one.complete && one.naturalWidth > 0)")
    assert barriers(page) == []
    assert fits(page)
    answer = page.goto(f"{looked_at.url}help/no-such-page")
    page.get_by_role("heading", level=1, name="No such page in the help").wait_for()
    answer = page.goto(f"{looked_at.url}no/such/page")
    assert answer is not None
    assert answer.status == 404
    page.get_by_role("heading", level=1, name="There is no page here").wait_for()
    assert barriers(page) == []
