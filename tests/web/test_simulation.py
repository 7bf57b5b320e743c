"""The simulation of pages leaves nothing behind for the tests after it."""

import sys
from pathlib import Path

from nicegui.testing import User

import scribeline.web.app
from scribeline.web.shell import step_url
from scribeline.web.state import State
from tests.web.simulation import simulated


def test_there_is_one_scribeline_before_and_after(notebook: Path) -> None:
    names = ("scribeline", "scribeline.web", "scribeline.web.app", "functools")
    before = {name: sys.modules[name] for name in names}

    async def walk(user: User, state: State) -> None:
        await user.open(step_url("kart", "learn"))

    simulated(notebook, walk)
    assert {name: sys.modules.get(name) for name in names} == before
    assert sys.modules["scribeline.web.app"] is scribeline.web.app
