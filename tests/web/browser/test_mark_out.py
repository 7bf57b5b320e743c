"""Marking out in a real browser: from check bars to a PDF that is measured, from a stop to the rest of a plan."""

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from scribeline.marking.page import pages
from scribeline.marking.paper import PAPERS
from scribeline.marking.printer import Printer
from scribeline.marking.sheet import Issue
from scribeline.tasks.desk import desk_of, edit
from scribeline.tasks.sheet_drawings import sheets_of
from scribeline.tasks.sheet_wishes import Wishes, worked_for
from tests.examples import KART, edited
from tests.marking.printed import on_paper
from tests.marking.test_pdf import bar_lengths
from tests.web.browser.accessibility import barriers
from tests.web.browser.conftest import DESKTOP, PHONE
from tests.web.browser.serving import Served


@pytest.fixture
def planned(looked_at: Served, kart_of_its_own: str) -> str:
    """A kart with its plan, of whose sheets only the wrap is chosen."""
    edit(kart_of_its_own, "marking.sheets", ["bore-wrap"], device="tests", label="sheets", where=looked_at.notebook)
    return kart_of_its_own


def typed(page: Page, path: str, text: str) -> None:
    """Type into the field of this place and leave it by keyboard."""
    field = page.locator(f'[data-path="marking.{path}"]')
    field.fill(text)
    field.press("Tab")


def test_from_the_check_bars_to_a_pdf_whose_bars_are_measured(
    looked_at: Served, open_page: Callable[..., Page], planned: str, tmp_path: Path
) -> None:
    page = open_page(f"{looked_at.url}cylinder/{planned}/mark-out?part=sheets", size=DESKTOP)
    page.get_by_role("radio", name="Letter").click()
    typed(page, "bars.across", "98.7 mm")
    typed(page, "bars.up", "3.957 in")  # of the 4 in bar: 98.925 of 100
    expect(page.get_by_text("Sheets are now made 1.32 % larger along the short edge")).to_be_visible()
    expect(page.get_by_text("take no line from them")).to_be_visible()
    typed(page, "proof.across", "100.1")
    typed(page, "proof.up", "100")
    expect(page.get_by_text("take no line from them")).to_be_hidden()
    page.locator("img[alt^='Bore wrap from the deck:']").wait_for()
    assert barriers(page) == []
    with page.expect_download() as coming:
        page.get_by_role("button", name="One PDF to print").click()
    assert coming.value.suggested_filename.startswith("club-kart-98-sheets-")
    (printed,) = on_paper(Path(coming.value.path()).read_bytes(), tmp_path)
    ((wrap,), _) = sheets_of(worked_for(edited(name=KART)), Wishes(only=("bore-wrap",)), PAPERS["Letter"])
    (laid,) = pages(wrap, Issue("", "", ""), PAPERS["Letter"], Printer(98.7, 98.925))
    assert sorted(printed.size_mm) == pytest.approx([215.9, 279.4], abs=0.05)
    lying = printed.size_mm[0] > printed.size_mm[1]
    for (name, up), length in bar_lengths(laid, printed).items():
        bar = 100.0 if name == "100 mm" else 4 * 25.4
        assert length == pytest.approx(bar / (0.987 if up == lying else 0.98925), abs=0.05)
    expect(page.get_by_text("Taken for printing before: 1")).to_be_visible()
    (entry,) = desk_of(planned, where=looked_at.notebook).document["marking"]["printed"]
    assert (entry["paper"], entry["sheets"]) == ("Letter", ["bore-wrap"])


@pytest.mark.parametrize(("size", "dark"), [(PHONE, True)])
def test_a_stop_is_ticked_and_measured_and_the_rest_follows(
    looked_at: Served, open_page: Callable[..., Page], planned: str, size: dict[str, int], dark: bool
) -> None:
    """Two steps on a phone in the dark: solder 0.05 mm wide, then the barrel's top 0.03 mm too deep at its stop."""
    page = open_page(f"{looked_at.url}cylinder/{planned}/mark-out?part=bench", size=size, dark=dark)
    page.locator(".step-now").wait_for()
    assert barriers(page) == []
    gasket = "bench.steps.1-swap-head-gasket-thin-copper.at_end"
    for place, gap in enumerate(("1.27", "1.22", "1.18", "1.24")):
        typed(page, f"{gasket}.squish/readings/{place}/gap_mm", gap)
    expect(page.get_by_text("As expected").first).to_be_visible()
    page.locator(".step-now .tick-box").last.focus()
    page.keyboard.press("Space")
    expect(page.locator(".step-now")).to_contain_text("deck barrel top")
    page.get_by_role("button", name="Work out the rest").last.click()
    rest = page.get_by_role("region", name="The rest from here")
    expect(rest).to_contain_text("now deck barrel top: 0.4 mm")
    expect(rest).to_contain_text("stop 28.25, target 27.90 mm")
    assert barriers(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    page.get_by_role("button", name="Take this as the plan").click()
    expect(page.locator(".step-now")).to_contain_text("deck barrel top: 0.4 mm")
    typed(page, "bench.steps.1-deck-barrel-top-0-4-mm.at_stop.cylinder/deck_clearance_at_tdc_mm", "0.20")
    expect(page.locator(".judged-not")).to_have_text("Not as expected: 0.12 mm less than 0.320 ± 0.042 mm.")
    page.reload()
    expect(page.locator(".judged-not")).to_be_visible()
    work = desk_of(planned, where=looked_at.notebook).document
    assert work["plan"]["steps"][0] == {"do": "deck barrel top", "off_mm": 0.4}
    assert work["record"]["squish"]["readings"][0]["gap_mm"]["value"] == 1.27
