"""The work in hand as pages see it: read it, edit it, hear when another page or device changed it.

`Hub` is one for the server and holds the latest `Desk` of each cylinder; `OpenDesk` is one for each open page. An edit
names what the person saw when they made it. That is the state which their browser has confirmed to show, not the one
that the server has sent: a phone that slept, or lost its network, types over what it shows, and must be told of it.
"""

import asyncio
import contextlib
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Protocol

from scribeline.errors import EditConflict, NotebookError
from scribeline.tasks.desk import Desk, Edit, Put, desk_of, edit_all, edits_since, redo, undo
from scribeline.tasks.notebook import Where

OnChange = Callable[[Sequence[str]], None]


class Listener(Protocol):
    """A page that wants to hear of edits."""

    def changed(self, edits: Sequence[Edit]) -> None:
        """Called on the event loop after `edits` were kept."""


class Shown(Protocol):
    """Something on a page that may be taken off it."""

    @property
    def is_deleted(self) -> bool:
        """Whether it was."""


class Hub:
    """The latest work in hand of each cylinder, and who listens to it. Only used on the event loop."""

    def __init__(self, where: Where) -> None:
        self.where = where
        self._desks: dict[str, Desk] = {}
        self._listeners: dict[str, list[Listener]] = defaultdict(list)

    def desk(self, build: str) -> Desk:
        """The work in hand now; read from the notebook the first time."""
        if build not in self._desks:
            self._desks[build] = desk_of(build, where=self.where)
        return self._desks[build]

    def listen(self, build: str, listener: Listener) -> None:
        """Tell `listener` of every edit from now on."""
        self._listeners[build].append(listener)

    def leave(self, build: str, listener: Listener) -> None:
        """Tell it nothing more."""
        with contextlib.suppress(ValueError):
            self._listeners[build].remove(listener)

    def accept(self, build: str, desk: Desk) -> None:
        """Take over what an edit, undo or redo gave back, and tell everybody."""
        known = self.desk(build).number
        self._desks[build] = desk
        edits = self.since(build, known)
        for listener in list(self._listeners[build]):
            listener.changed(edits)

    def since(self, build: str, number: int) -> list[Edit]:
        """What was done after an edit; that a journal began is no change of anything that a page shows."""
        return [one for one in edits_since(build, number, where=self.where) if one.kind != "begin"]

    def refresh(self, build: str) -> None:
        """Look in the notebook for edits that came by another way, such as another server on the same notebook."""
        known = self.desk(build)
        latest = desk_of(build, where=self.where)
        if latest.number != known.number or latest.revision_number != known.revision_number:
            self.accept(build, latest)

    async def watch(self, every_s: float = 2.0) -> None:
        """Look again and again for edits that came by another way, as long as a page is open on their cylinder."""
        while True:
            await asyncio.sleep(every_s)
            for build in [build for build, listeners in self._listeners.items() if listeners]:
                with contextlib.suppress(NotebookError):  # the page says so at its next edit
                    known = self.desk(build).number, self.desk(build).revision_number
                    latest = await asyncio.to_thread(desk_of, build, where=self.where)
                    if (latest.number, latest.revision_number) != known:
                        self.refresh(build)


class OpenDesk:
    """The work in hand on one open page.

    device : a name for the device, shown beside its edits
    acknowledge : asks the browser to confirm that it has shown everything sent so far; awaited after each change
    """

    def __init__(self, hub: Hub, build: str, device: str, acknowledge: Callable[[], Any] | None = None) -> None:
        self.hub, self.build, self.device = hub, build, device
        self.seen_number = hub.desk(build).number
        self.latest: Edit | None = None  # the last that was told of; of a step at several places its first
        self.on_conflict: Callable[[EditConflict, Callable[[], None]], None] | None = None
        self._acknowledge = acknowledge
        self._own: set[int] = set()  # numbers of the edits that were made here
        self._callbacks: list[tuple[OnChange, Shown | None]] = []
        self._tasks: set[asyncio.Task[None]] = set()
        hub.listen(build, self)

    @property
    def desk(self) -> Desk:
        """The work in hand now."""
        return self.hub.desk(self.build)

    def get(self, path: str, otherwise: Any = None) -> Any:
        """What stands at a dotted path of the document now, or `otherwise`.

        >>> at({"record": {"ports": [{"name": "exhaust"}]}}, "record.ports.0.name")
        'exhaust'
        """
        found = at(self.desk.document, path)
        return otherwise if found is None else found

    def on_change(self, callback: OnChange, *, of: Shown | None = None) -> None:
        """Call back with the paths that changed, after every kept edit of anybody on this cylinder.

        of : what the callback shows something in; when that is gone, so is the callback. None: it goes with the page
        """
        self._callbacks.append((callback, of))

    def edit(self, path: str, value: Any, label: str, *, seen: int | None = None) -> bool:
        """Keep an edit; False where another device had changed the same place unseen, which is then shown.

        seen : number of the last edit that the field shows, where it does not follow while somebody types in it
        """
        return self.edit_all({path: value}, label, seen=seen)

    def edit_all(self, values: Mapping[str, Any], label: str, *, seen: int | None = None) -> bool:
        """Edit several places, in the order given, as one step: one undo. See `edit`."""
        since = self.hub.since(self.build, self.seen_number if seen is None else min(seen, self.seen_number))
        foreign = [one for one in since if one.number not in self._own]
        try:
            puts = [self._put(path, value, foreign) for path, value in values.items()]
            kept = edit_all(self.build, puts, device=self.device, label=label, where=self.hub.where)
        except EditConflict as conflict:
            self.hub.refresh(self.build)
            if self.on_conflict is None:
                raise
            conflict.wanted = label
            self.on_conflict(conflict, lambda: self._insist(values, label))
            return False
        self._accept_own(kept)
        return True

    def _put(self, path: str, value: Any, foreign: Sequence[Edit]) -> Put:
        """What to put at a place, and what this page showed there; EditConflict where it did not show the latest."""
        unseen = [one for one in foreign if _touch(one.path, path)]
        now = at(self.desk.document, path)
        if unseen and now != value:
            raise EditConflict(path, value, now, unseen[-1].device, unseen[-1].label)
        return Put(path, value, unseen[0].before if unseen and unseen[0].path == path else now)

    def _insist(self, values: Mapping[str, Any], label: str) -> None:
        """Keep the edit although another was made: the builder has seen both."""
        self.seen_number = self.desk.number
        self.edit_all(values, label)

    def undo(self) -> None:
        """Take the last step on this cylinder back."""
        self._accept_own(undo(self.build, device=self.device, where=self.hub.where))

    def redo(self) -> None:
        """Make the last step that was taken back again."""
        self._accept_own(redo(self.build, device=self.device, where=self.hub.where))

    def _accept_own(self, desk: Desk) -> None:
        """Take over what was done here, which is no news to whoever did it."""
        self._own.update(range(desk.step, desk.number + 1))
        self.hub.accept(self.build, desk)

    def changed(self, edits: Sequence[Edit]) -> None:
        """Tell the page's parts, then have the browser confirm that it shows the new state."""
        paths = [one.path for one in edits]
        self.latest = next((one for one in reversed(edits) if one.step is None), self.latest)
        for one in list(self._callbacks):
            callback, of = one
            if of is not None and of.is_deleted:  # also by a callback before this one
                self._callbacks.remove(one)
            else:
                callback(paths)
        self._confirm(self.desk.number)

    def _confirm(self, number: int) -> None:
        if self._acknowledge is None:
            self.seen_number = number
            return

        async def wait() -> None:
            assert self._acknowledge is not None
            with contextlib.suppress(TimeoutError):
                await self._acknowledge()
                self.seen_number = max(self.seen_number, number)

        task = asyncio.get_running_loop().create_task(wait())
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    def close(self) -> None:
        """The page is gone."""
        self.hub.leave(self.build, self)
        for task in self._tasks:
            task.cancel()


def at(document: Any, path: str) -> Any:
    """What stands at a dotted path, None where nothing does.

    >>> at({"record": {"ports": [{"name": "exhaust"}]}}, "record.ports.0.name")
    'exhaust'
    >>> at({}, "plan.goal") is None
    True
    """
    for key in path.split(".") if path else ():
        if isinstance(document, list) and key.isdecimal() and int(key) < len(document):
            document = document[int(key)]
        elif isinstance(document, dict) and key in document:
            document = document[key]
        else:
            return None
    return document


def _touch(one: str, other: str) -> bool:
    """Whether one path is the other, or lies inside it."""
    return f"{one}.".startswith(f"{other}.") or f"{other}.".startswith(f"{one}.")
