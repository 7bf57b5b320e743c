"""When the first of a trial's runs could have been known: what was foretold later than that was not foretold.

It is no matter when the trial was begun, nor when gates and air were said. Of a setup's runs that count the earliest of
these moments is taken:

    a recording that says when it was made    when it was made
    a recording that does not, a table        when it first came in, also where it was taken back in between
    a time typed into the grid                when a time was first typed into its row, whatever stands there now
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from scribeline.notebook import Entry
from scribeline.tasks.trial_rows import COLUMNS
from scribeline.tasks.trial_state import State


@dataclass(frozen=True)
class FirstRun:
    """The moment, and what stands for it in words, such as "gate-times.csv came in"."""

    at: datetime
    words: str


def first_run(state: State, journal: Sequence[Entry], setup: str) -> FirstRun | None:
    """The first run of a setup. journal : all of the trial's entries; None where it has no such run."""
    found = [*_of_files(state, journal, setup), *_typed(state, journal, setup)]
    return min(found, key=lambda one: one.at, default=None)


def _of_files(state: State, journal: Sequence[Entry], setup: str) -> Iterator[FirstRun]:
    for entry in state.files:
        own = str(entry.data.get("setup") or state.trial.name)
        table = entry.data.get("table")
        if setup not in ({own} if table is None else {str(row["setup"] or own) for row in table}):
            continue
        yield FirstRun(
            min(one.made_at for one in journal if one.kind == "file" and one.sha256 == entry.sha256),
            f"{entry.file_name} came in",
        )
        if entry.data.get("start_utc"):
            at = datetime.fromisoformat(entry.data["start_utc"])
            yield FirstRun(at, f"{entry.file_name} was recorded, by its own clock,")


def _typed(state: State, journal: Sequence[Entry], setup: str) -> Iterator[FirstRun]:
    rows = {row.key for row in state.typed.rows if (row.cells.get("setup") or state.trial.name) == setup}
    for entry in journal:
        if entry.kind == "typed":
            times = [text for row, column, text in entry.data["cells"] if row in rows and column not in COLUMNS]
            if any(times):
                yield FirstRun(entry.made_at, f"{next(filter(None, times))} was typed")
