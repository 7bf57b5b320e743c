"""Which edits somebody had seen when they began to type over a field."""

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any, cast

import pytest

from scribeline.web.fields import Typing
from scribeline.web.shell import StepPage
from scribeline.web.text_input import TextInput


class Input:
    """A field as the server knows it; `come_in` is a text from the browser."""

    def __init__(self, value: str) -> None:
        self.value, self.changed = value, cast(Callable[[], None], None)

    def on_value_change(self, callback: Callable[[], None]) -> None:
        self.changed = callback

    def set_value(self, value: str) -> None:
        self.value = value
        self.changed()

    come_in = set_value


def typing_over(confirmed: int) -> tuple[Typing, Input]:
    """A field that was given another device's edit 5, of which the browser has confirmed edits up to `confirmed`."""
    page: Any = SimpleNamespace(desk=SimpleNamespace(desk=SimpleNamespace(number=4), seen_number=4))
    field = Input("50")
    typing = Typing(cast(StepPage, page), cast(TextInput, field))
    page.desk.desk.number = 5
    typing.show("51.3")
    page.desk.seen_number = confirmed
    return typing, field


@pytest.mark.parametrize(("confirmed", "seen"), [(4, 4), (5, 5)])
def test_a_text_that_crossed_another_edit_on_its_way_was_typed_over_what_was_before(confirmed: int, seen: int) -> None:
    typing, field = typing_over(confirmed)
    assert not typing.under_way
    field.come_in("51.7")
    assert typing.under_way
    assert typing.seen == seen


def test_what_the_server_shows_is_not_taken_for_typing() -> None:
    typing, field = typing_over(4)
    assert (typing.under_way, typing.seen, field.value) == (False, 5, "51.3")
