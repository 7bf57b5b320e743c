"""Rolling and air drag from the trial's own roll-outs: which they are, what came out, and a button to take it over."""

from typing import Any

from nicegui import ui

from scribeline.tasks.trial_coasting import (
    FromRollOuts,
    coast_of_trial,
    held_back_words,
    may_be_roll_outs,
    take_over,
)
from scribeline.web.pages.prove.open_trial import OpenTrial
from scribeline.web.shell import button, said, text
from scribeline.web.uploads import KINDS
from scribeline.web.workers import Job

WAYS = ("out", "back")


def coast_down(trial: OpenTrial) -> None:
    """Choose the recordings of each way, fit, and see what it rests on before it is taken over."""
    with ui.element("details"):
        text("Rolling and air drag from roll-outs", "summary")
        text(
            "On a closed, level road where nobody else can be, with room to stop: pull the clutch at speed, keep off "
            "the brakes, and let it roll until it is slow. Five times each way along the same stretch, each way in a "
            "recording of its own. Bring them in above, then say here which they are."
        )
        with ui.element("div").classes("fields"):
            chosen = {"out": _chosen("Rolled one way"), "back": _chosen("Rolled the other way")}

        fits: list[Job] = []

        async def fit() -> None:
            out, back = ([int(one) for one in chosen[way].value or ()] for way in WAYS)
            page = trial.page
            job = page.state.workers.start(
                coast_of_trial, trial.name, out, back, page.state.notebook.address, what="The coast-down",
                limits=KINDS["recording"].limits, quick=True,
            )  # fmt: skip
            fits.append(job)
            place.clear()
            with place:
                text("Reading the recordings")
            await job.wait()
            if job is not fits[-1]:
                return  # others were chosen meanwhile
            place.clear()
            with place:
                if job.state != "done":
                    with ui.element("div").classes("warning certain"):
                        for line in said(job.error or "Stopped."):
                            text(line)
                    return
                _found(trial, job.result)

        button("Fit rolling and drag", fit)
        place = ui.element("div").props("aria-live=polite")

    def show() -> None:
        options = may_be_roll_outs(trial.now)
        asked = {way: trial.page.query.get(way, "").split(",") for way in WAYS}
        for way, select in chosen.items():
            if select.options != options:
                select.set_options(options, value=[one for one in options if str(one) in asked[way]])

    def remember() -> None:
        trial.remember(**{way: ",".join(map(str, select.value or ())) for way, select in chosen.items()})

    trial.on_change(show)
    for select in chosen.values():
        select.on_value_change(remember)


def _found(trial: OpenTrial, found: FromRollOuts) -> None:
    held = found.held_back
    if held is not None:
        text(held_back_words(held)).classes("verdict-sentence")
    for remark in found.remarks:
        with ui.element("div").classes("warning"):
            text(remark)
    text("What it rests on", "h3")
    with ui.element("ul"):
        for sentence in found.grounds:
            text(sentence, "li")
    if held is not None:
        button("Take these into this trial's vehicle", lambda: trial.do(take_over, trial.name, held), kind="chief")
        text("The record stays as it is: for a next revision write them in under Measure.").classes("quiet")


def _chosen(label: str) -> Any:
    made = ui.select({}, value=[], multiple=True, label=label)
    return made.props("outlined square stack-label").classes("field")
