"""The page "Work out" in a real browser: an edge dragged and the number read, the crank turned, all of it by keys."""

import math
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.web.browser.accessibility import barriers
from tests.web.browser.conftest import PHONE, until
from tests.web.browser.serving import Served

Open = Callable[..., Page]
OPENS = "[data-number=exhaust_opens_deg_atdc]"
ROOF = ".grip-roof"


@pytest.fixture
def url(looked_at: Served, bare_kart: str) -> str:
    return f"{looked_at.url}cylinder/{bare_kart}/work-out"


def work_out(open_page: Open, url: str, **options: object) -> Page:
    page = open_page(url, **options)
    page.locator(ROOF).first.wait_for()
    expect(page.locator(f".chief {OPENS} .within")).to_have_text("± 0.27°")  # the second pass is through
    return page


def crown_y(page: Page) -> float:
    """Where the crown's edge is on the screen, in the bore."""
    box = page.locator(".place-bore g.outline[data-moves=piston]").bounding_box()
    assert box is not None
    return box["y"]


def test_drag_a_port_edge_and_read_the_number(url: str, open_page: Open) -> None:
    page = work_out(open_page, url)
    number, change = (page.locator(f".chief {OPENS} {part}") for part in (".is", ".change"))
    expect(number).to_have_text("90.31°")
    handle = page.locator(ROOF).first
    box = handle.bounding_box()
    paper = page.locator(".place-bore svg").first.bounding_box()
    assert box is not None
    assert paper is not None
    px_per_mm = paper["width"] / float(str(page.locator(".place-bore svg").first.get_attribute("viewBox")).split()[2])
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] - 8
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y - px_per_mm, steps=5)
    expect(change).to_contain_text("earlier")  # while the finger is still down
    assert page.get_by_role("button", name="Undo").get_attribute("aria-label") == "Undo: nothing"
    page.mouse.up()
    # One millimetre higher: the angle that the card gives a record whose roof was measured there.
    expect(number).to_have_text("88.02°")
    expect(change).to_have_text("2.3° earlier")
    expect(page.get_by_label("roof below the deck, mm").first).to_have_value("28.10")
    expect(page.locator(".as-if")).to_contain_text("roof 1.00 mm higher")
    expect(page.locator(".place-bore")).to_contain_text("roof 28.1")

    page.reload()  # and everything is as it was left
    expect(page.locator(f".chief {OPENS} .is")).to_have_text("88.02°")
    page.get_by_role("button", name="Undo").click()
    expect(page.locator(f".chief {OPENS} .is")).to_have_text("90.31°")
    expect(page.locator(".as-if")).to_be_hidden()


def test_the_crank_turns_in_the_browser_and_nothing_goes_over_the_wire(url: str, open_page: Open) -> None:
    page = work_out(open_page, url)
    wire: list[str] = []

    def note(frame: object) -> None:
        # A lone figure is the socket's own pulse, an "ack" its own receipt for what came before.
        wire.extend(one for one in [str(frame)] if len(one) > 3 and not one.startswith('42["ack"'))

    page.on("websocket", lambda socket: (socket.on("framesent", note), socket.on("framereceived", note)))
    page.reload()
    page.locator(ROOF).first.wait_for()
    page.locator(".place-bore").evaluate("(one) => one.scrollIntoView()")
    before = -1
    while before < len(wire):  # until nothing comes any longer, the +/- included that follow once it is quiet
        before = len(wire)
        page.wait_for_timeout(3000)
    assert wire  # or nothing would be noted
    drawn = page.evaluate("scribelineBench.framesDrawn()")
    page.get_by_role("button", name="Turn").click()
    heights = set()

    def at_five_heights() -> bool:
        heights.add(round(crown_y(page), 1))
        return len(heights) >= 5

    until(page, at_five_heights)
    until(page, lambda: page.evaluate("scribelineBench.framesDrawn()") - drawn > 20)
    page.get_by_role("button", name="Stop").click()
    assert wire[before:] == []

    # To the next mark and on: the page says what it is, and the piston stands where the port's roof is.
    page.locator("[data-crank=angle]").fill("80")
    page.get_by_role("button", name="On to the next mark").click()
    expect(page.locator("#crank-said")).to_have_text("exhaust opens")
    expect(page.locator("[data-crank=deg]")).to_have_text("90.3° after TDC")
    expect(page.locator("[data-open=exhaust]")).to_have_text("shut")
    page.get_by_role("button", name="One degree on").click()
    expect(page.locator("[data-open=exhaust]")).to_contain_text("mm²")


def test_the_crown_is_at_one_height_in_both_views_and_where_the_crank_puts_it(url: str, open_page: Open) -> None:
    """Stroke 50, rod 100, offset 0.5: how far the piston comes down by Pythagoras, in the drawing's own millimetres."""
    page = work_out(open_page, url)
    wide_px, wide_mm = page.locator(".place-bore svg").first.evaluate(
        "(one) => [one.getBoundingClientRect().width, one.viewBox.baseVal.width]"
    )
    crown = page.locator(".place-section g.outline[data-moves=piston] path").first
    heights = []
    for deg in (0, 60, 150):
        page.locator("[data-crank=angle]").fill(str(deg))
        # The piston's outline begins at its crown's edge; where that is on the screen is asked of the browser.
        y = crown.evaluate("(o) => { const p = o.getPointAtLength(0); return p.matrixTransform(o.getScreenCTM()).y; }")
        assert y == pytest.approx(crown_y(page), abs=1.5)
        heights.append(y)
    top = math.asin(0.5 / 125.0)
    for deg, y in zip((60, 150), heights[1:], strict=True):
        turned = top + math.radians(deg)
        down = math.sqrt(125.0**2 - 0.5**2) - (
            25.0 * math.cos(turned) + math.sqrt(100.0**2 - (25.0 * math.sin(turned) - 0.5) ** 2)
        )
        assert (y - heights[0]) * wide_mm / wide_px == pytest.approx(down, abs=0.1)


def test_keys_alone_are_enough(url: str, open_page: Open) -> None:
    page = work_out(open_page, url)
    page.locator(ROOF).first.focus()
    for key in ("ArrowUp", "ArrowUp", "ArrowDown", "Shift+ArrowUp"):
        page.keyboard.press(key)
    expect(page.locator(".as-if")).to_contain_text("roof 1.10 mm higher")
    slider = page.get_by_role("slider", name="exhaust: roof below the deck")
    expect(slider).to_be_focused()
    expect(slider).to_have_attribute("aria-valuetext", "28.00 mm below the deck, opens 87.8° after top dead centre, "
                                     "1.10 mm higher than measured")  # fmt: skip
    page.get_by_role("button", name="rear transfer", exact=True).focus()
    page.keyboard.press("Enter")
    field = page.get_by_label("opens, degrees after top dead centre").locator("visible=true")
    field.fill("110")
    page.keyboard.press("Enter")
    expect(page.locator(".as-if")).to_contain_text("rear transfer: roof")
    field.fill("nowhere")
    page.keyboard.press("Enter")
    expect(page.locator(".refused").locator("visible=true")).to_contain_text("nowhere")
    summary = page.locator(f"details{OPENS} > summary")
    summary.focus()
    page.keyboard.press("Enter")
    expect(page.locator(f"details{OPENS} .working")).to_contain_text("What makes its +/-, most first")
    assert page.url.endswith("#exhaust_opens_deg_atdc")
    page.reload()
    expect(page.locator(f"details{OPENS} .working")).to_contain_text("Formula")


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_nobody_is_kept_out(url: str, open_page: Open, dark: bool) -> None:
    page = work_out(open_page, url, dark=dark)
    page.locator(f"details{OPENS} > summary").click()
    page.locator(f"details{OPENS} .working dl").wait_for()
    assert barriers(page) == []


def test_on_a_phone_nothing_is_cut_off_and_an_edge_follows_a_finger(url: str, open_page: Open) -> None:
    page = work_out(open_page, url, size=PHONE, has_touch=True)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.locator(".place-bore").evaluate("(one) => one.scrollIntoView()")
    box = page.locator(ROOF).first.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] - 8
    touch = page.context.new_cdp_session(page)
    touch.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for i in range(1, 5):
        touch.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [{"x": x, "y": y - 2 * i}]})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    expect(page.locator(".as-if")).to_contain_text("higher")
    bar = page.locator(".crank").bounding_box()
    assert bar is not None
    assert bar["height"] < PHONE["height"] / 3
    assert barriers(page) == []


def test_who_wants_stillness_gets_it(url: str, open_page: Open) -> None:
    page = work_out(open_page, url, reduced_motion="reduce")
    drawn = page.evaluate("scribelineBench.framesDrawn()")
    page.get_by_role("button", name="Turn").click()
    page.wait_for_timeout(500)
    assert page.evaluate("scribelineBench.framesDrawn()") == drawn
    expect(page.locator("#crank-said")).not_to_have_text("")  # it stands at a mark, and goes on from mark to mark
