"""Prove in a real browser: a day begun, files dropped, times typed, a pull moved and left out, a verdict taken away."""

import re
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from scribeline.recordings.invented import invented_runs
from scribeline.recordings.invented.files import write_film, write_gpx
from scribeline.tasks.trials import Shown, new_trial, show_trial
from tests.web.browser.accessibility import barriers
from tests.web.browser.conftest import PHONE, until
from tests.web.browser.serving import Served

START = datetime(2026, 5, 16, 9, 0, tzinfo=UTC)


@pytest.fixture(scope="session")
def recordings(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """A track and a film's sound of one invented run, and something that is no recording."""
    folder = tmp_path_factory.mktemp("phone")
    run, dice = invented_runs()[0], np.random.default_rng(1)
    write_gpx(folder / "track.gpx", run, START, dice)
    write_film(folder / "film.m4a", run, 5)
    write_film(folder / "second-film.m4a", run, 6)
    (folder / "picture.jpg").write_bytes(b"\xff\xd8\xff" + bytes(200))
    (folder / "log.csv").write_text(
        "stamp;v;foo\n"
        + "\n".join(f"{i / 10:.1f};{20 + 2 * i / 10:.1f};x".replace(".", ",") for i in range(100))
        + "\n"
    )
    return [folder / name for name in ("track.gpx", "film.m4a", "picture.jpg", "log.csv", "second-film.m4a")]


def trial(served: Served) -> Shown:
    return show_trial("squish day", where=served.notebook)


def type_into(page: Page, row: int, texts: dict[str, str]) -> None:
    for words, written in texts.items():
        page.get_by_label(f"{words}, row {row}", exact=True).fill(written)
        page.keyboard.press("Tab")


def test_a_day_from_the_files_to_the_verdict(
    served: Served, open_page: Callable[..., Page], recordings: list[Path]
) -> None:
    page = open_page(f"{served.url}cylinder/kart/prove")
    # lists are as high as the fields beside them, and cut nothing off what is chosen
    heights = page.locator(".fields .q-field__control").evaluate_all("(all) => all.map((one) => one.offsetHeight)")
    assert max(heights) - min(heights) <= 2
    chosen = page.locator(".q-select .q-field__native").first
    line_px, letter_px = chosen.evaluate(
        "(one) => [getComputedStyle(one).lineHeight, getComputedStyle(one).fontSize].map(parseFloat)"
    )
    assert line_px > 1.2 * letter_px
    page.get_by_label("Name").fill("squish day")
    page.get_by_label("Gates to be timed").fill("40 to 60 km/h")
    page.get_by_role("button", name="Begin the trial").click()
    page.get_by_role("heading", name="squish day").wait_for()
    expect(page.get_by_text("Full throttle belongs on a closed course")).to_be_visible()

    # files: two are read, a picture is not taken, a table is asked about
    page.get_by_label("Setup that was driven").fill("as bought")
    page.locator("input[type=file]").set_input_files(recordings[:4])
    expect(page.get_by_text("track.gpx: added, 1 pull (gpx)")).to_be_visible()
    expect(page.get_by_text(re.compile(r"film\.m4a: added, 2 pulls \(sound\)"))).to_be_visible()
    expect(page.get_by_text("picture.jpg stayed out")).to_be_visible()
    expect(page.get_by_text("log.csv stayed out")).to_be_visible()
    for header, meaning in (("stamp", "time, s"), ("v", "speed over ground, km/h")):
        page.get_by_label(f"What {header} is").click()
        page.get_by_role("option", name=meaning, exact=True).click()
        expect(page.get_by_role("listbox")).to_have_count(0)
    page.get_by_role("button", name="Read it so").click()
    expect(page.get_by_text("log.csv: added, 1 pull (columns)")).to_be_visible()
    assert {entry.file_name for entry in trial(served).state.files} == {"track.gpx", "film.m4a", "log.csv"}

    # the same file again would count its runs twice
    page.locator("input[type=file]").set_input_files(recordings[1])
    expect(page.get_by_text(re.compile(r"film\.m4a is here already"))).to_be_visible()
    page.get_by_role("button", name="Understood").click()

    # but it can be read anew, with the track in the ear, in the place of the first reading
    before = trial(served)
    film = next(one for one in before.state.files if one.file_name == "film.m4a")
    page.get_by_role("button", name=re.compile(rf"^{film.number} film\.m4a")).click()
    page.get_by_role("heading", name="film.m4a: as bought").wait_for()
    page.get_by_text("Read it anew", exact=True).first.click()
    anew = page.locator("#pulls details", has_text="Read it anew")
    anew.get_by_label("Road speed during this sound").click()
    page.get_by_role("option", name=re.compile("track.gpx")).click()
    expect(page.get_by_role("listbox")).to_have_count(0)
    anew.get_by_role("button", name="Read it anew").click()
    expect(page.locator("#pulls").get_by_text(re.compile("road speed from track.gpx"))).to_be_visible()
    after = trial(served)
    assert [one.number for one in after.state.files] == [one.number for one in before.state.files]
    assert "road" in next(one for one in after.state.files if one.number == film.number).data

    # another film of it, with the track in the ear: which octave it is, is settled by the road
    page.get_by_text("About a sound, and about clocks").click()
    page.get_by_label("Road speed during it").click()
    page.get_by_role("option", name=re.compile("track.gpx")).click()
    expect(page.get_by_role("listbox")).to_have_count(0)
    page.locator("input[type=file]").set_input_files(recordings[4])
    brought = page.locator(".brought li", has_text="second-film.m4a: added")
    expect(brought.get_by_text(re.compile("road speed from track.gpx"))).to_be_visible()

    # times, as they are typed; one that is none says so and is kept all the same
    seconds = {"as bought": ("4,89", "5.18", "5.03"), "squish set": ("4.76", "4,57", "0:04.60")}
    rows = [(setup, one) for setup, times in seconds.items() for one in times]
    for number, (setup, one) in enumerate(rows, start=1):
        type_into(page, number, {"setup": setup, "40 to 60 km/h, s": one})
    type_into(page, 7, {"setup": "squish set", "40 to 60 km/h, s": "quick"})
    expect(page.locator("tr", has=page.get_by_label("setup, row 7")).locator(".problem").nth(2)).to_contain_text(
        "quick"
    )
    cells = ["4,89", "5.18", "5.03", "4.76", "4,57", "0:04.60", "quick"]
    until(page, lambda: [row.cells.get("40 to 60 km/h") for row in trial(served).state.typed.rows] == cells)
    typed = trial(served).state.typed
    assert [one.seconds for one in typed.times] == [4.89, 5.18, 5.03, 4.76, 4.57, 4.6]

    # a paste from a spreadsheet, with its headings, fills rows of its own
    page.get_by_label("setup, row 8", exact=True).evaluate(
        """(input) => {
            input.focus();
            const data = new DataTransfer();
            data.setData("text/plain", "40-60 km/h\\tsetup\\n4,71\\tsquish set\\n4,66\\tsquish set\\n");
            input.dispatchEvent(new ClipboardEvent("paste", { clipboardData: data, bubbles: true }));
        }"""
    )
    expect(page.get_by_label("40 to 60 km/h, s, row 9")).to_have_value("4,66")
    until(page, lambda: [one.seconds for one in trial(served).state.typed.times][-2:] == [4.71, 4.66])

    # a pull: moved by the keyboard, left out with a reason, put back
    page.get_by_role("button", name=re.compile("track.gpx")).click()
    file = next(one for one in trial(served).state.files if one.file_name == "track.gpx")
    pull = next(one.pull for one in trial(served).state.pulls if one.file == file.number)
    handle = page.get_by_role("slider", name=f"Pull {file.number}.1 ends")
    handle.focus()
    for gap_ms in (410, 450, 490, 530, 570, 610):  # slow presses: the trace of an earlier one is drawn between them
        page.keyboard.press("ArrowLeft")
        page.wait_for_timeout(gap_ms)
    page.get_by_role("button", name="Ends as they were found").wait_for()

    def six_tenths_less() -> bool:
        now = next(one.pull for one in trial(served).state.pulls if one.file == file.number)
        return now.end_s == pytest.approx(pull.end_s - 0.6, abs=0.011)

    until(page, six_tenths_less)  # each press this slow is saved by itself
    moved = next(one.pull for one in trial(served).state.pulls if one.file == file.number)
    expect(handle).to_be_focused()
    box = handle.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 5, box["y"] + 60)
    page.mouse.down()
    page.mouse.move(box["x"] - 60, box["y"] + 60, steps=4)
    page.mouse.up()

    def shortened() -> bool:
        now = next(one.pull for one in trial(served).state.pulls if one.file == file.number)
        return now.end_s < moved.end_s - 0.5

    until(page, shortened)
    until(page, lambda: page.get_by_label("Ends, s").input_value() != f"{moved.end_s:.2f}")
    page.get_by_role("button", name="brakes dragged", exact=True).click()
    page.get_by_role("button", name="Put it back").click()
    page.get_by_role("button", name="brakes dragged", exact=True).wait_for()
    put_back = next(one.pull for one in trial(served).state.pulls if one.file == file.number)
    assert put_back.reasons[-2:] == ("brakes dragged", "it counts after all")

    # one undo for the page, also by keyboard; what is half typed in a field is undone first, by the browser
    def left_out() -> str:
        return next(one.pull for one in trial(served).state.pulls if one.file == file.number).left_out

    reason = page.get_by_label("another reason")
    reason.press_sequentially("rain")
    for _ in "rain":  # a browser takes back a letter, or all that was typed at once
        if reason.input_value():
            reason.press("Control+z")
    expect(reason).to_have_value("")
    assert left_out() == ""
    reason.press("Control+z")
    expect(page.get_by_role("button", name=f"Redo: pull {file.number}.1: take back in")).to_be_enabled()
    assert left_out() == "brakes dragged"
    page.keyboard.press("Control+Shift+Z")
    expect(page.get_by_role("button", name=f"Undo: pull {file.number}.1: take back in")).to_be_enabled()
    assert left_out() == ""

    # the sound with the line that was followed
    page.get_by_role("button", name=re.compile("second-film.m4a")).last.click()
    expect(page.get_by_role("img", name=re.compile("Sound from 0 to 22 s"))).to_be_visible()
    picture = page.locator(".sound image").first.get_attribute("href")
    assert page.request.get(f"{served.url.rstrip('/')}{picture}").headers["content-type"] == "image/png"

    # the verdict, and taking it away
    sentence = page.locator(".verdict-sentence").first
    expect(sentence).to_contain_text("squish set")
    with page.expect_download() as taken:
        page.get_by_role("button", name="Tables as CSV").click()
    assert "squish set" in Path(taken.value.path()).read_text()
    with page.expect_download() as taken:
        page.get_by_role("button", name="This picture as PNG").first.click()
    assert Path(taken.value.path()).read_bytes().startswith(b"\x89PNG")
    assert barriers(page) == []

    # the same in the dark on a telephone, from another device, which sees what is typed here
    phone = open_page(page.url, size=PHONE, dark=True)
    phone.get_by_label("setup, row 7").wait_for()
    assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    type_into(page, 7, {"40 to 60 km/h, s": "4.70"})
    expect(phone.get_by_label("40 to 60 km/h, s, row 7")).to_have_value("4.70")
    assert barriers(phone) == []


def test_what_was_typed_when_the_server_went_away_is_offered_again(
    served: Served, open_page: Callable[..., Page]
) -> None:
    new_trial("squish day", build="kart", gates=["40 to 60 km/h"], author="tests", where=served.notebook)
    url = f"{served.url}cylinder/kart/prove?trial=squish%20day"
    page = open_page(url)
    type_into(page, 1, {"setup": "as bought"})
    until(page, lambda: len(trial(served).state.typed.rows) == 1)
    served.kill()
    page.get_by_label("40 to 60 km/h, s, row 1").fill("4,89")
    page.keyboard.press("Tab")
    served.start()
    page.goto(url)
    page.get_by_text("Typed here while scribeline could not be reached").wait_for()
    expect(page.get_by_text("4,89", exact=False).first).to_be_visible()
    assert trial(served).state.typed.rows[0].cells == {"setup": "as bought"}
