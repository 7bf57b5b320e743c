"""A photograph of a rubbing in a real browser: looked at, corrected by mouse and keys, taken into the record."""

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from scribeline.tasks.desk import desk_of
from scribeline.tasks.rubbing_scan import MARKS
from tests.rubbing.kart import pixels
from tests.rubbing.rendering import save
from tests.tasks.test_rubbing_scan import marked
from tests.web.browser.accessibility import barriers
from tests.web.browser.conftest import DESKTOP, PHONE
from tests.web.browser.serving import Served


@pytest.fixture(scope="session")
def photo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return save(pixels("leaning"), tmp_path_factory.mktemp("photo") / "rubbing 1.jpg")


@pytest.fixture
def opened(looked_at: Served, open_page: Callable[..., Page], bare_kart: str, photo: Path) -> Callable[..., Page]:
    """The page with the photograph in it."""

    def opened(size: dict[str, int], dark: bool = False) -> Page:
        page = open_page(f"{looked_at.url}cylinder/{bare_kart}/measure/rubbing", size=size, dark=dark)
        page.locator("input[type=file]").set_input_files(photo)
        page.locator("svg[data-rubbing] .outline-line").first.wait_for()
        return page

    return opened


def test_an_outline_is_dragged_and_its_port_is_taken(
    opened: Callable[..., Page], looked_at: Served, bare_kart: str
) -> None:
    page = opened(DESKTOP)
    expect(page.get_by_text("20 of 20 markers found: rubbing 1.jpg.")).to_be_visible()
    expect(page.get_by_text("they do not agree, stays as it is")).to_be_visible()  # the exhaust's roof in the record
    page.get_by_role("button", name="3 exhaust").click()
    says = page.locator(".over-says")
    roof = page.get_by_role("slider", name="roof of exhaust")
    before = float(roof.get_attribute("aria-valuenow") or "nan")
    assert before == pytest.approx(28.6, abs=0.15)  # as the metal of the invented picture is
    roof.locator(".grip-mark").hover()  # waits until it is no longer drawn anew: the photograph may still be coming
    middle = roof.locator(".grip-mark").bounding_box()
    assert middle is not None
    px_per_mm = page.evaluate("() => { const s = document.querySelector('svg[data-rubbing]');"
                              "return s.getScreenCTM().a; }")  # fmt: skip
    x, y = middle["x"] + middle["width"] / 2, middle["y"] + middle["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + 2.0 * px_per_mm, steps=8)
    assert float(roof.get_attribute("aria-valuenow") or "nan") == pytest.approx(before + 2.0, abs=0.06)
    page.keyboard.press("Escape")
    page.mouse.up()
    assert float(roof.get_attribute("aria-valuenow") or "nan") == before  # Escape puts it back
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + 1.0 * px_per_mm, steps=8)
    page.mouse.up()
    roof.focus()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Shift+ArrowUp")
    end = before + 1.0 - 0.05 - 0.5
    expect(page.get_by_role("button", name="Back to what was found")).to_be_visible()
    expect(says).to_contain_text("exhaust: roof 29.0")
    exhaust = page.get_by_role("article").filter(has_text="exhaust: opening 3")
    expect(exhaust).to_contain_text(f"{float(roof.get_attribute('aria-valuenow') or 0):.2f} ± ")
    exhaust.get_by_role("checkbox", name="Write over what another instrument gave").click()
    expect(exhaust).not_to_contain_text("stays as it is")
    page.get_by_role("button", name="Take exhaust into the record").click()
    expect(page.get_by_role("button", name="In the record")).to_be_visible()
    port = desk_of(bare_kart, where=looked_at.notebook).document["record"]["ports"][0]
    assert port["roof_from_deck_mm"]["value"] == pytest.approx(end, abs=0.08)
    assert port["roof_from_deck_mm"]["with"] == "rubbing"
    assert port["width_arc_mm"]["value"] == pytest.approx(34.72, abs=0.2)
    page.reload()  # nothing is lost: picture, outline and record come back
    page.get_by_role("button", name="3 exhaust").click()
    assert float(
        page.get_by_role("slider", name="roof of exhaust").get_attribute("aria-valuenow") or 0
    ) == pytest.approx(port["roof_from_deck_mm"]["value"], abs=0.006)
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("button", name="Take exhaust into the record")).to_be_visible()
    port = desk_of(bare_kart, where=looked_at.notebook).document["record"]["ports"][0]
    assert port["roof_from_deck_mm"]["value"] == 29.1


def test_a_flat_scan_is_laid_out_by_taps_and_by_keys(
    looked_at: Served, open_page: Callable[..., Page], bare_kart: str, tmp_path: Path
) -> None:
    scan, marks = marked(tmp_path)
    page = open_page(f"{looked_at.url}cylinder/{bare_kart}/measure/rubbing", size=PHONE, has_touch=True)
    page.locator("input[type=file]").set_input_files(scan)
    page.get_by_text("Nothing can be measured in this photograph").wait_for()
    page.get_by_role("checkbox", name="It is a flat scan without markers").click()
    page.get_by_label("Between the rule's two marks, mm").fill("10")
    page.keyboard.press("Enter")
    expect(page.get_by_text("accepted: 20 mm to 1000 mm")).to_be_visible()
    page.get_by_label("Between the rule's two marks, mm").fill("100")
    page.keyboard.press("Enter")
    board = page.locator("svg[data-scan]")
    for key, name in MARKS.items():
        page.get_by_role("button", name=name, exact=True).click()
        for _ in ("roughly", "exactly"):
            board.scroll_into_view_if_needed()
            x, y = board.evaluate(
                """(svg, [x, y]) => {
                    const { width, height } = svg.querySelector("image").getBBox();
                    const at = new DOMPoint(x * width, y * height).matrixTransform(svg.getScreenCTM());
                    return [at.x, at.y];
                }""",
                marks[key],
            )
            page.touchscreen.tap(x, y)
            expect(page.get_by_role("button", name=f"\u2713 {name}")).to_be_visible()
    page.locator("svg[data-rubbing] .outline-line").first.wait_for()
    kept = desk_of(bare_kart, where=looked_at.notebook).document["rubbing"]["scan"]["marks"]
    assert kept == {key: pytest.approx(at, abs=0.001) for key, at in marks.items()}
    page.get_by_role("button", name=f"{MARKS['rule-other']}: arrow keys move it").press("Shift+ArrowRight")
    expect(page.locator("svg[data-rubbing]")).to_have_count(0)  # it is read anew from where the mark is now
    page.locator("svg[data-rubbing]").wait_for()
    moved = desk_of(bare_kart, where=looked_at.notebook).document["rubbing"]["scan"]["marks"]["rule-other"]
    assert moved[0] > kept["rule-other"][0]
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert barriers(page) == []


@pytest.mark.parametrize("dark", [True])
def test_on_a_phone_nothing_is_in_the_way(opened: Callable[..., Page], dark: bool) -> None:
    page = opened(PHONE, dark)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.get_by_role("button", name="6 intake").click()
    page.get_by_role("button", name="Single points").last.click()
    expect(page.get_by_role("slider", name="point 1 of intake")).to_be_visible()
    assert barriers(page) == []
