"""What goes out to the browser before something slow, and what is loaded and never searched for garbage."""

import asyncio
import gc
from types import SimpleNamespace
from typing import Any, cast

import pytest

from scribeline.web.calls import gone_out
from scribeline.web.warm import settled
from tests.web.loops import run


def client(connected: bool) -> Any:
    """As much of a client as is looked at: something waits in its outbox."""
    return SimpleNamespace(has_socket_connection=connected, outbox=SimpleNamespace(updates={"drawing": 1}, messages=[]))


def test_it_waits_until_the_outbox_is_empty_but_not_for_ever() -> None:
    async def story() -> None:
        page = client(connected=True)

        async def send() -> None:
            for _ in range(3):
                await asyncio.sleep(0)
            page.outbox.updates.clear()

        sending = asyncio.create_task(send())
        await gone_out(page)
        assert sending.done()
        stuck = client(connected=True)
        await asyncio.wait_for(gone_out(stuck), 5.0)
        assert stuck.outbox.updates  # whoever saves goes on all the same

    run(story())


def test_nobody_waits_for_a_browser_that_is_away(monkeypatch: pytest.MonkeyPatch) -> None:
    turns = 0
    sleep = asyncio.sleep

    async def counted(seconds: float) -> None:
        nonlocal turns
        turns += 1
        await sleep(seconds)

    async def story() -> None:
        monkeypatch.setattr(asyncio, "sleep", counted)
        await gone_out(cast(Any, client(connected=False)))
        monkeypatch.undo()

    run(story())
    assert turns == 1


def test_what_is_loaded_stays_out_of_the_search_for_garbage_which_goes_on() -> None:
    gc.disable()
    try:
        settled()
        assert gc.isenabled()
        assert gc.get_freeze_count() > 10_000
    finally:
        gc.unfreeze()
        gc.enable()
