"""The trials of this cylinder, beginning one, and the head of the one at hand."""

import asyncio
from collections.abc import Sequence
from datetime import datetime

from nicegui import ui

from scribeline.errors import ScribelineError
from scribeline.tasks.trials import new_trial, trials_of
from scribeline.units import with_inches
from scribeline.web.pages.prove.before import planner
from scribeline.web.pages.prove.open_trial import OpenTrial, field
from scribeline.web.pages.prove.turns import TrialTurns
from scribeline.web.shell import StepPage, button, failure, link, section, text


def all_trials(page: StepPage) -> None:
    """Every trial of the cylinder as a link, a form to begin one, and how many runs one needs."""
    with section("Trials of this cylinder", note="A trial is a day of test runs on one revision of the cylinder."):
        found = trials_of(page.build, where=page.state.notebook)
        if not found:
            text("None yet. Plan the day below, then begin one.")
        with ui.element("ul").classes("ruled-list"):
            for one in found:
                trial = one.trial
                with ui.element("li"):
                    link(trial.name, page.url("prove", trial=trial.name)).classes("chief-link")
                    revision = f"revision {trial.revision_number}, " if trial.revision_number else ""
                    last = f", last on {day(one.last_at)}" if one.last_at else ""
                    note = f". {trial.note}" if trial.note else ""
                    text(f"{revision}begun {day(trial.created_at)}{last}{note}", "span").classes("quiet")
    with section("Before you drive"):
        planner(None)
    with section("Begin a trial"):
        _begin(page)


def _begin(page: StepPage) -> None:
    number = page.desk.desk.revision_number
    if not number:
        text("Keep a revision of this cylinder first: a trial says which one was driven.")
        link("Go on measuring", page.url("measure"))
        return
    with ui.element("div").classes("fields"):
        name = field("Name", draft="trial: name", hint="such as squish test, Saturday")
        revision = ui.select(
            {one: f"revision {one}" for one in range(number, 0, -1)}, value=number, label="What is driven"
        )
        revision.props("outlined square stack-label").classes("field")
        gates = field("Gates to be timed", draft="trial: gates", hint="such as 30 to 55, 40 to 60 km/h")
        air = field("Air of the day", draft="trial: air", hint="such as 18 C, 1003 hPa, 60 %")
        note = field("Place, weather, what was changed", draft="trial: note")

    async def begin() -> None:
        wanted = [one.strip() for one in (gates.value or "").split(",") if one.strip()]
        try:
            trial = await asyncio.to_thread(
                new_trial, name.value or "", build=page.build, revision=revision.value, note=note.value or "",
                gates=wanted, air=air.value or None, author=page.desk.device, where=page.state.notebook,
            )  # fmt: skip
        except ScribelineError as refusal:
            failure(refusal)
            return
        for one in (name, gates, air, note):
            one.set_value("")
        ui.navigate.to(page.url("prove", trial=trial.name))

    button("Begin the trial", begin, kind="chief")


def trial_head(trial: OpenTrial) -> None:
    """Which trial it is, on which revision, and what undo and redo in the head of the page would do."""
    turns = TrialTurns(trial)
    with ui.element("div").classes("trial-head"):
        link("All trials of this cylinder", trial.page.url("prove"))
        text(trial.name, "h2")
        about = text("Loading", "p").classes("quiet")
        last = text("", "p").classes("quiet")

    def show_last(_: Sequence[str] = ()) -> None:
        would = {"Undo takes back": turns.words("undo"), "Redo brings back": turns.words("redo")}
        said = " ".join(f"{does}: {words}." for does, words in would.items() if words is not None)
        last.set_text(with_inches(said, trial.page.units))

    def show() -> None:
        one = trial.now.state.trial
        driven = f"revision {one.revision_number} of {one.build_name}, " if one.build_name else ""
        number = trial.now.state.number
        entries = f"{number} entr{'y' if number == 1 else 'ies'}"
        about.set_text(
            f"{driven}begun {day(one.created_at)}; {entries} so far, each saved as it is made."
            f"{' ' + one.note if one.note else ''}"
        )
        show_last()

    trial.on_change(show)
    trial.page.desk.on_change(show_last)


def day(moment: datetime) -> str:
    """A day as pages show it."""
    return f"{moment:%d %B %Y}".lstrip("0")
