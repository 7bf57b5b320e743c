"""Pages without a browser: NiceGUI's simulated user on a real notebook, for the fast tests."""

import asyncio
import sys
from collections.abc import Awaitable, Callable, Coroutine, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from nicegui.testing import User
from nicegui.testing.user_simulation import user_simulation

from scribeline.notebook import open_notebook
from scribeline.web.app import register_pages
from scribeline.web.desk import Hub
from scribeline.web.state import State
from scribeline.web.workers import Workers

TRIES = 600  # ten a second: a busy machine; nothing is waited for that long on an idle one


def simulated(notebook: Path, walk: Callable[[User, State], Awaitable[None]]) -> None:
    """Run `walk(user, state)` on the pages over this notebook; an error that a page logs fails it.

    What the user should see may come later, as from a worker process; what is there already costs no time.
    """

    async def run() -> None:
        with open_notebook(notebook, create=True) as opened:
            state = State(opened, notebook.parent, Workers(1), Hub(opened))
            async with user_simulation() as user:
                register_pages(state)
                user.should_see = patient(user.should_see)  # type: ignore[method-assign]
                try:
                    await walk(user, state)
                finally:
                    await state.workers.close()

    with modules_kept():
        run_apart(run)


def patient(see: Callable[..., Awaitable[None]]) -> Callable[..., Awaitable[None]]:
    """The same, which gives up late."""

    async def seen(*what: Any, retries: int = TRIES, **kind: Any) -> None:
        await see(*what, retries=max(retries, TRIES), **kind)

    return seen


@contextmanager
def modules_kept() -> Iterator[None]:
    """The simulation forgets every module that has a page, and all above it: the next import would make a second
    scribeline beside the first, whose errors are none of those that the first one knows."""
    before = dict(sys.modules)
    try:
        yield
    finally:
        sys.modules.update(before)


def run_apart(walk: Callable[[], Coroutine[None, None, None]]) -> None:
    """Run it in a thread of its own: a browser that is open in this one has an event loop running there."""
    with ThreadPoolExecutor(1) as thread:
        thread.submit(lambda: asyncio.run(walk())).result()
