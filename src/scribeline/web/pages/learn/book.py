"""What the parts of the page share: the history as it stands, and which two revisions are chosen."""

import asyncio
import json
from collections.abc import Callable, Coroutine, Sequence
from contextlib import suppress
from html import escape
from typing import Any

from nicegui import run, ui

from scribeline.errors import ScribelineError
from scribeline.tasks.history import Timeline, how_much, timeline
from scribeline.web.shell import StepPage, failure, say

LOOK_S = 3.0
"""How often the notebook is looked into for what came by another way; judgement, a history is not watched."""


class Book:
    """One open page's view of a cylinder's history.

    told : the history now; before, after : numbers of the chosen revisions, 0 where there is none
    """

    def __init__(self, page: StepPage) -> None:
        self.page = page
        self._much = how_much(page.build, where=page.state.notebook)
        self.told: Timeline = timeline(page.build, everybody=False, where=page.state.notebook)
        self._on_change: list[Callable[[], object]] = []
        self._on_choice: list[Callable[[], object]] = []
        self._tasks: set[asyncio.Task[Any]] = set()
        self._readings = 0
        numbers = [one.number for one in self.told.revisions]
        self.after = _asked(page, "to", numbers, numbers[-1] if numbers else 0)
        earlier = [number for number in numbers if number != self.after]
        self.before = _asked(page, "from", numbers, earlier[-1] if earlier else self.after)
        page.desk.on_change(self._desk_changed)
        ui.timer(LOOK_S, self.look_again)
        ui.timer(0.0, self.read, once=True)  # what all the others teach comes when the page stands

    @property
    def where(self) -> Any:
        """The notebook."""
        return self.page.state.notebook

    @property
    def author(self) -> str | None:
        """Who writes on this device; the computer's user where it has no name."""
        return self.page.preferences.device or None

    def on_change(self, callback: Callable[[], object]) -> None:
        """Call back when something was added to the history."""
        self._on_change.append(callback)

    def on_choice(self, callback: Callable[[], object]) -> None:
        """Call back when other revisions were chosen."""
        self._on_choice.append(callback)

    def choose(self, before: int, after: int) -> None:
        """Choose two revisions; the address remembers them, so that a reload comes back to them."""
        if (before, after) == (self.before, self.after):
            return
        self.before, self.after = before, after
        address = self.page.url("learn", **{"from": str(before), "to": str(after)})
        self.page.client.run_javascript(f"history.replaceState(history.state, '', {json.dumps(address)})")
        for callback in self._on_choice:
            callback()

    def step_to(self, number: int) -> None:
        """A revision was pointed at: it becomes the later of the two, and the one that was, the earlier."""
        if number == self.after:
            self.choose(self.after, self.before)
        else:
            self.choose(self.after, number)

    async def look_again(self) -> None:
        """Read the history anew where it has grown, and tell the parts."""
        much = await run.io_bound(how_much, self.page.build, where=self.where)
        if much is None or much == self._much:
            return
        self._much = much
        await self.read()

    async def read(self) -> None:
        """Read the history anew, and tell the parts where it differs; what was read meanwhile is newer, and stays."""
        self._readings += 1
        mine = self._readings
        found = await run.io_bound(timeline, self.page.build, where=self.where)
        if (
            found is not None
            and mine == self._readings
            and (found.events != self.told.events or found.ledger != self.told.ledger)
        ):
            self.told = found
            if not self.after and found.revisions:
                self.before = self.after = found.revisions[-1].number
            for callback in self._on_change:
                callback()

    def _desk_changed(self, paths: Sequence[str]) -> None:
        if self.page.desk.desk.revision_number != (self.told.revisions[-1].number if self.told.revisions else None):
            self.soon(self.look_again())
        elif any(path.startswith("marking.printed") for path in paths):
            self.soon(self.read())

    def soon(self, work: Coroutine[Any, Any, Any]) -> None:
        """Do something on the event loop that need not be waited for."""
        task = asyncio.ensure_future(work)
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    async def write(self, do: Callable[..., Any], *args: Any, done: str, **kwargs: Any) -> bool:
        """Have something written into the notebook, off the event loop; say what was done, or why not."""
        try:
            await run.io_bound(do, self.page.build, *args, author=self.author, where=self.where, **kwargs)
        except ScribelineError as refusal:
            failure(refusal)
            return False
        await self.look_again()
        say(done)
        return True


def _asked(page: StepPage, key: str, numbers: Sequence[int], otherwise: int) -> int:
    with suppress(ValueError):
        if (number := int(page.query.get(key, ""))) in numbers:
            return number
    return otherwise


def table(heads: Sequence[str], rows: Sequence[Sequence[str]], caption: str) -> str:
    """A table that slides sideways where it is wider than the screen; the first cell of a row names it."""
    head = "".join(f'<th scope="col">{escape(one)}</th>' for one in heads)
    body = "".join(
        f'<tr><th scope="row">{escape(row[0])}</th>'
        + "".join(
            f'<td data-label="{escape(name, quote=True)}">{escape(one)}</td>'
            for name, one in zip(heads[1:], row[1:], strict=True)
        )
        + "</tr>"
        for row in rows
    )
    return (
        f'<div class="slides" tabindex="0" role="region" aria-label="{escape(caption, quote=True)}">'
        f"<table><caption>{escape(caption)}</caption><tr>{head}</tr>{body}</table></div>"
    )


def listed(sentences: Sequence[str]) -> str:
    """Sentences as a list."""
    return "<ul>" + "".join(f"<li>{escape(one)}</li>" for one in sentences) + "</ul>" if sentences else ""
