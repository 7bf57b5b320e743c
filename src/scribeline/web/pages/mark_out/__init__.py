"""Mark out: the printer proved, the sheets to print, and the plan as it is worked through at the bench."""

from nicegui import ui

from scribeline.tasks.bench_marks import begun
from scribeline.web.pages.mark_out import bench, printer, sheets
from scribeline.web.shell import StepPage, cautions, text

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
    if part == "sheets":
        cautions("template")
        printer.build(page)
        sheets.build(page)
    else:
        cautions("cut-plan", folded=begun(page.desk.desk.document))
        bench.build(page)
