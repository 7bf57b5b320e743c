"""Elements that stay while their row changes."""

from pathlib import Path

import pytest
from nicegui import ui
from nicegui.testing import User

from scribeline.web.kept import Kept
from scribeline.web.state import State
from tests.web.simulation import simulated


@pytest.mark.parametrize("wanted", [["b", "c"], ["c", "a"], ["x", "a", "y", "b", "c", "z"], []])
def test_what_stays_is_not_touched_and_the_order_is_the_wanted_one(notebook: Path, wanted: list[str]) -> None:
    shown: list[tuple[list[str], bool]] = []

    async def walk(user: User, state: State) -> None:
        @ui.page("/kept")
        def page() -> None:
            kept = Kept(ui.element("div"), ui.label)
            kept.show(["a", "b", "c"])
            before = dict(kept.shown)
            kept.show(wanted)
            words = [one.text for one in kept.place.default_slot.children if isinstance(one, ui.label)]
            shown.append((words, all(kept.shown[key] is before[key] for key in wanted if key in before)))

        await user.open("/kept")

    simulated(notebook, walk)
    assert shown == [(wanted, True)]
