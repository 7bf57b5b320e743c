"""Bore, timing, section, areas and pipe before and after, with the numbers over them; they follow every slider."""

from collections.abc import Iterable
from functools import partial
from html import escape

from nicegui import ui

from scribeline.tasks.inline_drawings import InlineDrawing
from scribeline.tasks.plan_drawings import OVERLAYS, overlay
from scribeline.tasks.plan_in_hand import Number
from scribeline.tasks.work_out_view import places_in_words
from scribeline.web.drawing import DrawingOnPage
from scribeline.web.pages.plan.bench import Bench
from scribeline.web.pages.plan.looks import Html, change_words, fold, number_words, warning
from scribeline.web.shell import in_units_here, text


def build(bench: Bench) -> None:
    """Build this part of the page."""
    text("Before and after", "h2")
    text("Broken lines: as it is. Full lines: as it shall be.", "p").classes("quiet")
    _draw(bench, "bore")
    numbers = Html(classes="numbers")
    limits = Html(classes="limits")
    with ui.element("div").classes("side-by-side"):
        for name in OVERLAYS:
            if name != "bore":
                _draw(bench, name)
    with fold("Every other number that moves"):
        others = Html()

    def show() -> None:
        now = bench.now
        numbers.show(_table(bench, now.headlines(), everything=True))
        limits.show(_limits(bench))
        others.show(_table(bench, now.others(), everything=False))

    show()
    bench.on_look(show)


def _draw(bench: Bench, name: str) -> None:
    drawn = DrawingOnPage(partial(_drawn, bench, name))
    bench.on_look(drawn.redraw)


def _drawn(bench: Bench, name: str) -> InlineDrawing | str:
    return overlay(name, bench.now.before, bench.now.after, bench.now.lowered_mm, bench.page.units)


def _table(bench: Bench, numbers: Iterable[Number], *, everything: bool) -> str:
    rows = []
    for one in numbers:
        by = change_words(bench, one.by, one.unit)
        cells = (number_words(bench, one.before, one.unit), number_words(bench, one.after, one.unit),
                 by or ("as it is" if everything else ""))  # fmt: skip
        changed = ' class="changed"' if by or one.before is None or one.after is None else ""
        row = "".join(f"<td>{escape(cell)}</td>" for cell in cells)
        rows.append(f'<tr{changed}><th scope="row">{escape(one.label)}</th>{row}</tr>')
    if not rows:
        return '<p class="quiet">Nothing else moves.</p>'
    head = '<tr><td></td><th scope="col">before</th><th scope="col">after</th><th scope="col">by</th></tr>'
    return (
        '<div class="slides" tabindex="0" role="group" '
        f'aria-label="{"Numbers before and after" if everything else "Every other number that moves"}">'
        f'<table class="few" style="--cells:3">{head}{"".join(rows)}</table></div>'
    )


def _limits(bench: Bench) -> str:
    now = bench.now
    parts = [f'<p class="warning certain">{escape(in_units_here(one.text))}</p>' for one in now.statements]
    parts += [f'<p class="done">No longer: {escape(in_units_here(one.message))}</p>' for one in now.gone]
    parts += [warning(one, "" if one.about in now.old else "New: ") for one in now.warnings]
    parts = parts or ['<p class="done">No limit is passed, before or after.</p>']
    return "".join(parts) + (f'<p class="quiet">{escape(places_in_words(now.not_held))}</p>' if now.not_held else "")
