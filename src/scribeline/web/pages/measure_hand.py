"""What is in the hand: the field that has the focus, its steps, its instrument with +/-, and big keys for gloves."""

import functools
from collections.abc import Callable
from html import escape
from typing import Any

from nicegui import ui

from scribeline.errors import ScribelineError
from scribeline.tasks.measuring_fields import Instrument, MeasuringField
from scribeline.tasks.measuring_values import (
    Shown,
    instrument_words,
    shown,
    step_words,
    stepped,
    with_instrument,
    with_plus_minus,
)
from scribeline.web.pages.measure_entries import Entry
from scribeline.web.shell import StepPage, button, text
from scribeline.web.text_input import TextInput

_STEPS = (-10, -1, 1, 10)
_AT_ONCE = 4  # instruments that have a button of their own; the others stand in a list
_KEYS = ("7", "8", "9", "⌫", "4", "5", "6", "/", "1", "2", "3", '"', "0", ".", "±", "Next")
_KEY_WORDS = {"⌫": "take the last one away", "/": "stroke of a fraction", '"': "inches", "±": "plus or minus",
              "Next": "next field"}  # fmt: skip


class Hand:
    """The panel beside, or on a telephone below, the fields."""

    def __init__(self, page: StepPage) -> None:
        self._page = page
        self._entry: Entry | None = None
        self._built_for: tuple[Any, ...] | None = None
        self._follow: list[Callable[[Shown], None]] = []
        with ui.element("section").classes("hand").props('aria-label="In the hand"') as self._panel:
            self._place = ui.element("div").classes("hand-tools")
            self._keys()
        self.show(None)

    def show(self, entry: Entry | None) -> None:
        """Take up another field, or show what has become of the one that is taken up.

        What is there for one field stays and is only brought up to date: a key that is pressed twice, or right after
        the field was left, must not be gone when the press arrives.
        """
        self._entry = entry
        built_for = ("none",) if entry is None else (entry.about.path, entry.group, self._page.preferences.units)
        if built_for != self._built_for:
            self._built_for = built_for
            self._follow = []
            self._place.clear()
            self._place.props["data-of"] = entry.about.path if entry is not None else ""
            self._panel.classes(add="hand-empty") if entry is None else self._panel.classes(remove="hand-empty")
            with self._place:
                if entry is None:
                    text("Choose a field: its steps and instruments appear here.").classes("quiet")
                else:
                    self._tools(entry)
                    text("By keyboard: Shift+Enter in a field comes here, Escape goes back to it.").classes(
                        "hand-keys quiet"
                    )
        if entry is not None:
            seen = shown(entry.about, entry.value, self._page.preferences.units)
            for one in self._follow:
                one(seen)

    def _tools(self, entry: Entry) -> None:
        about = entry.about
        with ui.element("div").classes("hand-name"):
            text(f"{entry.group}: {about.label}" if entry.group else about.label, "p").classes("hand-title")
            number = text("", "p").classes("number")
            self._follow.append(lambda seen: number.set_text(seen.text or "empty"))
        if about.kind in ("measured", "count") and (about.instruments or about.kind == "count"):
            with ui.element("div").classes("hand-steps").props('role=group aria-label="Steps"'):
                for steps in _STEPS:
                    self._step_key(steps)
        if not about.instruments:
            return
        with (
            ui.element("div")
            .classes("hand-instruments")
            .props('role=group aria-label="Instrument, with its usual +/-"')
        ):
            for one in about.instruments[:_AT_ONCE]:
                self._instrument_key(about, one)
            others = {one.name: instrument_words(about, one, self._page.units) for one in about.instruments[_AT_ONCE:]}
            if others:
                self._other_instruments(about, others)
            self._own_width()

    def _step_key(self, steps: int) -> None:
        made = button("", functools.partial(self._step, steps)).classes("step-button")

        def follow(_: Shown) -> None:
            if self._entry is not None:  # how far a step is depends on the instrument
                entry = self._entry
                made.set_text(step_words(entry.about, entry.value, steps, self._page.preferences.units))

        self._follow.append(follow)

    def _instrument_key(self, about: MeasuringField, one: Instrument) -> None:
        words = instrument_words(about, one, self._page.units)
        made = button(words, functools.partial(self._with, one.name)).classes("instrument")

        def follow(seen: Shown) -> None:
            now = seen.instrument or about.instruments[0].name
            made.props(f"aria-pressed={'true' if one.name == now else 'false'}")

        self._follow.append(follow)

    def _other_instruments(self, about: MeasuringField, others: dict[str, str]) -> None:
        listed = ui.select(others, value=None, label="another instrument")
        listed.props("outlined square stack-label").classes("field instrument-list")
        chosen: str | None = None

        def take() -> None:
            if listed.value != chosen:  # else the field itself has set it
                self._with(listed.value)

        def follow(seen: Shown) -> None:
            nonlocal chosen
            chosen = seen.instrument if seen.instrument in others else None
            listed.set_value(chosen)

        listed.on_value_change(take)
        self._follow.append(follow)

    def _own_width(self) -> None:
        width = TextInput("+/- of your own").props("outlined square stack-label inputmode=decimal")
        given = ""

        def follow(seen: Shown) -> None:
            nonlocal given
            own = "" if seen.usual else seen.plus_minus.removeprefix("± ").split(" ")[0]
            if str(width.value or "") == given:  # else somebody types here
                given = own
                width.set_value(own)

        def left() -> None:
            nonlocal given
            given = str(width.value or "")  # typed to its end: what has become of it may be shown
            self._width(given)

        width.classes("field own-width").on("change", left)
        self._follow.append(follow)

    def _step(self, steps: int) -> None:
        entry = self._entry
        if entry is not None:
            self._do(lambda: entry.put(stepped(entry.about, entry.value, steps, self._page.preferences.units)))

    def _with(self, instrument: str | None) -> None:
        entry = self._entry
        if entry is None or instrument is None:
            return
        if entry.value is None:
            entry.refuse("type or step to a value first; then its instrument is chosen")
            return
        self._do(lambda: entry.put(with_instrument(entry.about.path, entry.value, instrument)))

    def _width(self, typed: str) -> None:
        entry = self._entry
        if entry is not None and entry.value is not None:
            self._do(
                lambda: entry.put(with_plus_minus(entry.about.path, entry.value, typed, self._page.preferences.units))
            )

    def _do(self, change: Callable[[], None]) -> None:
        assert self._entry is not None
        try:
            change()
        except ScribelineError as refusal:
            self._entry.refuse(str(refusal))

    def _keys(self) -> None:
        """Keys that type into the field with the focus; the browser alone plays them, see static/measure.js."""
        with ui.element("div").classes("keys").props('role=group aria-label="Big keys" id="big-keys"'):
            for key in _KEYS:
                words = _KEY_WORDS.get(key, key)
                ui.html(escape(key), sanitize=False, tag="button").classes("key").props(
                    f'type=button data-key="{escape(key)}" aria-label="{escape(words)}"'
                )
