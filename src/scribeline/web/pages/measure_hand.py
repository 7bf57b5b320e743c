"""What is in the hand: the field that has the focus, its steps, its instrument with +/-, and big keys for gloves."""

import functools
from collections.abc import Callable
from html import escape
from typing import Any

from nicegui import ui

from scribeline.errors import ScribelineError
from scribeline.tasks.measuring_values import (
    instrument_words,
    shown,
    step_words,
    stepped,
    with_instrument,
    with_plus_minus,
)
from scribeline.web.pages.measure_entries import Entry
from scribeline.web.shell import StepPage, button, text

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
        self._signature: tuple[Any, ...] = ()
        with ui.element("section").classes("hand").props('aria-label="In the hand"') as self._panel:
            self._place = ui.element("div").classes("hand-tools")
            self._keys()
        self.show(None)

    def show(self, entry: Entry | None) -> None:
        """Take up another field, or show what has become of the one that is taken up."""
        self._entry = entry
        signature = self._looks_like(entry)
        if signature == self._signature:
            return
        self._signature = signature
        self._place.clear()
        self._panel.classes(add="hand-empty") if entry is None else self._panel.classes(remove="hand-empty")
        with self._place:
            if entry is None:
                text("Choose a field: its steps and instruments appear here.").classes("quiet")
            else:
                self._tools(entry)

    def _looks_like(self, entry: Entry | None) -> tuple[Any, ...]:
        if entry is None:
            return ("none",)
        seen = shown(entry.about, entry.value, self._page.preferences.units)
        return entry.about.path, seen.text, seen.instrument, seen.plus_minus, seen.usual

    def _tools(self, entry: Entry) -> None:
        about, units = entry.about, self._page.preferences.units
        seen = shown(about, entry.value, units)
        with ui.element("div").classes("hand-name"):
            text(f"{entry.group}: {about.label}" if entry.group else about.label, "p").classes("hand-title")
            text(seen.text or "empty", "p").classes("number")
        if about.kind in ("measured", "count") and (about.instruments or about.kind == "count"):
            with ui.element("div").classes("hand-steps").props('role=group aria-label="Steps"'):
                for steps in _STEPS:
                    words = step_words(about, entry.value, steps, units)
                    button(words, functools.partial(self._step, steps)).classes("step-button")
        if not about.instruments:
            return
        with (
            ui.element("div")
            .classes("hand-instruments")
            .props('role=group aria-label="Instrument, with its usual +/-"')
        ):
            now = seen.instrument or about.instruments[0].name
            first = about.instruments[:_AT_ONCE]
            for one in first:
                words = instrument_words(about, one, units)
                made = button(words, functools.partial(self._with, one.name)).classes("instrument")
                made.props(f"aria-pressed={'true' if one.name == now else 'false'}")
            others = {one.name: instrument_words(about, one, units) for one in about.instruments[_AT_ONCE:]}
            if others:
                chosen = now if now in others else None
                listed = ui.select(others, value=chosen, label="another instrument")
                listed.props("outlined square stack-label").classes("field instrument-list")
                listed.on_value_change(lambda event: self._with(event.value))
            own = "" if seen.usual else seen.plus_minus.removeprefix("± ").split(" ")[0]
            width = ui.input("+/- of your own", value=own).props("outlined square stack-label inputmode=decimal")
            width.classes("field own-width").on("change", lambda: self._width(str(width.value or "")))

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
