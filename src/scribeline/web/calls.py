"""Having a plain function of `tasks` done in a worker process: one that tells no progress and cannot be stopped."""

from collections.abc import Callable
from typing import Any, TypeVar

from scribeline.web.worker_process import Limits
from scribeline.web.workers import Job, Workers

Made = TypeVar("Made")


def plainly(
    function: Callable[..., Made], *args: Any, tell: Callable[[Any], None], stopped: Callable[[], bool], **kwargs: Any
) -> Made:
    """Call a function without what every job is given."""
    return function(*args, **kwargs)


def call(workers: Workers, function: Callable[..., Any], *args: Any, what: str, limits: Limits | None = None) -> Job:
    """Start it; it counts as quick. Arguments as `Workers.start`."""
    return workers.start(plainly, function, *args, what=what, limits=limits, quick=True)
