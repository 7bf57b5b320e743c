"""The history of a build in order of time: its revisions, what was promised, printed, driven, measured and learned."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, Literal

from scribeline.learning.words import glyph, places, promised
from scribeline.marking.drafting import extent
from scribeline.marking.ledger_plot import LedgerRow, ledger_plot
from scribeline.marking.shapes import Drawing
from scribeline.marking.timeline_view import Bar, Fate, History, Stop, place_of, timeline_view
from scribeline.notebook import (
    Attachment,
    LedgerEntry,
    Notebook,
    Revision,
    Trial,
    how_much_of,
    ledger_entries,
    trials_of,
    work_in_hand,
)
from scribeline.tasks.ledger_state import Ledger, Promise, ledger_state
from scribeline.tasks.notebook import Tell, Where, opened, silently

Kind = Literal["record", "promise", "measured", "sheets", "runs", "lesson", "file"]
MOST_ROWS = 30
"""Predictions that one picture shows: the last ones; a page with more is not read."""


@dataclass(frozen=True)
class Event:
    """One thing that happened to a build.

    words : in a sentence, the person last; number : of a revision, or of an entry of the ledger, or of none
    entries : numbers of all entries of the ledger that it stands for; ref : name of a trial, hash of a file
    """

    kind: Kind
    at: datetime
    words: str
    author: str = ""
    number: int | None = None
    parent: int | None = None
    entries: tuple[int, ...] = ()
    ref: str = ""

    @property
    def day(self) -> str:
        """The day it happened, in UTC."""
        return f"{self.at.day} {self.at:%b %Y}"


@dataclass(frozen=True)
class Timeline:
    """A build's events in order of time, and its ledger."""

    build: str
    events: tuple[Event, ...]
    revisions: tuple[Revision, ...]
    ledger: Ledger
    bars: tuple[Bar, ...] = field(default=(), repr=False)


def timeline(build: str, *, everybody: bool = True, where: Where = None, tell: Tell = silently) -> Timeline:
    """What happened to a build, oldest first.

    everybody : also what the ledgers of all builds teach together, which takes longer the more there are
    """
    with opened(where, tell=tell) as notebook:
        return timeline_in(notebook, build, everybody=everybody)


def how_much(build: str, *, where: Where = None) -> tuple[int, ...]:
    """A mark that changes whenever something was added to a build's history, and costs little to ask for."""
    with opened(where) as notebook:
        return how_much_of(notebook, build)


def timeline_in(notebook: Notebook, build: str, *, everybody: bool = True) -> Timeline:
    """The same from a notebook that is open already."""
    name = notebook.build(build).name
    history = notebook.history(name)
    ledger = ledger_state(name, ledger_entries(notebook, None if everybody else name))
    events = [
        *(_of_revision(one) for one in history),
        *(_of_file(one) for one in notebook.attachments(name)),
        *(_of_trial(one) for one in trials_of(notebook, name)),
        *_of_ledger(ledger),
        *_of_printing(work_in_hand(notebook, name).document),
    ]
    events.sort(key=lambda one: one.at)
    return Timeline(name, tuple(events), tuple(history), ledger, tuple(_bars(events, ledger.promises)))


def _of_revision(one: Revision) -> Event:
    return Event("record", one.kept_at, one.note or "kept without a note", one.author, one.number, one.parent_number)


def _of_file(one: Attachment) -> Event:
    return Event("file", one.attached_at, one.name, number=one.revision_number, ref=one.sha256)


def _of_trial(one: Trial) -> Event:
    return Event("runs", one.created_at, f"{one.name}: {one.note}" if one.note else one.name, ref=one.name)


def _of_printing(document: Mapping[str, Any]) -> Iterator[Event]:
    """Sheets that were taken for printing on the page, which keeps a note of it in the work in hand."""
    marking = document.get("marking")
    printed = marking.get("printed", []) if isinstance(marking, Mapping) else []
    for one in printed if isinstance(printed, list) else []:
        try:
            at = datetime.fromisoformat(str(one["at"]))
            yield Event("sheets", at.astimezone(UTC), f"{one['pages']} pages printed: {', '.join(one['sheets'])}")
        except (KeyError, TypeError, ValueError):
            continue  # a note that is not what it should be is no reason to show no history


def _of_ledger(ledger: Ledger) -> Iterator[Event]:
    """Events of the ledger; what was kept at once is one."""
    named = {one.number: one for one in ledger.promises}
    for entries in _together(ledger.entries):
        first, numbers = entries[0], tuple(one.number for one in entries)
        made = first.made_at, first.author
        if first.kind == "prediction":
            told = _several([named[number].prediction.what for number in numbers], "numbers predicted")
            note = f", {first.note}" if first.note else ""
            words = f"{told} ({first.data['came_from']}{note})"
            yield Event("promise", made[0], words, made[1], first.number, entries=numbers)
        elif first.kind == "measurement":
            what = [named[int(one.data["prediction"])].prediction.what for one in entries]
            told = _several(what, "numbers measured")
            seen = f" ({first.data['seen_in']})" if first.data.get("seen_in") else ""
            yield Event("measured", made[0], told + seen, made[1], first.number, entries=numbers)
        elif first.kind == "lesson" and first in ledger.lessons:
            yield Event("lesson", made[0], first.note, made[1], first.number, entries=numbers)
        elif first.kind == "sheets":
            words = ", ".join(map(str, first.data["names"])) + (f": {first.note}" if first.note else "")
            yield Event("sheets", made[0], words, made[1], first.number, entries=numbers)


def _several(what: Sequence[str], many: str) -> str:
    return ", ".join(what) if len(what) <= 2 else f"{len(what)} {many}"


def _together(entries: Sequence[LedgerEntry]) -> Iterator[list[LedgerEntry]]:
    """Entries that follow each other, of one kind, kept by one act."""
    group: list[LedgerEntry] = []
    for one in entries:
        if group and _act(group[-1]) == _act(one) and one.kind in ("prediction", "measurement"):
            group.append(one)
        else:
            if group:
                yield group
            group = [one]
    if group:
        yield group


def _act(entry: LedgerEntry) -> tuple[object, ...]:
    """What entries of one act have in common: the batch of predictions, the occasion of measurements to a second."""
    if entry.kind == "prediction":
        return entry.kind, entry.data["together"]
    return entry.kind, entry.data.get("seen_in"), entry.made_at.replace(microsecond=0)


def _bars(events: Sequence[Event], promises: Sequence[Promise]) -> Iterator[Bar]:
    """Each act of predicting as a bar to the act that measured last what it foretold."""
    named = {one.number: one for one in promises}
    of_entry = {number: i for i, event in enumerate(events) for number in event.entries}
    for i, event in enumerate(events):
        if event.kind != "promise":
            continue
        mine = [named[number] for number in event.entries]
        counting = [one for one in mine if one.counts]
        ends = [of_entry[one.measured.number] for one in counting if one.measured]
        what = _several([one.prediction.what for one in mine], "numbers")
        yield Bar(f"{what}: {_fate_words(mine, counting)}", i, max(ends, default=None), _fate(mine, counting))


def _fate(mine: Sequence[Promise], counting: Sequence[Promise]) -> Fate:
    if all(one.left_out for one in mine):
        return "left out"
    verdicts = {one.beside.verdict for one in counting if one.beside}
    order: tuple[Fate, ...] = ("outside", "at the edge", "inside")
    return next((one for one in order if one in verdicts), "open")


def _fate_words(mine: Sequence[Promise], counting: Sequence[Promise]) -> str:
    fate = _fate(mine, counting)
    if fate in ("open", "left out"):
        return "not measured yet" if fate == "open" else "left out"
    if len(mine) == 1:
        return fate if fate == "at the edge" else f"{fate} the band"
    held = sum(one.beside.held for one in counting if one.beside)
    short = len(mine) - len(counting)
    return f"{held} of {len(counting)} held" + (f", {short} not measured" if short else "")


def timeline_drawing(history: Timeline) -> Drawing:
    """The timeline as a picture. Raises SheetError where nothing happened yet."""
    stops = [
        Stop(one.kind, one.day, one.words, one.number or 0 if one.kind == "record" else 0, one.parent)
        for one in history.events
    ]
    return timeline_view(History(f"{history.build}: its history", tuple(stops), history.bars))


@dataclass(frozen=True)
class Station:
    """A revision in the picture. left, top : its middle, as shares of the picture's width and height from there."""

    revision: Revision
    left: float
    top: float


def stations(history: Timeline, drawing: Drawing) -> list[Station]:
    """Where the revisions stand in `timeline_drawing`, for a page that lets them be chosen there."""
    box, by_number = extent(drawing), {one.number: one for one in history.revisions}
    found = []
    for i, one in enumerate(history.events):
        if one.kind == "record" and one.number in by_number:
            x, y = place_of(i)
            share = (x - box.left) / box.width, (box.top - y) / box.height
            found.append(Station(by_number[one.number], *share))
    return found


def ledger_drawing(ledger: Ledger) -> Drawing:
    """The predictions that count with what was measured, the last ones. Raises SheetError where there is none."""
    rows = [_row(one) for one in ledger.promises if not one.left_out][-MOST_ROWS:]
    return ledger_plot(rows, f"{ledger.build_name}: predictions beside what was measured")


def _row(one: Promise) -> LedgerRow:
    told, pair = one.prediction, one.beside
    if pair is None:
        return LedgerRow(told.what, promised(told))
    got = pair.measurement
    up, down = told.high - told.value, told.value - told.low
    half = (up if pair.difference > 0.0 else down) or max(up, down, got.plus_minus) or 1.0
    digits = places(up, down, got.plus_minus)
    seen = f"{got.value:.{digits}f} ± {got.plus_minus:.{digits}f}{glyph(told.unit)}"
    return LedgerRow(
        told.what, promised(told, digits), seen, pair.difference / half, got.plus_minus / half, pair.held
    )  # fmt: skip
