"""Work that follows what changes on a page: one piece at a time, and anew for what changed meanwhile.

    self.latest = Latest(page.client, self.work_out, "the verdict")
    self.latest.soon()                     # at every change; `work_out` reads what it is about when it is called

Begun once for every change, several pieces would be under way side by side, and one that began earlier but took longer
would show what it found over what the last one did.
"""

from collections.abc import Awaitable, Callable

from nicegui import Client, background_tasks


class Latest:
    """See the module. It goes on whatever is taken off the page meanwhile, and ends with the page.

    work : what is to be done; awaited on the event loop. name : of it, for the log
    """

    def __init__(self, client: Client, work: Callable[[], Awaitable[None]], name: str) -> None:
        self._client, self._work, self._name = client, work, name
        self._wanted = self._going_on = False

    @property
    def overtaken(self) -> bool:
        """Whether what is under way is about something that has changed since, or nobody is there to see it."""
        return self._wanted or self._client.is_deleted

    def soon(self) -> None:
        """Have it done: at once, or as soon as what is under way has ended."""
        self._wanted = True
        if not self._going_on:
            self._going_on = True
            background_tasks.create(self._go_on(), name=self._name)

    async def _go_on(self) -> None:
        try:
            while self._wanted and not self._client.is_deleted:
                self._wanted = False
                await self._work()
        finally:
            self._going_on = False
