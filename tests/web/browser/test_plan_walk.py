"""The plan page in a real browser: from an amount to drawings and curves, through a killed search, to the cut list."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from scribeline.tasks.desk import desk_of, edit
from tests.examples import FOLDER
from tests.web.browser.accessibility import barriers
from tests.web.browser.conftest import DESKTOP, PHONE, PLAN, until
from tests.web.browser.serving import Served


def test_from_an_amount_to_a_plan_picked_from_a_search_that_was_killed(
    served: Served, open_page: Callable[..., Page]
) -> None:
    edit("kart", "plan", PLAN, device="bench", label="a plan", where=served.notebook)
    page = open_page(f"{served.url}cylinder/kart/plan")

    # an amount is changed by its button: numbers, drawing and the quick curves follow
    duration = page.get_by_role("row", name=re.compile("^exhaust duration")).first
    before = duration.inner_text()
    page.get_by_role("button", name=re.compile("^more: raise exhaust roof")).click()
    expect(page.get_by_role("heading", name="Raise exhaust roof at exhaust: 0.9 mm", exact=True)).to_be_visible()
    expect(duration).not_to_have_text(before)
    bore = page.get_by_role("img", name="The bore, before and after")
    expect(bore.locator("desc")).to_contain_text("Exhaust: roof from 28.75 to 27.85 mm")
    areas = page.get_by_role("img", name="Open port areas, before and after")
    expect(areas.locator("desc")).to_contain_text("Exhaust: largest open area from 655 to ")
    expect(page.get_by_text("Most power", exact=False).first).to_be_visible()
    expect(page.get_by_text("Of the plan before your last change.")).to_have_count(0)
    expect(page.get_by_role("heading", name="3. Raise exhaust roof at exhaust: 0.9 mm")).to_be_visible()

    # a slider moves by keyboard and is kept when it is let go of
    slider = page.get_by_role("slider", name=re.compile("^raise exhaust roof"))
    slider.focus()  # it is the element with the name that takes the focus
    expect(slider).to_be_focused()
    expect(slider).to_have_attribute("aria-valuenow", "0.9")
    slider.press("ArrowRight")
    expect(page.get_by_role("heading", name="Raise exhaust roof at exhaust: 1 mm", exact=True)).to_be_visible()
    expect(slider).to_have_attribute("aria-valuenow", "1")

    # a search is begun, the power goes, everything that was found is there and can be used
    behind = page.get_by_text("All of them as a table", exact=True)
    expect(behind).to_be_hidden()  # there is nothing in it yet
    page.get_by_role("button", name="Search", exact=True).click()
    dots = page.locator("button.dot")
    expect(dots.first).to_be_visible()
    expect(behind).to_be_visible()
    served.kill()
    served.start()
    page.goto(f"{served.url}cylinder/kart/plan")
    expect(page.get_by_text(re.compile("^This search was cut off after"))).to_be_visible()
    expect(page.get_by_role("button", name="Go on with the search")).to_be_visible()
    expect(page.get_by_role("heading", name="Raise exhaust roof at exhaust: 1 mm", exact=True)).to_be_visible()
    dots.last.focus()
    page.keyboard.press("Enter")
    picked = page.get_by_role("region", name="The plan that is picked")
    expect(picked.locator("ol li").first).to_be_visible()
    steps = picked.locator("ol li").all_inner_texts()
    picked.get_by_role("button", name="Take these operations").click()

    # what is unfolded stays so over a reload
    page.get_by_text("Goal: the most power within all limits", exact=True).click()
    expect(page.get_by_role("radiogroup", name="Goal")).to_be_visible()
    page.reload()
    expect(page.get_by_role("radiogroup", name="Goal")).to_be_visible()

    # it is the plan now, its cut list follows, and undo brings the former one back
    expect(page.locator("li.operation")).to_have_count(len(steps) + 1)  # the corners that no search looks at stay
    kept = desk_of("kart", where=served.notebook).document["plan"]["steps"]
    assert [step["do"] for step in kept][-1] == "square exhaust floor corners"
    expect(page.locator("article.cut-step")).to_have_count(len(steps) + 1)
    page.get_by_role("button", name=re.compile("^Undo")).click()
    expect(page.get_by_role("heading", name="Raise exhaust roof at exhaust: 1 mm", exact=True)).to_be_visible()


@pytest.mark.parametrize(("size", "dark"), [(DESKTOP, False), (DESKTOP, True), (PHONE, False)])
def test_it_puts_up_no_barriers(
    looked_at: Served, open_page: Callable[..., Page], kart_of_its_own: str, size: dict[str, int], dark: bool
) -> None:
    page = open_page(f"{looked_at.url}cylinder/{kart_of_its_own}/plan", size=size, dark=dark)
    expect(page.get_by_role("img", name="Power before and after the plan, simulated")).to_be_visible()
    for fold in page.locator("main details, #content details").all()[:8]:
        fold.evaluate("one => { one.open = true }")
    page.locator("li.operation details").nth(2).evaluate("one => { one.open = true }")
    expect(page.get_by_text("What else moves because of it").first).to_be_visible()
    assert barriers(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]


def test_a_telephone_shows_every_number_of_a_cut_list(
    looked_at: Served, open_page: Callable[..., Page], kart_of_its_own: str
) -> None:
    """Stop and target are what it is carried to the bench for."""
    page = open_page(f"{looked_at.url}cylinder/{kart_of_its_own}/plan", size=PHONE)
    lines = page.locator("article.cut-step table.apart").first
    lines.wait_for()
    for head in ("now", "stop", "target"):
        cell = lines.locator(f"td[data-words={head}]").first
        box = cell.bounding_box()
        assert box is not None
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= PHONE["width"]
        assert re.match(r"[0-9.]+", cell.inner_text())
    assert page.locator(".apart").first.evaluate(
        "one => one.parentElement.scrollWidth <= one.parentElement.clientWidth"
    )


def test_a_number_typed_in_inches_stays_what_was_typed_and_nonsense_is_refused_at_its_field(
    looked_at: Served, open_page: Callable[..., Page], kart_of_its_own: str
) -> None:
    page = open_page(f"{looked_at.url}cylinder/{kart_of_its_own}/plan", size=PHONE)
    field = page.locator('input[data-path="plan.steps.0.up_mm"]')
    field.fill("1/16 in")
    field.press("Enter")
    expect(page.get_by_role("heading", name="Raise exhaust roof at exhaust: 1.5875 mm", exact=True)).to_be_visible()
    field.fill("much")
    field.press("Enter")
    expect(page.get_by_text("what to do", exact=False).first).to_be_visible()
    field.fill("-0.5")
    field.press("Enter")
    expect(page.get_by_text("metal does not grow back", exact=False).first).to_be_visible()
    page.get_by_role("button", name="Instead: deck barrel base").click()
    expect(page.get_by_role("heading", name="Deck barrel base: 0 mm", exact=True)).to_be_visible()


def test_a_plan_and_the_parts_at_hand_come_from_files(
    looked_at: Served, open_page: Callable[..., Page], kart_of_its_own: str
) -> None:
    page = open_page(f"{looked_at.url}cylinder/{kart_of_its_own}/plan")

    def chosen(button: str, name: str) -> None:
        one = page.get_by_role("button", name=button)
        page.locator("details").evaluate_all("(all) => all.forEach((one) => { one.open = true; })")
        with page.expect_file_chooser() as chooser:
            one.click()
        chooser.value.set_files(FOLDER / name)

    def box() -> object:
        return desk_of(kart_of_its_own, where=looked_at.notebook).document["plan"].get("box")

    before = box()
    chosen("Parts from a file", "parts-at-hand.toml")
    until(page, lambda: box() != before)
    was = desk_of(kart_of_its_own, where=looked_at.notebook).document["plan"]["steps"]
    edit(kart_of_its_own, "plan.steps", [], before=was, device="bench", label="nothing", where=looked_at.notebook)
    expect(page.locator("li.operation")).to_have_count(0)
    chosen("Load a plan from a file", "club-kart-98-plan.toml")
    expect(page.locator("li.operation")).to_have_count(len(PLAN["steps"]))
