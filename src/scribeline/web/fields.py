"""A field that a person types into, bound to one place of the work in hand.

What is typed is kept by the browser too until the server has said that it is saved (static/scribeline.js): where the
network or the server goes away in between, the next load of the page offers it again.
"""

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from scribeline.errors import ScribelineError
from scribeline.tasks.page_words import on_page
from scribeline.web.shell import StepPage
from scribeline.web.text_input import TextInput


@dataclass(frozen=True)
class Typed:
    """What a typed text means: the value to keep at the field's place, and the words beside undo."""

    value: Any
    label: str


class Typing:
    """What a text field shows, whether somebody is typing over it, and which edits they had seen when they began.

    A text can come in that was typed before the browser heard of an edit that the server has shown in the field since.
    The browser's confirmation of that edit comes after such a text, so the text counts as typed over what was before;
    on the screen it was never replaced (`TextInput`).
    """

    def __init__(self, page: StepPage, input: TextInput) -> None:
        self._page, self._input = page, input
        self.shown, self.seen = str(input.value or ""), page.desk.desk.number
        input.on_value_change(self._changed)

    @property
    def text(self) -> str:
        """What stands in the field."""
        return str(self._input.value or "")

    @property
    def under_way(self) -> bool:
        """Whether the field holds another text than it was given."""
        return self.text != self.shown

    def show(self, text: str) -> None:
        """Give the field this text."""
        self.shown, self.seen = text, self._page.desk.desk.number
        if self.under_way:
            self._input.set_value(text)

    def _changed(self) -> None:
        if self.under_way and self._page.desk.seen_number < self.seen:
            self.seen = self._page.desk.seen_number


class Field:
    """A text field for one place of the work in hand. It is saved when it is left or Enter is pressed.

    read : typed text -> what it means; a ScribelineError is shown at the field and keeps nothing
    show : what stands in the work in hand -> the text in the field
    """

    def __init__(
        self,
        page: StepPage,
        path: str,
        label: str,
        *,
        read: Callable[[str], Typed],
        show: Callable[[Any], str] = lambda value: "" if value is None else str(value),
        numeric: bool = False,
    ) -> None:
        self.page, self.path, self._read, self._show = page, path, read, show
        self.input = TextInput(label, value=show(page.desk.get(path)))
        self._typing = Typing(page, self.input)
        mode = "decimal" if numeric else "text"
        self.input.props(f'outlined square stack-label data-path="{path}" inputmode={mode} autocomplete=off')
        self.input.classes("field").on("change", self._left).on("keydown.enter", self._left).on("blur", self.refresh)
        page.desk.on_change(lambda paths: self.refresh(), of=self.input)

    def refresh(self) -> None:
        """Show what stands in the work in hand now; what somebody is typing here stays until they leave the field."""
        if not self.input.is_deleted and not self._typing.under_way:  # it may have gone with what it belonged to
            self._show_now()

    def _show_now(self) -> None:
        self._typing.show(self._show(self.page.desk.get(self.path)))

    def _left(self) -> None:
        text = self.input.value or ""
        if text == self._show(self.page.desk.get(self.path)):
            self._show_now()
            self._saved(text)
            return
        try:
            typed = self._read(text)
            self.page.desk.edit(self.path, typed.value, typed.label, seen=self._typing.seen)
        except ScribelineError as refusal:
            self.refuse(str(refusal))
            return
        self.input.props(remove="error error-message")
        self._saved(text)
        self._show_now()

    def _saved(self, text: str) -> None:
        saved(self.page, self.path, text)

    def refuse(self, why: str) -> None:
        """Say at the field why this is not accepted; the text stays in the field and in the browser."""
        refuse(self.input, why)


def refuse(input: TextInput, why: object) -> None:
    """Say at a field why what stands in it is not accepted."""
    input.props["error"] = True
    input.props["error-message"] = "\n".join(line.strip() for line in on_page(str(why)).splitlines())
    input.update()


def saved(page: StepPage, path: str, text: str) -> None:
    """The browser need not keep this text any longer; what was typed over it since it keeps."""
    page.client.run_javascript(f"window.scribeline && scribeline.saved({json.dumps(path)}, {json.dumps(text)})")
