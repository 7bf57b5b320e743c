"""The plan as the list that is carried to the bench, always of the plan as it stands; and the plan as a file."""

from html import escape
from typing import Any

from nicegui import events, ui

from scribeline.errors import ScribelineError
from scribeline.tasks.plan_aim import plan_read
from scribeline.tasks.plan_in_hand import document_of, plan_file_text
from scribeline.tasks.plan_kept import of_cut
from scribeline.tasks.plan_quick import cut, line_table, undo_words
from scribeline.units import Units, in_inches, length, with_inches
from scribeline.web.drawing import NOT_TO_SCALE
from scribeline.web.pages.plan.bench import Bench
from scribeline.web.pages.plan.looks import Html, file_button, fold, paragraphs, stale_mark, table
from scribeline.web.pages.plan.work import Watch, start, underway
from scribeline.web.shell import button, failure, link, said, say, text

AFTER_S = 0.6


def build(bench: Bench) -> None:
    """Build this part of the page."""
    text(
        "Heights are measured down from the deck as it is when the line is scribed. Stop at the stop line, measure, "
        "then decide. Sheets to lay on the metal are printed under Mark out.",
        "p",
    ).classes("quiet")
    watch = Watch(bench, "cut")
    shown = Html(classes="cut-list")

    def of() -> str:
        return of_cut(bench.kept.record, bench.kept.plan)

    def show(document: dict[str, Any] | None) -> None:
        if not bench.kept.plan.steps:
            shown.show('<p class="quiet">No operation that can be done stands in the plan yet.</p>')
        elif document is not None:
            shown.show(stale_mark(document["of"] != of()) + _list(document, bench.page.units))

    watch.follow(show)

    def due() -> None:
        pending.deactivate()
        now = underway(bench, "cut", of())
        if now is not None:
            watch.attend(now)
        elif bench.kept.plan.steps and watch.kept_of() != of():
            job = start(bench, "cut", cut, of(), bench.kept.record, bench.kept.plan, what="The cut list", quick=True)
            watch.attend(job)

    def follow() -> None:
        watch.show_kept()
        pending.activate()

    pending = ui.timer(AFTER_S, due, active=watch.kept_of() != of())
    bench.on_kept(follow)
    with ui.element("div").classes("row"):
        button("Print the cut list", lambda: ui.run_javascript("window.print()"))
        link("Print sheets to mark out by", bench.page.url("mark-out")).classes("button-link")
    with fold("The plan as a file"):
        text("The whole plan, with what is wanted and at hand, as a file that scribeline reads on any computer.", "p")
        with ui.element("div").classes("row"):
            button("Save the plan as a file", lambda: _save(bench))
        file_button("Load a plan from a file", lambda event: _load(bench, event))


def _list(document: dict[str, Any], units: Units) -> str:
    if document["why_not"]:
        return paragraphs(said(document["why_not"]))
    parts = [
        f'<p class="printed">{NOT_TO_SCALE}</p>',
        *(f'<p class="warning certain">{escape(with_inches(one, units))}</p>' for one in document["said"]),
    ]
    if document["lowered_mm"]:
        lowered = length(document["lowered_mm"], units)
        parts.append(paragraphs([f"The deck comes down by {lowered} before any port is cut."]))
    parts += [_step(step, units) for step in document["steps"]]
    return "".join(parts)


def _step(step: dict[str, Any], units: Units) -> str:
    def said(words: str) -> str:
        return escape(with_inches(words, units))

    parts = []
    if step["measure_first"]:
        parts.append(f'<p class="warning certain"><strong>Stop.</strong> {said(step["measure_first"])}</p>')
    title = in_inches(f"{step['number']}. {step['title'][0].upper()}{step['title'][1:]}", units)
    parts.append(f'<article class="cut-step"><h3>{escape(title)}</h3>')
    parts.append(paragraphs([f"With {step['tools']}. Skill: {step['skill']}."]))
    if step["caution"]:
        parts.append(f'<p class="warning certain">{said(step["caution"])}</p>')
    if step["stop"]:
        parts.append(f'<p class="strong">{escape(in_inches(step["stop"], units))}</p>')
    if step["lines"]:
        parts.append(table(*line_table(step, units), f"Lines of step {step['number']}", apart=True))
    items = [
        said(one["do"])
        + (f" <strong>Measure before going on: {said(one['measure'])}.</strong>" if one["measure"] else "")
        for one in step["instructions"]
    ]
    parts.append("<ol>" + "".join(f"<li>{one}</li>" for one in items) + "</ol>")
    if step["expected"]:
        rows = [
            [one["label"], in_inches(one["was"], units), in_inches(one["value"], units)] for one in step["expected"]
        ]
        parts.append(table(["", "was", "is to be"], rows, f"What to expect after step {step['number']}"))
        parts.append(f'<p class="quiet">{said(step["if_different"])}</p>')
    undone = undo_words(step["undo"], reversible=step.get("reversible", False))
    parts.append(f'<p class="quiet">Can it be undone? {said(undone)}</p></article>')
    return "".join(parts)


def _save(bench: Bench) -> None:
    try:
        ui.download.content(plan_file_text(bench.document), "plan.toml", "application/toml")
    except ScribelineError as refused:
        failure(refused)


async def _load(bench: Bench, event: events.UploadEventArguments) -> None:
    try:
        plan = plan_read(await event.file.read(), event.file.name)
    except ScribelineError as refused:
        failure(refused)
        return
    if bench.page.desk.edit("plan", document_of(plan), f"plan from {event.file.name[:60]}"):
        say("The plan is taken over from the file. Undo brings the former one back.")
