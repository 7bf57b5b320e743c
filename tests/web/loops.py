"""Running what is asynchronous in a test."""

import asyncio
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

Result = TypeVar("Result")


def run(story: Coroutine[Any, Any, Result], within_s: float = 60.0) -> Result:
    """Run it to its end in a thread of its own: a browser that is open in this one has an event loop running."""

    async def in_time() -> Result:
        return await asyncio.wait_for(story, within_s)

    with ThreadPoolExecutor(1) as thread:
        return thread.submit(lambda: asyncio.run(in_time())).result()
