"""Mark out: the printer proved, the sheets to print, and the plan as it is worked through at the bench."""

from collections.abc import Sequence

from nicegui import ui

from scribeline.tasks.bench_marks import begun
from scribeline.tasks.marking_in_hand import marking_and_faults, marking_of
from scribeline.web.pages.first import first_the_record
from scribeline.web.pages.mark_out import bench, printer, sheets
from scribeline.web.shell import StepPage, button, cautions, guarded, text

_PARTS = (("sheets", "Sheets to print"), ("bench", "At the bench"))


def build(page: StepPage) -> None:
    """Build the page. Which part shows stands in its address; without one, the bench where something was marked."""
    ui.add_head_html('<link rel="stylesheet" href="/static/mark-out.css">')
    asked = page.query.get("part")
    part = asked if asked in dict(_PARTS) else "bench" if begun(page.desk.desk.document) else "sheets"
    with ui.element("nav").classes("parts").props('aria-label="Parts of marking out"'):
        for name, words in _PARTS:
            one = ui.element("a").props(f'href="{page.url("mark-out", part=name)}"').classes("part-link")
            if name == part:
                one.props('aria-current="page"')
            with one:
                text(words, "span")
    _faults(page)
    if part == "sheets":
        cautions("template")
        printer.build(page)
        if not first_the_record(page, "A sheet needs an engine that is whole."):
            sheets.build(page)
    else:
        cautions("cut-plan", folded=begun(page.desk.desk.document))
        if not first_the_record(page, "A cut list needs an engine that is whole."):
            bench.build(page)


def _faults(page: StepPage) -> None:
    """What of the marking out in hand is not what it should be: said, and taken out where that is wanted."""
    place = ui.element("div")

    def take_out() -> None:
        page.desk.edit("marking", marking_of(page.desk.desk.document) or None, "what could not be read is taken out")

    def show(_: Sequence[str] = ()) -> None:
        faults = marking_and_faults(page.desk.desk.document)[1]
        place.clear()
        if not faults:
            return
        with place, ui.element("section").classes("part warning").props("role=alert"):
            text("Part of what was marked out cannot be read", "h2")
            for words in faults:
                text(words)
            text("Kept: all of it, as it is. The rest is shown without it. Undo, or take out what cannot be read.")
            button("Take it out", lambda: guarded(take_out))

    page.desk.on_change(show)
    show()
