"""The trial at hand on one open page: loaded off the event loop, looked after each second, told to the page's parts.

Whoever types over something says what they had seen. That is what their browser has confirmed to show, as with the work
in hand (web/desk.py): a phone that slept types over what it showed when it fell asleep.
"""

import asyncio
import contextlib
import json
from collections.abc import Callable
from typing import Any
from urllib.parse import quote

from nicegui import ui

from scribeline.errors import EditConflict, ScribelineError
from scribeline.tasks.trials import Shown, journal_number, show_trial
from scribeline.web.shell import StepPage, failure, show_conflict
from scribeline.web.text_input import TextInput

EVERY_S = 1.0
ACKNOWLEDGED_WITHIN_S = 600.0

Part = Callable[[], object]


class OpenTrial:
    """One trial on one page. `shown` is None until it has been loaded the first time."""

    def __init__(self, page: StepPage, name: str) -> None:
        self.page, self.name = page, name
        self.shown: Shown | None = None
        self.seen = 0
        self._parts: list[Part] = []
        self._loading = False
        self._one_by_one = asyncio.Lock()
        self._waiting = 0
        self._tasks: set[asyncio.Task[None]] = set()
        page.client.on_delete(self._close)

    @property
    def author(self) -> str:
        """Under which name this device's entries stand."""
        return self.page.desk.device

    @property
    def where(self) -> Any:
        """The notebook, open."""
        return self.page.state.notebook

    @property
    def now(self) -> Shown:
        """The trial; only once it has been loaded."""
        assert self.shown is not None
        return self.shown

    def on_change(self, part: Part) -> None:
        """Have it called, in the page's own place, whenever the trial is different."""
        self._parts.append(part)

    def begin(self) -> None:
        """Load it, and look each second whether another device has added something."""
        ui.timer(0.0, self.refresh, once=True)
        ui.timer(EVERY_S, self.look)

    async def look(self) -> None:
        """Load it again where something came in by another way."""
        if self.shown is None or self._loading:
            return
        try:
            number = await asyncio.to_thread(journal_number, self.name, where=self.where)
        except ScribelineError:
            return  # what is wrong with the notebook is said by whatever the person does next
        if number != self.now.state.number:
            await self.refresh()

    async def refresh(self) -> None:
        """Load it and tell every part."""
        self._loading = True
        try:
            shown = await asyncio.to_thread(show_trial, self.name, where=self.where)
        except ScribelineError as refusal:
            with self.page.client:
                failure(refusal)
            return
        finally:
            self._loading = False
        if self.shown is not None and shown.state.number < self.shown.state.number:
            return  # loaded beside a quicker one that began later
        self.shown = shown
        for part in list(self._parts):
            part()
        task = asyncio.get_running_loop().create_task(self._confirmed(shown.state.number))
        self._tasks.add(task)  # nobody waits for it: a phone that sleeps answers when it wakes
        task.add_done_callback(self._tasks.discard)

    async def _confirmed(self, number: int) -> None:
        """Wait until the browser says that it shows everything up to an entry."""
        with contextlib.suppress(TimeoutError):
            await self.page.client.run_javascript("return 0", timeout=ACKNOWLEDGED_WITHIN_S)
            self.seen = max(self.seen, number)

    def _close(self) -> None:
        for task in self._tasks:
            task.cancel()

    async def do(
        self, function: Callable[..., Any], *args: Any, refused: Callable[[ScribelineError], object] = failure,
        **kwargs: Any,
    ) -> Any:  # fmt: skip
        """Do something in the notebook off the event loop, then show the trial as it is; None where it is refused.

        refused : what says so

        What was asked for first is done first, and the trial is loaded again once nothing more is waiting.
        """
        self._waiting += 1
        try:
            async with self._one_by_one:
                result = await asyncio.to_thread(function, *args, author=self.author, where=self.where, **kwargs)
        except EditConflict as conflict:
            again = dict(kwargs) | {"insist": True}
            with self.page.client:  # the place it was asked from may have been drawn anew
                show_conflict(conflict, lambda: self._insist(function, args, again))
            await self.refresh()
            return None
        except ScribelineError as refusal:
            with self.page.client:
                refused(refusal)
            return None
        finally:
            self._waiting -= 1
        if not self._waiting:
            await self.refresh()
        return True if result is None else result

    def _insist(self, function: Callable[..., Any], args: tuple[Any, ...], kwargs: dict[str, Any]) -> None:
        with self.page.client:
            ui.timer(0.0, lambda: self.do(function, *args, **kwargs), once=True)

    def remember(self, **query: str) -> None:
        """Put choices into the page's address, so that a reload comes back to them."""
        self.page.query.update(query)
        asked = "&".join(f"{quote(key)}={quote(value, safe='')}" for key, value in self.page.query.items() if value)
        self.page.client.run_javascript(f"history.replaceState(history.state, '', '?' + {json.dumps(asked)})")


def field(label: str, value: str = "", *, hint: str = "", draft: str = "") -> TextInput:
    """A text field of this page's look, with what could stand in it. draft : as of `TextInput`"""
    made = (
        TextInput(label, value=value, draft=draft)
        .props("outlined square stack-label autocomplete=off")
        .classes("field")
    )
    if hint:
        made.props["hint"] = hint
    return made
