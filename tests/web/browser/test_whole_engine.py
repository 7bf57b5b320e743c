"""A whole engine typed into the Measure page by hand, from its name on: every reading of the invented kart."""

import tomllib
from collections.abc import Callable, Iterator
from typing import Any

from playwright.sync_api import Locator, Page, expect

from scribeline.engine import record_of
from scribeline.tasks.desk import desk_of
from scribeline.tasks.measuring_fields import MeasuringField, fields_of_measuring
from tests.examples import text_of
from tests.web.browser.conftest import until
from tests.web.browser.serving import Served


def readings(record: Any, path: str = "record") -> Iterator[tuple[str, Any]]:
    """Every place of a record with what is typed there; instruments and widths are left to the usual ones."""
    if isinstance(record, dict) and "value" in record:
        yield path, record["value"]
    elif isinstance(record, dict):
        for key, inner in record.items():
            yield from readings(inner, f"{path}.{key}")
    elif isinstance(record, list) and record and isinstance(record[0], dict):
        for number, inner in enumerate(record):
            yield from readings(inner, f"{path}.{number}")
    else:
        yield path, record


def answer(page: Page, about: MeasuringField, wanted: Any) -> None:
    """Type or press what a field wants, as anybody would."""
    entry = page.locator(f'[data-entry="{about.path}"]')
    for details in entry.locator("xpath=ancestor::details[not(@open)]").all():
        details.locator("summary").click()
    if about.kind in ("choice", "yes or no"):
        options = ((True, "yes"), (False, "no")) if about.kind == "yes or no" else about.options
        words = next(words for value, words in options if value == wanted)
        entry.get_by_role("button", name=words, exact=True).click()
        return
    text = " ".join(f"{one:g}" for one in wanted) if isinstance(wanted, list) else str(wanted)
    field: Locator = entry.locator("[data-path]")
    field.fill(text)
    field.press("Tab")


def test_a_whole_engine_is_typed(looked_at: Served, open_page: Callable[..., Page]) -> None:
    """Nothing waits for the server between two answers: a builder who types fast loses none of them."""
    wanted = tomllib.loads(text_of("club-kart-98"))
    record = {key: one for key, one in wanted.items() if key not in ("scribeline_record", "invented")}
    left = dict(readings(record))
    assert left.pop("record.drivetrain.gears") == []  # nothing is typed there
    expected = dict(left)
    page = open_page(looked_at.url)
    page.get_by_label("Name of the cylinder").fill("typed")
    page.keyboard.press("Enter")
    page.wait_for_url("**/measure")
    page.wait_for_function("window.did_handshake")
    for station in fields_of_measuring(wanted):
        page.locator(f'[data-station="{station.key}"]').click()
        page.locator(".station-head h2", has_text=station.title).wait_for()
        for growing in station.lists:
            for number in range(growing.count):
                page.get_by_role(
                    "button", name=f"Add {'another' if number else 'a'} {growing.label}", exact=True
                ).click()
                page.locator(f'[data-entry^="{growing.path}.{number}."]').first.wait_for(state="attached")
        port = -1
        for group in station.groups:
            if group.list_path == "record.ports" and group.position != port:
                port = group.position
                page.get_by_role("group", name="Which port").get_by_role("button").nth(port).click()
                page.locator(f'[data-entry="record.ports.{port}.name"]').wait_for()
            for about in group.fields:
                if about.path in left:
                    answer(page, about, left.pop(about.path))
    assert left == {}
    expect(page.get_by_role("status").first).to_contain_text("The record is whole")

    def kept() -> Any:
        return desk_of("typed", where=looked_at.notebook).document["record"]

    expected["record.scribeline_record"] = 1
    until(page, lambda: len(dict(readings(kept()))) >= len(expected))  # it is whole before the last of them
    assert dict(readings(kept())) == expected
    bare = {key: one for key, one in kept().items() if key != "scribeline_record"}
    assert record_of({**bare, "scribeline_record": 1}).cylinder.bore_mm.value == 50.0


def test_keys_in_the_hand_that_are_pressed_at_once_all_count(
    looked_at: Served, open_page: Callable[..., Page], bare_kart: str
) -> None:
    page = open_page(f"{looked_at.url}cylinder/{bare_kart}/measure?at=bottom-end")
    field = page.locator('[data-path="record.cylinder.bore_mm"]')
    field.click()
    hand = page.get_by_role("region", name="In the hand")
    hand.get_by_text("bore", exact=True).wait_for()
    up = hand.get_by_role("button", name="+ 0.005 mm")
    for _ in range(4):
        up.click()
    expect(field).to_have_value("50.02")
    field.fill("50.10")
    hand.get_by_role("button", name="caliper ±").click()  # leaves the field and presses the key in one stroke
    expect(hand.get_by_role("button", name="caliper ±")).to_have_attribute("aria-pressed", "true")
    bore = desk_of(bare_kart, where=looked_at.notebook).document["record"]["cylinder"]["bore_mm"]
    assert (bore["value"], bore["with"]) == (50.1, "caliper")
