"""Typing faster than the server answers: what somebody types is never replaced by what the server knew before it."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from scribeline.tasks.desk import desk_of, edit
from tests.web.browser.serving import Served

# Every answer of the server comes so much later, each on its own, as from a disk or a network that takes its time.
LATE = """(late_ms) => {
    if (!window.prompt_listeners) {
        window.prompt_listeners = ["update", "run_javascript"].map((name) => [name, socket.listeners(name).slice()]);
    }
    for (const [name, all] of window.prompt_listeners) {
        socket.off(name);
        for (const one of all) socket.on(name, (...args) => setTimeout(() => one(...args), late_ms));
    }
}"""


# Two fields of two makes: on Plan, and on Measure. What is typed over, how the server shows it, what follows.
FIELDS = {
    "plan": ("plan", "plan.steps.0.up_mm", "1/16 in", "1.5875"),
    "measure": ("measure?at=bottom-end", "record.crank.stroke_mm", "2 in", "50.8"),
}


@pytest.mark.parametrize("late_ms", [0, 5, 30, 80, 150, 300])
@pytest.mark.parametrize("where", FIELDS)
def test_what_is_typed_over_a_number_that_is_being_saved_stays(
    looked_at: Served, open_page: Callable[..., Page], kart_of_its_own: str, where: str, late_ms: int
) -> None:
    step, path, first, shown = FIELDS[where]
    page = open_page(f"{looked_at.url}cylinder/{kart_of_its_own}/{step}")
    field = page.locator(f'input[data-path="{path}"]')
    expect(field).not_to_have_value("")
    page.evaluate(LATE, late_ms)
    for typed, pause_ms in (("much", 0), ("nonsense of some length", late_ms / 12)):
        field.focus()
        field.fill(first)
        field.press("Enter")
        if where == "measure":  # there Enter goes on to the next field
            expect(field).not_to_be_focused()
        field.focus()
        field.select_text()
        page.keyboard.type(typed, delay=pause_ms)  # the answer comes in the middle of it
        page.wait_for_timeout(late_ms + 250)
        expect(field).to_have_value(typed)
        field.press("Enter")
        expect(page.get_by_text("what to do", exact=False).first).to_be_visible()
        expect(field).to_have_value(typed)
    kept = desk_of(kart_of_its_own, where=looked_at.notebook).document
    found = kept["plan"]["steps"][0]["up_mm"] if where == "plan" else kept["record"]["crank"]["stroke_mm"]
    assert (found["value"] if isinstance(found, dict) else found) in (float(shown), first)


def test_a_field_that_is_built_anew_holds_what_was_being_typed(
    looked_at: Served, open_page: Callable[..., Page], kart_of_its_own: str
) -> None:
    """Another device adds a step, so every card is built anew, and moves what every limit's line says."""
    page = open_page(f"{looked_at.url}cylinder/{kart_of_its_own}/plan")
    page.locator("details", has_text="Limits:").first.evaluate("one => { one.open = true }")
    bound = page.locator('input[data-path^="plan.limits."]').first
    bound.fill("0.9")
    field = page.locator('input[data-path="plan.steps.1.up_mm"], input[data-path^="plan.steps.1."]').first
    field.focus()
    field.select_text()
    page.keyboard.type("0.3")
    before = desk_of(kart_of_its_own, where=looked_at.notebook).document["plan"]["steps"]
    there = page.locator("li.operation").count()
    after = [{"do": "deck barrel base", "off_mm": 0.2}, *before]
    edit(kart_of_its_own, "plan.steps", [*before, after[0]], before=before, device="bench", label="one more",
         where=looked_at.notebook)  # fmt: skip
    expect(page.locator("li.operation")).to_have_count(there + 1)
    expect(field).to_have_value("0.3")
    expect(field).to_be_focused()
    page.keyboard.type("5")
    expect(field).to_have_value("0.35")
    expect(bound).to_have_value("0.9")
