"""The demonstration kart with its plan in hand, for tests of pages that need one."""

import asyncio
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from scribeline.errors import ScribelineError
from scribeline.tasks.desk import edit
from scribeline.web.workers import Job, Limits, Workers
from tests.tasks.at_hand import document

WITHIN_S = 60.0  # a worker's first job imports what it needs, on a machine that may be busy


def with_plan(notebook: Path) -> Path:
    """The notebook with the kart's plan in the work in hand."""
    edit("kart", "plan", document()["plan"], device="tests", label="the demonstration's plan", where=notebook)
    return notebook


async def until(true: Callable[[], object], what: str = "it never came") -> None:
    """Wait for a worker, in a simulated user's walk; `what` is said where it never comes."""
    end = time.monotonic() + WITHIN_S
    while not true():
        assert time.monotonic() < end, what
        await asyncio.sleep(0.05)


def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Jobs are done at once and here, without a process: for tests that ask what a page makes of the answer."""

    def start(
        workers: Workers, function: Callable[..., Any], *args: Any, what: str = "", limits: Limits | None = None,
        quick: bool = False, **kwargs: Any,
    ) -> Job:  # fmt: skip
        job = Job(workers, b"", what, limits, quick)
        try:
            job.end("done", result=function(*args, tell=job.told, stopped=lambda: False, **kwargs))
        except ScribelineError as refusal:
            job.problems = list(getattr(refusal, "problems", ()))
            job.end("failed", error=str(refusal), kind=type(refusal).__name__)
        return job

    monkeypatch.setattr(Workers, "start", start)
