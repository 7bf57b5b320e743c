"""SVG pages measured in a real browser: its own idea of a millimetre, and where it puts our lines."""

from collections.abc import Iterator

import pytest

from scribeline.marking.page import Page, pages
from scribeline.marking.paper import PAPERS
from scribeline.marking.printer import Printer
from scribeline.marking.sheet import Issue, Sheet
from scribeline.marking.svg import write_page_svg
from scribeline.marking.wrap import Wrap, wrap_drawing
from tests.marking.demonstrations import KART_BORE
from tests.marking.printed import program
from tests.marking.test_wrap import PLANNED

PX_PER_MM = 96.0 / 25.4  # CSS Values and Units: 1in = 96px; see tests/reference/09
ISSUE = Issue("Invented engine", "0a1b2c3d", "2026-11-25", invented=True)

# Every path of a group with these words, as the browser measures it: its box in px, and in the drawing's own units.
MEASURE = """words => [...document.querySelectorAll('g')].filter(g => {
    const title = g.querySelector(':scope > title');
    return title && title.textContent.startsWith(words);
}).flatMap(g => [...g.querySelectorAll(':scope > path')].map(path => {
    const on = path.getBoundingClientRect(), own = path.getBBox();
    return {left: on.left, top: on.top, width: on.width, height: on.height, own: [own.width, own.height],
            stroke: parseFloat(getComputedStyle(path).strokeWidth), dash: getComputedStyle(path).strokeDasharray};
}))"""


@pytest.fixture(scope="module")
def browser() -> Iterator[object]:
    from playwright.sync_api import sync_playwright

    path = program("chromium", "chromium")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield started
        started.close()


def opened(browser: object, made: Page) -> object:
    page = browser.new_page(viewport={"width": 1400, "height": 1400})  # type: ignore[attr-defined]
    page.set_content(f"<body style='margin:0'>{write_page_svg(made)}</body>")
    return page


@pytest.fixture(scope="module")
def kart(browser: object) -> tuple[Page, object]:
    (made,) = pages(Sheet(wrap_drawing(Wrap(PLANNED)), "deck"), ISSUE, PAPERS["A4"])
    return made, opened(browser, made)


def test_the_page_is_as_large_as_its_paper(kart: tuple[Page, object]) -> None:
    _, page = kart
    box = page.evaluate("(() => { const b = document.querySelector('svg').getBoundingClientRect();"  # type: ignore[attr-defined]
                        " return [b.width, b.height] })()")  # fmt: skip
    assert [px / PX_PER_MM for px in box] == pytest.approx([297.0, 210.0], abs=0.01)


@pytest.mark.parametrize(("words", "mm"), [("100 mm", 100.0), ("4 in", 101.6)])
@pytest.mark.parametrize("way", ["across", "up"])
def test_the_check_bars_are_true(kart: tuple[Page, object], words: str, mm: float, way: str) -> None:
    _, page = kart
    axis = page.evaluate(MEASURE, f"check bar, {words} {way}")[0]  # type: ignore[attr-defined]
    # getBBox is without the pen's width; the client rectangle on the screen is too, in this browser or with it
    long = axis["own"][0 if way == "across" else 1]
    assert long == pytest.approx(mm, abs=1e-3)
    on_screen = axis["width" if way == "across" else "height"] / PX_PER_MM
    assert on_screen == pytest.approx(mm, abs=0.05)


def test_the_edges_of_a_port_are_true(kart: tuple[Page, object]) -> None:
    _, page = kart
    (target,) = page.evaluate(MEASURE, "exhaust, target")  # type: ignore[attr-defined]
    assert target["own"] == pytest.approx([38.0 * (50.02 - 0.1) / 50.02, 50.5 - 28.1], abs=2e-3)
    (datum,) = page.evaluate(MEASURE, "datum: deck")  # type: ignore[attr-defined]
    drop = (target["top"] - datum["top"]) / PX_PER_MM
    assert drop == pytest.approx(28.1, abs=0.05)


def test_today_is_dashed_and_the_target_full(kart: tuple[Page, object]) -> None:
    _, page = kart
    (target,) = page.evaluate(MEASURE, "exhaust, target")  # type: ignore[attr-defined]
    (today,) = page.evaluate(MEASURE, "exhaust, as it is")  # type: ignore[attr-defined]
    assert target["dash"] == "none"
    assert today["dash"] != "none"
    assert target["stroke"] > today["stroke"]


def test_the_page_stays_black_on_white_in_the_dark(browser: object) -> None:
    (made,) = pages(Sheet(wrap_drawing(Wrap(KART_BORE)), "deck"), ISSUE, PAPERS["A4"])
    page = opened(browser, made)
    page.emulate_media(color_scheme="dark")  # type: ignore[attr-defined]
    colours = page.evaluate(  # type: ignore[attr-defined]
        "[getComputedStyle(document.querySelector('.sheet')).fill,"
        " getComputedStyle(document.querySelector('g.check')).color]"
    )
    assert colours == ["rgb(255, 255, 255)", "rgb(0, 0, 0)"]


def test_a_correction_stretches_each_way_by_itself(browser: object) -> None:
    """98.7 mm along the short edge; the page lies on its side, so that this is up it."""
    (made,) = pages(Sheet(wrap_drawing(Wrap(KART_BORE)), "deck"), ISSUE, PAPERS["A4"], Printer(98.7, 101.0))
    page = opened(browser, made)
    for way, factor in (("up", 100 / 98.7), ("across", 100 / 101.0)):
        axis = page.evaluate(MEASURE, f"check bar, 100 mm {way}")[0]  # type: ignore[attr-defined]
        on_screen = axis["width" if way == "across" else "height"] / PX_PER_MM
        assert on_screen == pytest.approx(100.0 * factor, abs=0.05)
