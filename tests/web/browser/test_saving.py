"""Nothing is lost and nothing is overwritten: a killed server, a network that stalls, two browsers on one cylinder."""

import os
import signal
from collections.abc import Callable

from playwright.sync_api import Page, expect

from scribeline.tasks.desk import desk_of, edit
from tests.web.browser.conftest import PHONE
from tests.web.browser.serving import Served

# A device that no longer hears from the server but does not know it yet, as one in a dead spot.
DEAF = """() => {
    window.heldBack = ["update", "run_javascript"].map(name => [name, window.socket.listeners(name).slice()]);
    for (const [name] of window.heldBack) window.socket.off(name);
}"""
HEARS_AGAIN = "() => { for (const [name, all] of window.heldBack) for (const one of all) window.socket.on(name, one); }"


def measure(served: Served, build: str) -> str:
    return f"{served.url}cylinder/{build}/measure?at=bottom-end"


def bore_in_notebook(served: Served, build: str) -> float:
    bore = desk_of(build, where=served.notebook).document["record"]["cylinder"]["bore_mm"]
    return float(bore["value"] if isinstance(bore, dict) else bore)


def test_what_was_typed_while_the_server_was_killed_is_offered_again(
    served: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page(measure(served, "kart"))
    bore = page.get_by_label("bore, needed")
    stroke = page.get_by_label("stroke, needed")
    stroke.fill("50.4")
    stroke.press("Tab")
    expect(page.get_by_text("Undo")).to_be_enabled()
    bore.fill("51.3")
    served.kill()
    bore.press("Tab")
    served.start()
    expect(page.get_by_role("heading", name="Typed here while scribeline could not be reached")).to_be_visible()
    expect(page.get_by_role("alert")).to_contain_text("51.3")
    expect(page).to_have_url(measure(served, "kart"))
    expect(page.get_by_label("stroke, needed")).to_have_value("50.4")
    page.get_by_role("button", name="Put it away").click()
    expect(page.get_by_text("could not be reached")).to_have_count(0)


def test_a_network_that_stalls_loses_nothing(looked_at: Served, open_page: Callable[..., Page], bare_kart: str) -> None:
    page = open_page(measure(looked_at, bare_kart))
    bore = page.get_by_label("bore, needed")
    expect(bore).not_to_have_value("")
    assert looked_at.process is not None
    os.killpg(looked_at.process.pid, signal.SIGSTOP)
    try:
        bore.fill("51.3")
        bore.press("Tab")
        page.wait_for_timeout(2_000)
    finally:
        os.killpg(looked_at.process.pid, signal.SIGCONT)
    expect(page.get_by_role("button", name="Undo: bore")).to_be_enabled()
    assert bore_in_notebook(looked_at, bare_kart) == 51.3
    page.reload()
    expect(page.get_by_label("bore, needed")).to_have_value("51.3")


def test_two_browsers_see_each_others_edits_undo_included(
    looked_at: Served, open_page: Callable[..., Page], bare_kart: str
) -> None:
    bench, phone = open_page(measure(looked_at, bare_kart)), open_page(measure(looked_at, bare_kart), size=PHONE)
    bore = phone.get_by_label("bore, needed")
    before = bore.input_value()
    bench.get_by_label("bore, needed").fill("51.3")
    bench.get_by_label("bore, needed").press("Tab")
    expect(bore).to_have_value("51.3")
    phone.get_by_role("button", name="Undo: bore").click()
    expect(bench.get_by_label("bore, needed")).to_have_value(before)
    bench.get_by_role("button", name="Redo: bore").click()
    expect(bore).to_have_value("51.3")


def test_an_edit_over_one_that_was_not_seen_shows_both_and_overwrites_neither(
    looked_at: Served, open_page: Callable[..., Page], bare_kart: str
) -> None:
    bench, phone = open_page(measure(looked_at, bare_kart)), open_page(measure(looked_at, bare_kart), size=PHONE)
    theirs, mine = bench.get_by_label("bore, needed"), phone.get_by_label("bore, needed")
    expect(mine).not_to_have_value("")
    phone.evaluate(DEAF)
    theirs.fill("51.3")
    theirs.press("Tab")
    expect(bench.get_by_role("button", name="Undo: bore")).to_be_enabled()
    mine.fill("51.7")
    phone.evaluate(HEARS_AGAIN)
    mine.press("Tab")
    expect(phone.get_by_role("heading", name="Changed on two devices")).to_be_visible()
    assert bore_in_notebook(looked_at, bare_kart) == 51.3
    phone.get_by_role("button", name="Use mine").click()
    expect(theirs).to_have_value("51.7")
    assert bore_in_notebook(looked_at, bare_kart) == 51.7


def test_what_is_being_typed_is_not_overwritten_by_another_device(
    looked_at: Served, open_page: Callable[..., Page], bare_kart: str
) -> None:
    """The other edit comes from a server of its own: a second window here would take the focus from the first."""
    phone = open_page(measure(looked_at, bare_kart), size=PHONE)
    mine = phone.get_by_label("bore, needed")
    expect(mine).not_to_have_value("")
    mine.fill("51.7")
    path = "record.cylinder.bore_mm"
    before = desk_of(bare_kart, where=looked_at.notebook).document["record"]["cylinder"]["bore_mm"]
    edit(bare_kart, path, 51.3, before=before, device="bench", label="bore 51.3 mm", where=looked_at.notebook)
    expect(phone.get_by_role("button", name="Undo: bore 51.3 mm")).to_be_enabled()
    expect(mine).to_have_value("51.7")
    mine.press("Tab")
    expect(phone.get_by_role("heading", name="Changed on two devices")).to_be_visible()
    expect(phone.get_by_role("alert")).to_contain_text("here: bore 51.7 mm")
    assert bore_in_notebook(looked_at, bare_kart) == 51.3
    phone.get_by_role("button", name="Keep theirs").click()
    expect(mine).to_have_value("51.3")


def test_typing_goes_on_while_another_device_removes_a_port(
    looked_at: Served, open_page: Callable[..., Page], bare_kart: str
) -> None:
    """The field keeps the focus and its caret, and what is typed goes to the port it was meant for."""
    page = open_page(f"{looked_at.url}cylinder/{bare_kart}/measure?at=ports&port=1")
    name = page.locator('[data-path="record.ports.1.name"]')
    expect(name).to_have_value("main transfer")
    name.focus()
    page.keyboard.press("Home")
    page.keyboard.type("left ")
    before = desk_of(bare_kart, where=looked_at.notebook).document["record"]["ports"]
    edit(bare_kart, "record.ports.0", None, before=before[0], device="bench", label="removed", where=looked_at.notebook)
    here = page.locator('[data-path="record.ports.0.name"]')
    expect(here).to_be_focused()
    page.keyboard.type("hand ")
    expect(here).to_have_value("left hand main transfer")
    expect(page).to_have_url(f"{looked_at.url}cylinder/{bare_kart}/measure?at=ports&port=0")
    page.keyboard.press("Tab")
    expect(page.get_by_role("button", name="left hand main transfer", exact=True)).to_be_visible()
    ports = desk_of(bare_kart, where=looked_at.notebook).document["record"]["ports"]
    assert [one["name"] for one in ports] == ["left hand main transfer", "rear transfer", "intake"]
    assert {key: one for key, one in ports[0].items() if key != "name"} == {
        key: one for key, one in before[1].items() if key != "name"
    }


def test_a_field_that_comes_late_does_not_take_the_focus_from_who_moved_on(
    looked_at: Served, open_page: Callable[..., Page], bare_kart: str
) -> None:
    page = open_page(measure(looked_at, bare_kart))
    bore, stroke = page.get_by_label("bore, needed"), page.get_by_label("stroke, needed")
    bore.focus()
    page.evaluate("scribelineMeasure.focus('late')")
    page.evaluate("setTimeout(() => document.body.append(Object.assign(document.createElement('input'), "
                  "{ id: 'late' })), 400)")  # fmt: skip
    page.keyboard.press("Shift")  # somebody is at work
    page.evaluate("setTimeout(() => { document.getElementById('late').dataset.path = 'late' }, 500)")
    page.wait_for_timeout(900)
    expect(bore).to_be_focused()
    page.evaluate("scribelineMeasure.focus('other')")
    stroke.evaluate("one => one.focus()")  # as a reader of the screen moves it, without a key that the page hears
    page.evaluate("setTimeout(() => { document.getElementById('late').dataset.path = 'other' }, 300)")
    page.wait_for_timeout(700)
    expect(stroke).to_be_focused()
    page.evaluate("scribelineMeasure.focus('third')")
    page.evaluate("setTimeout(() => { document.getElementById('late').dataset.path = 'third' }, 300)")
    expect(page.locator("#late")).to_be_focused()
