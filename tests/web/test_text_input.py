"""A text field that answers what it has heard: what the server tells the browser of each text."""

from pathlib import Path
from typing import Any

from nicegui import ui
from nicegui.testing import User

from scribeline import web
from scribeline.web.state import State
from scribeline.web.text_input import TextInput, text_area
from tests.web.simulation import simulated


def comes_in(field: TextInput, text: str, typed: int) -> None:
    """As from the browser."""
    (listener,) = [one for one in field._event_listeners.values() if one.type == "update:value"]
    message = {"id": field.id, "listener_id": listener.id, "args": {"text": text, "typed": typed}}
    field._handle_event(message)


def sent(field: TextInput) -> tuple[Any, Any]:
    """What the next update tells the browser: the text, and how far the server had heard."""
    told = field._to_dict()
    assert "preserved_props" not in told  # the browser is to judge by what is sent, not to keep what it had
    return told["props"]["value"], told["props"]["heard"]


def test_each_text_goes_out_with_how_far_was_heard_and_none_is_heard_twice(notebook: Path) -> None:
    changes: list[str] = []
    found: list[Any] = []

    async def walk(user: User, state: State) -> None:
        @ui.page("/typed")
        def page() -> None:
            field = TextInput("bore", value="50", draft="bore")
            field.on_value_change(lambda event: changes.append(event.value))
            found.append(sent(field))
            comes_in(field, "5", 1)
            comes_in(field, "51", 2)
            found.append(sent(field))
            field.set_value("51.00")
            found.append(sent(field))
            comes_in(field, "51", 2)  # said again after a network that was away
            found.append(sent(field))
            comes_in(field, "51.3", 3)
            found.append(sent(field))
            assert field._props["draft"] == "bore"
            assert text_area("note")._props["type"] == "textarea"

        await user.open("/typed")

    simulated(notebook, walk)
    assert found == [("50", 0), ("51", 2), ("51.00", 2), ("51.00", 2), ("51.3", 3)]
    assert changes == ["5", "51", "51.00", "51.3"]


def test_no_page_has_a_field_that_the_framework_may_write_over() -> None:
    """Of the framework's own fields to type into there is none: each would let go of what is typed too fast for it."""
    pages = Path(str(web.__file__)).parent
    own = {"ui.input(", "ui.textarea(", "ui.number("}
    found = [path.name for path in sorted(pages.rglob("*.py")) if any(one in path.read_text() for one in own)]
    assert found == []
