"""Before driving: how many runs, in which order, what to hold constant; and what the day was like."""

import asyncio
import secrets
from collections.abc import Callable
from functools import partial

from nicegui import ui

from scribeline.errors import ScribelineError
from scribeline.tasks.cautions import cautions_text
from scribeline.tasks.trial_coasting import held_back_words
from scribeline.tasks.trial_planning import CONSTANT, Plan, plan_for, plan_sentence
from scribeline.tasks.trial_rows import type_cells
from scribeline.tasks.trial_turning import turning_words
from scribeline.tasks.trial_typed import air_words
from scribeline.tasks.trial_way import way_words
from scribeline.tasks.trials import set_trial
from scribeline.tasks.work_out_view import places_in_words
from scribeline.web.fields import refuse, saved
from scribeline.web.pages.prove.coasting import coast_down
from scribeline.web.pages.prove.open_trial import OpenTrial, field
from scribeline.web.shell import button, failure, link, text
from scribeline.web.text_input import TextInput


def before_driving(trial: OpenTrial) -> None:
    """How many runs, in which order; the order can be laid into the grid of typed times."""
    with ui.element("details"):
        text("How many runs, and in which order", "summary")
        planner(trial)
    with ui.element("details"):
        text("Cautions for test runs, all of them", "summary")
        with ui.element("ul"):
            for sentence in cautions_text("run-test"):
                text(places_in_words(sentence), "li")


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
    """Gates, air, band, wind and slope, what turns, each kept when it is left; and what is known of the vehicle."""
    with ui.element("div").classes("fields"):
        gates = _OfTheDay(
            trial, "gates", field("Gates to be timed", hint="such as 30 to 55, 40 to 60 km/h"),
            lambda typed: {"gates": [one.strip() for one in typed.split(",") if one.strip()]},
        )  # fmt: skip
        air = _OfTheDay(trial, "air", field("Air of the day", hint="such as 18 C, 1003 hPa, 60 %"))
        band = _OfTheDay(trial, "band", field("Band of engine speeds for mean power", hint="such as 6000 to 9000"))
        way = _OfTheDay(
            trial, "way", field("Wind and slope of one way", hint="such as out: head wind 3 km/h, up 0.2 %")
        )
        turning = _OfTheDay(
            trial, "turning",
            field("What turns", hint="such as wheels 0.32 kg m2, crank 21 kg cm2, clutch 4 kg cm2 ± 1 kg cm2"),
        )  # fmt: skip
    place = ui.element("div")

    def show() -> None:
        state, vehicle = trial.now.state, trial.now.vehicle
        shown = (
            (gates, ", ".join(gate.name for gate in state.gates)),
            (air, air_words(state.entries)),
            (band, f"{state.band_rpm[0]:g} to {state.band_rpm[1]:g}" if state.band_rpm else ""),
            (way, way_words(state.entries)),
            (turning, turning_words(state.entries)),
        )
        for one, words in shown:
            one.show(words)
        place.clear()
        with place:
            if state.air is not None:
                text(f"Density of this air: {state.air.density_kg_m3:.3f} kg/m³.")
            if vehicle is None:
                text("No build is named, so there are times and no power.")
                return
            mass = f"{vehicle.mass_kg:g} kg with rider" if vehicle.mass_kg else "mass not measured: times, no power"
            text(f"The vehicle, from the record: {mass}; clutch closes at {vehicle.clutch_rpm:g} rpm.")
            if state.held_back is not None:
                text(held_back_words(state.held_back))
            with ui.element("details"):
                text("What is assumed of it", "summary")
                with ui.element("ul"):
                    for sentence in vehicle.assumed:
                        text(sentence, "li")
                link("Measure it", trial.page.url("measure"))

    trial.on_change(show)
    coast_down(trial)


class _OfTheDay:
    """A field that is kept when it is left; while somebody types in it, nothing takes the place of the text.

    read : typed text -> what of the trial it sets
    """

    def __init__(
        self, trial: OpenTrial, key: str, typed_in: TextInput, read: Callable[[str], dict[str, object]] | None = None
    ) -> None:
        self._trial, self._input, self._path = trial, typed_in, f"prove.{trial.name}.{key}"
        self._read = read or (lambda typed: {key: typed})
        self._shown = ""
        typed_in.props["data-path"] = self._path
        typed_in.on("change", self._left)

    def show(self, words: str) -> None:
        """Show what the trial says, but where somebody is typing."""
        if self._input.value == self._shown:
            self._shown = words
            self._input.set_value(words)

    async def _left(self) -> None:
        typed = str(self._input.value or "")
        if typed == self._shown or not typed.strip():
            self._accepted(typed)
            return
        before, self._shown = self._shown, typed  # typed to its end: what has become of it may be shown
        wanted = self._read(typed.strip())
        if await self._trial.do(set_trial, self._trial.name, refused=partial(refuse, self._input), **wanted) is None:
            self._shown = before
        else:
            self._accepted(typed)

    def _accepted(self, typed: str) -> None:
        self._input.props(remove="error error-message")
        saved(self._trial.page, self._path, typed)
