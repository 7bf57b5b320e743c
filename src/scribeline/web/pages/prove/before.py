"""Before driving: how many runs, in which order, what to hold constant; and what the day was like."""

import asyncio
import secrets
from collections.abc import Callable

from nicegui import ui

from scribeline.errors import ScribelineError
from scribeline.tasks.cautions import cautions_text
from scribeline.tasks.trial_planning import CONSTANT, Plan, plan_for, plan_sentence
from scribeline.tasks.trial_rows import type_cells
from scribeline.tasks.trial_typed import air_words
from scribeline.tasks.trial_way import way_words
from scribeline.tasks.trials import set_trial
from scribeline.web.pages.prove.open_trial import OpenTrial, field
from scribeline.web.shell import button, failure, link, text


def before_driving(trial: OpenTrial) -> None:
    """How many runs, in which order; the order can be laid into the grid of typed times."""
    with ui.element("details"):
        text("How many runs, and in which order", "summary")
        planner(trial)
    with ui.element("details"):
        text("Cautions for test runs, all of them", "summary")
        with ui.element("ul"):
            for sentence in cautions_text("run-test"):
                text(sentence, "li")


def planner(trial: OpenTrial | None) -> None:
    """From a difference to a day. trial : where the order can be laid out, or None."""
    with ui.element("div").classes("fields"):
        difference = field("Difference you want to see, s", "0.15")
        scatter = field("Scatter of single runs, s", "0.08", hint="about 1 % of the time, for a careful rider")
        setups = field("Setups, the base first", "before, after")
    place = ui.element("div")

    async def work_out() -> None:
        texts = [str(one.value or "") for one in (difference, scatter, setups)]
        try:
            plan = await asyncio.to_thread(plan_for, *texts)
        except ScribelineError as refusal:
            failure(refusal)
            return
        place.clear()
        with place:
            _planned(plan, trial)

    button("Work the day out", work_out, kind="chief")


def _planned(plan: Plan, trial: OpenTrial | None) -> None:
    text(plan_sentence(plan)).classes("verdict-sentence")
    text("In this order", "h3")
    text("A straight drift of the day does no setup a favour in it.").classes("quiet")
    with ui.element("ol").classes("day-order"):
        for setup, way in zip(plan.order, plan.directions, strict=True):
            with ui.element("li"):
                text(setup, "strong")
                text(f" {way}", "span").classes("quiet")
    if trial is not None:

        async def lay() -> None:
            cells = []
            for place, (setup, way) in enumerate(zip(plan.order, plan.directions, strict=True), start=1):
                row = secrets.token_hex(6)
                cells += [(row, "setup", setup), (row, "direction", way), (row, "order", str(place))]
            await trial.do(type_cells, trial.name, cells, seen=trial.seen)

        button("Lay this order into the grid below", lay)
    text("What so many runs of each setup show, four times in five", "h3")
    with ui.element("ul"):
        for runs, size in plan.smaller:
            text(f"{runs} runs: {size:.2g} {plan.unit}", "li")
    text("Hold constant", "h3")
    with ui.element("ul"):
        for sentence in CONSTANT:
            text(sentence, "li")


def the_day(trial: OpenTrial) -> None:
    """Gates, air, band, wind and slope of the day, each kept when it is left; and what is known of the vehicle."""
    with ui.element("div").classes("fields"):
        gates = field("Gates to be timed", hint="such as 30 to 55, 40 to 60 km/h")
        air = field("Air of the day", hint="such as 18 C, 1003 hPa, 60 %")
        band = field("Band of engine speeds for mean power", hint="such as 6000 to 9000")
        way = field("Wind and slope of one way", hint="such as out: head wind 3 km/h, up 0.2 %")
    _kept(trial, gates, lambda typed: {"gates": [one.strip() for one in typed.split(",") if one.strip()]})
    _kept(trial, air, lambda typed: {"air": typed})
    _kept(trial, band, lambda typed: {"band": typed})
    _kept(trial, way, lambda typed: {"way": typed})
    place = ui.element("div")

    def show() -> None:
        state, vehicle = trial.now.state, trial.now.vehicle
        shown = (
            (gates, ", ".join(gate.name for gate in state.gates)),
            (air, air_words(state.entries)),
            (band, f"{state.band_rpm[0]:g} to {state.band_rpm[1]:g}" if state.band_rpm else ""),
            (way, way_words(state.entries)),
        )
        for one, words in shown:
            if one.value != words:
                one.set_value(words)
        place.clear()
        with place:
            if state.air is not None:
                text(f"Density of this air: {state.air.density_kg_m3:.3f} kg/m³.")
            if vehicle is None:
                text("No build is named, so there are times and no power.")
                return
            mass = f"{vehicle.mass_kg:g} kg with rider" if vehicle.mass_kg else "mass not measured: times, no power"
            text(f"The vehicle, from the record: {mass}; clutch closes at {vehicle.clutch_rpm:g} rpm.")
            with ui.element("details"):
                text("What is assumed of it", "summary")
                with ui.element("ul"):
                    for sentence in vehicle.assumed:
                        text(sentence, "li")
                link("Measure it", trial.page.url("measure"))

    trial.on_change(show)


def _kept(trial: OpenTrial, typed_in: ui.input, read: Callable[[str], dict[str, object]]) -> None:
    """Keep what a field holds when it is left or Enter is pressed, if it is not what was there."""
    was = {"text": ""}

    async def left() -> None:
        typed = str(typed_in.value or "").strip()
        if typed and typed != was["text"]:
            was["text"] = typed
            if await trial.do(set_trial, trial.name, **read(typed)) is None:
                was["text"] = ""

    trial.on_change(lambda: was.update(text=str(typed_in.value or "")))
    typed_in.on("change", left)
