"""The fields of the Measure page: each bound to one place of the record in hand, with what is to be said of it."""

from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Any

from nicegui import ui

from scribeline.errors import ScribelineError
from scribeline.tasks.measuring_fields import MeasuringField
from scribeline.tasks.measuring_values import cleared_at, judge_typed, shown, words_of
from scribeline.tasks.page_words import on_page
from scribeline.units import with_inches
from scribeline.web.fields import Typing, saved
from scribeline.web.shell import StepPage
from scribeline.web.text_input import TextInput, text_area


@dataclass
class Said:
    """What the record in hand says at one field: refusals and disagreements, another way, or that it is needed."""

    refused: list[str] = field(default_factory=list)
    disagrees: list[str] = field(default_factory=list)
    follows: str = ""
    missing: bool = False


class Entry(ABC):
    """One field of the page. chosen : called when it gets the focus."""

    def __init__(self, page: StepPage, about: MeasuringField, group: str, chosen: Callable[["Entry"], None]) -> None:
        self.page, self.about, self.group, self._chosen = page, about, group, chosen
        self.said = Said()
        self._refusal = ""
        self._shown_below = ""
        with ui.element("div").classes("entry").props(f'data-entry="{about.path}"') as self.element:
            self._build()
            self._below = ui.html("", sanitize=False).classes("entry-below").props("aria-live=polite")
            self._describe(self._below.html_id)
        self.element.on("focusin", lambda: self._chosen(self))
        self.say_below()

    @property
    def value(self) -> Any:
        """What stands in the record in hand."""
        return self.page.desk.get(self.about.path)

    @property
    def typed(self) -> str | None:
        """What is typed here and not saved; None where nothing is."""
        return None

    def move_to(self, about: MeasuringField, group: str) -> None:
        """Be the field of another place: of the same element of a list, which stands elsewhere now.

        The browser hears of it from the page (scribeline.moved): to send a field that somebody types in once more
        would take away what is on its way.
        """
        self.about, self.group = about, group
        self.element.props["data-entry"] = about.path

    def put(self, value: Any) -> None:
        """Keep another value here; None clears the field, and the part around it where that would be empty."""
        path = self.about.path
        if value is None:
            if self.value is not None:
                self._edit(cleared_at(self.page.desk.get("record", {}), path), None)
        else:
            self._edit(path, value)

    def _edit(self, path: str, value: Any) -> None:
        words = words_of(self.about, value if path == self.about.path else None, self.group)
        self.refuse("")
        self.page.desk.edit(path, value, words, seen=self._seen_when_begun)
        self.show_now()

    def refuse(self, why: str) -> None:
        """Say here why what was typed is not accepted; an empty text takes that back."""
        if why != self._refusal:
            self._refusal = why
            self.say_below()

    def say(self, said: Said) -> None:
        """Say what the whole record in hand says here."""
        if said != self.said:
            self.said = said
            self.say_below()

    def say_below(self) -> None:
        """Write the lines under the field; nothing is sent where they stay the same."""
        units = self.page.preferences.units
        seen = shown(self.about, self.value, units)
        lines = [("refused", one) for one in ([self._refusal] if self._refusal else []) + self.said.refused]
        lines += [("disagrees", one) for one in self.said.disagrees]
        if seen.also:
            lines.append(("also", f"{seen.also}, {seen.instrument}{' as usual' if seen.usual else ''}"))
        elif self.said.follows and self.value is None:
            lines.append(("follows", f"not measured; it follows: {self.said.follows}"))
        elif self.said.missing:
            lines.append(("missing", f"needed: {self.about.accepted}"))
        text = "".join(f'<p class="{kind}">{_in_lines(with_inches(words, units))}</p>' for kind, words in lines)
        if text != self._shown_below:
            self._shown_below = text
            self._below.set_content(text)
            trouble = any(kind in ("refused", "disagrees") for kind, _ in lines)
            self.element.classes(add="entry-trouble") if trouble else self.element.classes(remove="entry-trouble")

    def refresh(self) -> None:
        """Show what stands in the record in hand now, but where somebody is typing."""
        self.show_now()

    def show_now(self) -> None:
        """Show what stands in the record in hand now."""
        self.say_below()

    @property
    def _seen_when_begun(self) -> int | None:
        """The last edit that was seen when the answer was begun; None where answering takes but a touch."""
        return None

    @abstractmethod
    def _build(self) -> None:
        """Make the field itself."""

    def _describe(self, below: str) -> None:  # noqa: B027 - only some have more to do
        """Have those who do not see the page hear the lines below together with the field."""


class TypedEntry(Entry):
    """A field that is typed into: numbers with their units, words, several numbers, points."""

    def _build(self) -> None:
        about = self.about
        label = about.label + (f", {self._unit}" if self._unit else "")
        long = about.kind == "points"
        self.input = (text_area if long else TextInput)(label, value=self._text)
        self._typing = Typing(self.page, self.input)
        mode = "decimal" if about.kind in ("measured", "number", "count") else "text"
        self.input.props(
            f'outlined square stack-label autocomplete=off inputmode={mode} data-path="{about.path}" '
            f'aria-label="{escape(about.label)}{", needed" if about.needed else ""}"'
        )
        if about.needed:
            self.input.classes("entry-needed")
        self.input.classes("field").on("change", self._left)
        if not long:
            self.input.on("keydown.enter", self._left)
        self.input.on("blur", self.refresh)

    def _describe(self, below: str) -> None:
        self.input.props(f"aria-describedby={below}")

    @property
    def _unit(self) -> str:
        return (
            "inch"
            if self.about.is_length and self.page.preferences.units == "inch"
            else self.about.unit.replace("ratio", "").replace("2", "²")
        )

    @property
    def _text(self) -> str:
        return shown(self.about, self.value, self.page.preferences.units).text

    @property
    def typed(self) -> str | None:
        return str(self.input.value or "") if self._typing.under_way else None

    def move_to(self, about: MeasuringField, group: str) -> None:
        super().move_to(about, group)
        self.input.props["data-path"] = about.path
        if self._text == self._typing.shown:
            self._typing.seen = self.page.desk.desk.number  # its element moved, but nobody edited this of it

    def refuse(self, why: str) -> None:
        super().refuse(why)
        self.input.props(f"aria-invalid={'true' if why else 'false'}")

    def refresh(self) -> None:
        if not self._typing.under_way:
            self._typing.show(self._text)
        self.say_below()

    def show_now(self) -> None:
        self._typing.show(self._text)
        super().show_now()

    @property
    def _seen_when_begun(self) -> int | None:
        return self._typing.seen

    def _left(self) -> None:
        text = str(self.input.value or "")
        if text.strip() == self._text:
            self.refuse("")
        else:
            try:
                self.put(judge_typed(self.about.path, text, self.page.preferences.units, before=self.value))
            except ScribelineError as refusal:
                self.refuse(str(refusal))
                return
        self.show_now()
        saved(self.page, self.about.path, text)


class ChosenEntry(Entry):
    """A field with a few answers: a button for each, big enough for a glove."""

    def _build(self) -> None:
        about = self.about
        self._options: Sequence[tuple[Any, str]] = (
            ((True, "yes"), (False, "no")) if about.kind == "yes or no" else about.options
        )
        with ui.element("div").classes("choice").props(f'role=group aria-label="{escape(about.label)}"'):
            ui.html(escape(about.label) + (" (needed)" if about.needed else ""), sanitize=False, tag="p").classes(
                "choice-label"
            )
            with ui.element("div").classes("choice-row"):
                self._buttons = [self._button(value, words) for value, words in self._options]
        self._mark()

    def _button(self, value: Any, words: str) -> ui.button:
        made = ui.button(words, on_click=lambda: self._tapped(value), color=None)
        return made.props("no-caps unelevated square no-wrap").classes("button choice-button")

    def _tapped(self, value: Any) -> None:
        self.put(None if self.value == value and not self.about.needed else value)

    def _mark(self) -> None:
        value = self.value
        for button, (option, _) in zip(self._buttons, self._options, strict=True):
            default = value is None and option == self.about.default
            button.props(f"aria-pressed={'true' if option == value and value is not None else 'false'}")
            button.classes(add="choice-default") if default else button.classes(remove="choice-default")

    def show_now(self) -> None:
        self._mark()
        super().show_now()


def _in_lines(words: str) -> str:
    """A sentence of our errors as HTML: what is accepted and what to do on lines of their own."""
    lines = [one.strip() for one in on_page(words).splitlines() if one.strip()]
    return "<br>".join(escape(one[:1].upper() + one[1:] if place else one) for place, one in enumerate(lines))


def entry(page: StepPage, about: MeasuringField, group: str, chosen: Callable[[Entry], None]) -> Entry:
    """The entry that suits a field."""
    kind = ChosenEntry if about.kind in ("choice", "yes or no") else TypedEntry
    return kind(page, about, group, chosen)
