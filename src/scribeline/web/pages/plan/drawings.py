"""Bore, timing, section and pipe before and after, all at once, and the numbers over them; they follow every slider."""

from html import escape

from nicegui import ui

from scribeline.sources import source
from scribeline.tasks.plan_drawings import OVERLAYS, overlay
from scribeline.web.drawing import DrawingOnPage
from scribeline.web.pages.plan.bench import Bench
from scribeline.web.pages.plan.looks import Html, change_words, number_words
from scribeline.web.shell import text


def build(bench: Bench) -> None:
    """Build this part of the page."""
    text("Before and after", "h2")
    numbers = Html(classes="numbers")
    limits = Html(classes="limits")
    with ui.element("details").classes("fold"):
        text("Every other number that moves", "summary")
        others = Html()
    text("Broken lines: as it is. Full lines: as it shall be.", "p").classes("quiet")

    def show_numbers() -> None:
        now = bench.now
        numbers.show(_table(bench, now.headlines(), everything=True))
        limits.show(_limits(bench))
        others.show(_table(bench, now.others(), everything=False))

    show_numbers()
    bench.on_look(show_numbers)
    for name in OVERLAYS:
        drawn = DrawingOnPage(lambda name=name: overlay(name, bench.now.before, bench.now.after, bench.now.lowered_mm))
        bench.on_look(drawn.redraw)


def _table(bench: Bench, numbers: object, *, everything: bool) -> str:
    rows = []
    for one in numbers:  # type: ignore[attr-defined]
        by = change_words(bench, one.by, one.unit)
        after = number_words(bench, one.after, one.unit)
        changed = ' class="changed"' if by or one.before is None or one.after is None else ""
        rows.append(
            f'<tr{changed}><th scope="row">{escape(one.label)}</th><td>{escape(number_words(bench, one.before, one.unit))}'
            f"</td><td>{escape(after)}</td><td>{escape(by) or ('as it is' if everything else '')}</td></tr>"
        )
    if not rows:
        return '<p class="quiet">Nothing else moves.</p>'
    head = '<tr><td></td><th scope="col">before</th><th scope="col">after</th><th scope="col">by</th></tr>'
    return (
        '<div class="slides" tabindex="0" role="region" aria-label="Numbers before and after">'
        f"<table>{head}{''.join(rows)}</table></div>"
    )


def _limits(bench: Bench) -> str:
    now = bench.now
    parts = [f'<p class="warning certain">{escape(one.text)}</p>' for one in now.statements]
    parts += [f'<p class="done">No longer: {escape(one.message)}</p>' for one in now.gone]
    for one in now.warnings:
        fresh = "" if one.about in now.old else "<strong>New:</strong> "
        kind = "warning certain" if one.certain else "warning"
        remedy = one.remedy[0].upper() + one.remedy[1:]
        parts.append(
            f'<div class="{kind}"><p>{fresh}{escape(one.message)} <span class="quiet">[{escape(source(one.source).kind)}]'
            f"</span></p><p>{escape(remedy)}.</p></div>"
        )
    return "".join(parts) or '<p class="done">No limit is passed, before or after.</p>'
