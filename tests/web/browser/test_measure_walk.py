"""A new engine entered on the Measure page in a real browser: by keyboard alone, and with big keys on a telephone."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, expect

from scribeline.engine import read_record
from scribeline.tasks.desk import desk_of
from tests.examples import path_of
from tests.web.browser.accessibility import barriers
from tests.web.browser.conftest import DESKTOP
from tests.web.browser.serving import Served

TELEPHONE = {"width": 390, "height": 844}
NEEDED = {
    "crank.stroke_mm": "50",
    "crank.rod_length_mm": "1 27/32 in",
    "crank.pin_offset_mm": "",
    "cylinder.bore_mm": "49.98",
}


def focused(page: Page) -> Any:
    return page.evaluate("document.activeElement?.dataset?.path ?? null")


def no_barriers(page: Page) -> None:
    assert barriers(page) == []
    wide = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
    assert wide[0] <= wide[1]


def test_a_new_cylinder_by_keyboard_alone(looked_at: Served, open_page: Callable[..., Page]) -> None:
    """Nothing is clicked: Tab, Enter and typing, from the name of a cylinder to its first revision."""
    page = open_page(looked_at.url, size=DESKTOP)
    page.get_by_label("Name of the cylinder").focus()
    page.keyboard.type("new one")
    page.keyboard.press("Enter")
    page.wait_for_url("**/cylinder/new%20one/measure")
    expect(page.get_by_role("status")).to_contain_text("4 still needed")
    no_barriers(page)
    page.get_by_role("button", name="engine speed for the card is needed").focus()
    page.keyboard.press("Enter")
    page.wait_for_function("document.activeElement?.dataset?.path === 'record.speed_rpm'")
    page.keyboard.type("9000")
    page.keyboard.press("Tab")
    expect(page.get_by_role("status")).to_contain_text("3 still needed")
    page.get_by_role("button", name="stroke is needed").focus()
    page.keyboard.press("Enter")
    page.wait_for_function("document.activeElement?.dataset?.path === 'record.crank.stroke_mm'")
    expect(page.locator("figcaption").first).to_contain_text("Where it is measured: stroke")
    for path, typed in NEEDED.items():
        assert focused(page) == f"record.{path}"
        page.keyboard.type(typed)
        page.keyboard.press("Enter")  # goes on to the next field
        page.wait_for_function(f"document.activeElement?.dataset?.path !== 'record.{path}'")
    expect(page.get_by_role("status")).to_contain_text("The record is whole")
    keep = page.get_by_role("button", name="Keep as a revision")
    expect(keep).to_be_enabled()  # a button that is not cannot take the focus
    keep.focus()
    expect(keep).to_be_focused()
    page.keyboard.press("Enter")
    page.get_by_label("What is it?").focus()
    page.keyboard.type("first readings")
    page.get_by_role("button", name="Keep it").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("revision 1; every edit is saved")).to_be_visible()
    desk = desk_of("new one", where=looked_at.notebook)
    assert desk.revision_number == 1
    assert desk.document["record"]["crank"]["rod_length_mm"] == {"value": 46.83125, "typed": "1 27/32 in"}
    assert desk.document["record"]["cylinder"] == {"bore_mm": 49.98}
    page.reload()
    expect(page.get_by_label("bore, needed")).to_have_value("49.98")


def test_on_a_telephone_with_gloves(served: Served, open_page: Callable[..., Page]) -> None:
    """Only the page's own big keys and steps are tapped; a killed server loses nothing of it."""
    page = open_page(f"{served.url}cylinder/kart/measure?at=bottom-end", size=TELEPHONE, dark=True, has_touch=True)
    page.get_by_role("button", name="Big keys").tap()
    bore = page.get_by_label("bore, needed")
    bore.tap()
    assert bore.get_attribute("inputmode") == "none"  # the telephone's own small keys stay away
    for _ in range(len(bore.input_value())):
        page.get_by_role("button", name="take the last one away").tap()
    for key in "51.2":
        page.get_by_role("button", name=key, exact=True).tap()
    page.get_by_role("button", name="next field").tap()
    expect(bore).not_to_be_focused()
    stroke = page.get_by_label("stroke, needed")
    stroke.tap()
    page.get_by_role("button", name="+ 0.01 mm").tap()
    expect(stroke).to_have_value("50.01")
    no_barriers(page)
    served.kill()
    record = desk_of("kart", where=served.notebook).document["record"]
    assert record["crank"]["stroke_mm"]["value"] == 50.01
    assert record["cylinder"]["bore_mm"]["value"] == 51.2
    for small in page.locator("button:visible, a:visible, input:visible").all():
        box = small.bounding_box()
        if box is None or box["x"] < 0:  # the link that skips to the content waits outside until it has the focus
            continue
        assert box["height"] >= 44 or small.evaluate("one => getComputedStyle(one).display") == "inline"


def test_full_stations_have_no_barriers_and_go_to_a_file(
    looked_at: Served, open_page: Callable[..., Page], bare_kart: str, tmp_path: Path
) -> None:
    for station, dark in (("ports", False), ("ports", True), ("intake", False)):
        page = open_page(f"{looked_at.url}cylinder/{bare_kart}/measure?at={station}", dark=dark)
        expect(page.get_by_role("status")).to_contain_text("The record is whole")
        no_barriers(page)
        page.close()

    page = open_page(f"{looked_at.url}cylinder/{bare_kart}/measure?at=engine")
    with page.expect_download() as saving:
        page.get_by_role("button", name="Save it as a TOML file").click()
    assert saving.value.suggested_filename == f"{bare_kart}.toml"
    text = Path(saving.value.path()).read_text()
    assert read_record(text) == read_record(path_of("club-kart-98").read_text())
    (tmp_path / "other.toml").write_text(text.replace('name = "Club kart 98"', 'name = "Other"'))
    (tmp_path / "wrong.toml").write_bytes(b"\x89PNG\r\n")
    for name in ("wrong.toml", "other.toml"):
        page.get_by_role("button", name="Load it from a TOML file").click()
        page.locator("input[type=file]").set_input_files(tmp_path / name)
        if name == "wrong.toml":
            expect(page.get_by_role("alert")).to_contain_text("wrong.toml is not accepted")
            page.get_by_role("button", name="Understood").click()
    expect(page.get_by_label("a name for the engine, needed")).to_have_value("Other")
    page.get_by_role("button", name="Undo: the record from other.toml").click()
    expect(page.get_by_label("a name for the engine, needed")).to_have_value("Club kart 98")
