"""A text field that the server can never write over what is being typed into it.

The framework's own input shows whatever the server sends. An answer to what was typed a moment ago, on its way while
somebody types on, would take the place of the new text, and would come back as if it had been typed. Here the browser
numbers what is typed and the server says how far it has heard; the browser lets go of what was said without knowing its
latest text (text_input.js), which the server hears next.
"""

from typing import Any

from nicegui import events, ui

__all__ = ["TextInput", "text_area"]


class TextInput(ui.input, component="text_input.js"):
    """A text field; use it wherever somebody types.

    draft : a name for what is typed into a form and belongs to the cylinder only once a button is pressed. The browser
        keeps it over a reload, a lost network and an end of the server, until the server empties the field.
    """

    def __init__(self, label: str, *, value: str = "", draft: str = "") -> None:
        self.heard = 0
        super().__init__(label, value=value)
        self._props["heard"] = 0
        if draft:
            self._props["draft"] = draft

    def _event_args_to_value(self, e: events.GenericEventArguments) -> str:
        """What came in, unless it was heard before: after a lost network the browser says it again."""
        typed = int(e.args["typed"])
        if typed <= self.heard:
            return str(self.value or "")
        self.heard = typed
        with self._props.suspend_updates():
            self._props["heard"] = typed
        return str(e.args["text"])

    def _handle_value_change(self, value: Any) -> None:
        super(ui.input, self)._handle_value_change(value)  # without having the browser show it whatever stands there


def text_area(label: str, *, value: str = "", draft: str = "") -> TextInput:
    """The same for several lines."""
    made = TextInput(label, value=value, draft=draft)
    made.props("type=textarea")
    return made
