"""A row of elements that is brought up to date without touching what stays: a press on its way must still arrive."""

from collections.abc import Callable, Sequence
from typing import Generic, TypeVar

from nicegui import ui

Key = TypeVar("Key")
Shown = TypeVar("Shown", bound=ui.element)


class Kept(Generic[Key, Shown]):
    """The elements in one place, each made for a key. place : holds nothing else"""

    def __init__(self, place: ui.element, build: Callable[[Key], Shown]) -> None:
        self.place, self._build = place, build
        self.shown: dict[Key, Shown] = {}

    def show(self, wanted: Sequence[Key]) -> None:
        """Have one for each of these keys, in this order; those that are there already stay as they are."""
        for key in [one for one in self.shown if one not in wanted]:
            self.shown.pop(key).delete()
        for index, key in enumerate(wanted):
            if key not in self.shown:
                with self.place:
                    self.shown[key] = self._build(key)
            if self.place.default_slot.children[index] is not self.shown[key]:
                self.shown[key].move(target_index=index)
