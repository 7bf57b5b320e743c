"""Having a plain function of `tasks` done in a worker process, and letting a page go out before something slow."""

import asyncio
from collections.abc import Callable
from typing import Any, TypeVar

from nicegui import Client

from scribeline.web.worker_process import Limits
from scribeline.web.workers import Job, Workers

Made = TypeVar("Made")


_AT_MOST_S, _WRITTEN_S = 0.05, 0.002  # judgement: some turns of the event loop; the socket's writer needs two or three


def plainly(
    function: Callable[..., Made], *args: Any, tell: Callable[[Any], None], stopped: Callable[[], bool], **kwargs: Any
) -> Made:
    """Call a function without what every job is given: it tells no progress and cannot be stopped."""
    return function(*args, **kwargs)


def call(workers: Workers, function: Callable[..., Any], *args: Any, what: str, limits: Limits | None = None) -> Job:
    """Start it; it counts as quick. Arguments as `Workers.start`."""
    return workers.start(plainly, function, *args, what=what, limits=limits, quick=True)


async def gone_out(client: Client) -> None:
    """Wait until what was put on a page is on its way to the browser, before the event loop is kept by something."""
    loop = asyncio.get_running_loop()
    until, box = loop.time() + _AT_MOST_S, client.outbox
    while client.has_socket_connection and (box.updates or box.messages) and loop.time() < until:
        await asyncio.sleep(0)
    await asyncio.sleep(_WRITTEN_S)
