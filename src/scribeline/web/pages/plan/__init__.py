"""Plan: what is wanted and at hand, the operations, what they make of the engine, and the list for the bench."""

from nicegui import ui

from scribeline.tasks.plan_in_hand import record_in_hand
from scribeline.web.pages.first import first_the_record
from scribeline.web.pages.plan import aim, cut, drawings, operations, power, searching, squish
from scribeline.web.pages.plan.bench import Bench
from scribeline.web.shell import StepPage, cautions, link, section

PARTS = {
    "aim": "Aim and means", "squish": "Squish", "search": "Search", "operations": "Operations", "power": "Power",
    "who": "Who limits what", "cut-list": "Cut list",
}  # fmt: skip


def build(page: StepPage) -> None:
    """Build the page."""
    ui.add_head_html('<link rel="stylesheet" href="/static/plan.css">')
    ui.add_head_html('<script type="module" src="/static/plan.js"></script>')
    if first_the_record(page, "A plan needs an engine that is whole."):
        return
    bench = Bench(page, record_in_hand(page.desk.get("record"), page.build))
    with ui.element("nav").classes("parts").props('aria-label="Parts of this page"'):
        for name, words in PARTS.items():
            link(words, f"#{name}")
    with section("Aim and means", note="Every search and every limit on this page goes by these."):
        _anchor("aim")
        aim.build(bench)
    with section("Squish by gaskets and deck"):
        _anchor("squish")
        squish.build(bench)
    with section("Let it search for plans"):
        _anchor("search")
        searching.build(bench)
    with ui.element("div").classes("plan-table"):
        with section("Operations, in the order they are done"):
            _anchor("operations")
            operations.build(bench)
        with (
            ui.element("section")
            .classes("part plan-drawings")
            .props('aria-label="The engine before and after" tabindex="0"')
        ):
            drawings.build(bench)
    with section("Power before and after"):
        _anchor("power")
        power.build_curves(bench)
    with section("Ports or pipe? Who limits what"):
        _anchor("who")
        power.build_who(bench)
    with section("Cut list"):
        _anchor("cut-list")
        cut.build(bench)
    cautions("cut-plan", "simulation", "compression")


def _anchor(name: str) -> None:
    ui.element("div").props(f"id={name}").classes("anchor")
