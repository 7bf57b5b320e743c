"""Undo and redo in a trial's journal: nothing is taken out of it, an entry says which other one does not count.

undo    of: number of the entry that counts no more        redo    of: number of the one that counts again
"""

from collections.abc import Sequence
from datetime import datetime

from scribeline.errors import TrialError
from scribeline.notebook import Entry, EntryToKeep, add_entries, find_trial
from scribeline.tasks.notebook import Where, opened, user_name

_BESIDE = ("columns",)
"""Kinds that belong to the entry before them and are not undone by themselves."""


def in_force(entries: Sequence[Entry]) -> list[Entry]:
    """The entries that count, oldest first."""
    done, _, _ = _played(entries)
    return sorted([*done, *(one for one in entries if one.kind in _BESIDE)], key=lambda one: one.number)


def undoable(entries: Sequence[Entry]) -> Entry | None:
    """What undo would take back, or None."""
    done, _, _ = _played(entries)
    return done[-1] if done else None


def redoable(entries: Sequence[Entry]) -> Entry | None:
    """What redo would bring back, or None."""
    _, undone, _ = _played(entries)
    return undone[-1] if undone else None


def undone_at(entries: Sequence[Entry]) -> datetime | None:
    """When that one was taken back."""
    _, _, at = _played(entries)
    return at[-1] if at else None


def undo_in_trial(name: str, number: int, *, author: str | None = None, where: Where = None) -> str:
    """Take the last entry back. number : the one that was meant, as shown. Returns what it was, in words.

    Raises TrialError where another entry is the last one by now.
    """
    return _turn(name, number, "undo", author, where)


def redo_in_trial(name: str, number: int, *, author: str | None = None, where: Where = None) -> str:
    """Bring back the entry that was undone last. As `undo_in_trial`."""
    return _turn(name, number, "redo", author, where)


def turn_last(name: str, *, back: bool = False, author: str | None = None, where: Where = None) -> str:
    """Take back whatever came in last, or bring back what was taken back last. Returns what it was, in words.

    Raises TrialError where there is nothing.
    """
    with opened(where) as notebook:
        _, entries = find_trial(notebook, name)
        last = redoable(entries) if back else undoable(entries)
        if last is None:
            way, what = ("bring", "taken back") if back else ("take", "added or changed")
            raise TrialError(
                f"nothing to {way} back in {name}\n    accepted: a trial in which something was {what}\n"
                "    what to do: look at it with `scribeline trial show`"
            )
        return _turn(name, last.number, "redo" if back else "undo", author, notebook)


def entry_words(entry: Entry) -> str:
    """What an entry was, for a person.

    >>> from datetime import UTC, datetime
    >>> entry_words(Entry("", 3, "drop run", "Kim", "brakes dragged", datetime.now(UTC), {"run": "cut 2"}))
    'run cut 2 dropped'
    """
    data = entry.data
    if entry.kind == "file":
        return f"{entry.file_name} added"
    if entry.kind == "read anew":
        return f"{data['called']} read anew"
    if entry.kind == "drop run":
        return f"run {data['run']} dropped"
    if entry.kind == "take run back":
        return f"run {data['run']} taken back"
    if entry.kind == "edit pull":
        return f"pull {data['file']}.{data['pull']}: {data['action']}" if data["pull"] else "a pull added"
    if entry.kind == "typed":
        texts = [str(text) for _, _, text in data["cells"]]
        return f"typed {texts[0] or 'nothing'}" if len(texts) == 1 else f"{len(texts)} cells typed"
    if entry.kind == "settings" and "coasted" in data:
        return "rolling and drag taken over"
    if entry.kind == "settings":
        return f"{' and '.join(data)} of the day"
    return entry.kind


def _played(entries: Sequence[Entry]) -> tuple[list[Entry], list[Entry], list[datetime]]:
    """What counts, what was taken back, and when each of that was, in the order in which they would be turned."""
    done: list[Entry] = []
    undone: list[Entry] = []
    at: list[datetime] = []
    for entry in entries:
        if entry.kind in _BESIDE:
            continue
        if entry.kind in ("undo", "redo"):
            source, target = (done, undone) if entry.kind == "undo" else (undone, done)
            if source and source[-1].number == int(entry.data["of"]):
                target.append(source.pop())
                at = [*at, entry.made_at] if entry.kind == "undo" else at[:-1]
            continue
        done.append(entry)
        undone.clear()
        at = []
    return done, undone, at


def _turn(name: str, number: int, kind: str, author: str | None, where: Where) -> str:
    with opened(where) as notebook:
        trial, entries = find_trial(notebook, name)
        last = undoable(entries) if kind == "undo" else redoable(entries)
        if last is None or last.number != number:
            there = f"the last is: {entry_words(last)}" if last else "there is nothing left"
            raise TrialError(
                f"{kind} of entry {number}: {there}\n    accepted: the last one only\n"
                "    what to do: look at what came in meanwhile, then choose again"
            )
        add_entries(notebook, trial.name, [EntryToKeep(kind, {"of": number})], author=author or user_name())
        return entry_words(last)
