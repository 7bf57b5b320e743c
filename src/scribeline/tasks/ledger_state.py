"""A build's ledger as it stands: its journal played from the beginning. Nothing is looked up, nothing is written.

Kinds of entries, and what their data hold:

    prediction    quantity, what, unit, value, low, high, came_from (learning.Prediction); name, by which a measurement
                  finds it; settings it was made with; scribeline, the version that made it; together, what was kept at
                  once. The entry's revision is the engine that it starts from
    measurement   prediction, the number of its entry; value, plus_minus; seen_in, in words; trial and setup, or none.
                  The entry's revision is the one that was measured, where it was one
    left out      entry, the number of a prediction or measurement; the note is the reason
    lesson        nothing: the note is the lesson
    sheets        names of the sheets that were made; the note says for what
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from scribeline.learning import Beside, Learned, Measurement, Prediction, beside, learned
from scribeline.notebook import LedgerEntry


@dataclass(frozen=True)
class Promise:
    """One prediction with what was measured afterwards.

    measured, beside : of the last measurement that is not left out; None where there is none yet
    left_out : why it does not count; "" where it does
    """

    entry: LedgerEntry
    prediction: Prediction
    measured: LedgerEntry | None
    beside: Beside | None
    left_out: str

    @property
    def number(self) -> int:
        """What it is called by within its build."""
        return self.entry.number

    @property
    def name(self) -> str:
        """By which a measurement finds it, such as a gate or a number of the card."""
        return str(self.entry.data["name"])

    @property
    def counts(self) -> bool:
        """Whether it is set beside something and not left out."""
        return self.beside is not None and not self.left_out


@dataclass(frozen=True)
class Ledger:
    """The ledger of one build.

    learned : what this build's alone teaches; of_all : what those of every build in the notebook teach
    """

    build_name: str
    entries: tuple[LedgerEntry, ...]
    promises: tuple[Promise, ...]
    lessons: tuple[LedgerEntry, ...]
    learned: tuple[Learned, ...]
    of_all: tuple[Learned, ...]


def ledger_state(build_name: str, entries: Sequence[LedgerEntry]) -> Ledger:
    """Play the ledgers of every build, and lay one of them open."""
    mine = tuple(one for one in entries if one.build_name == build_name)
    promises = promises_of(mine)
    everybody = [
        one for name in dict.fromkeys(one.build_name for one in entries)
        for one in promises_of([entry for entry in entries if entry.build_name == name])
    ]  # fmt: skip
    everybody.sort(key=lambda one: one.entry.made_at)
    out = {int(one.data["entry"]) for one in mine if one.kind == "left out"}
    lessons = tuple(one for one in mine if one.kind == "lesson" and one.number not in out)
    return Ledger(build_name, mine, promises, lessons, _learned(promises), _learned(everybody))


def _learned(promises: Sequence[Promise]) -> tuple[Learned, ...]:
    return tuple(learned([one.beside for one in promises if one.beside is not None and one.counts]))


def promises_of(entries: Sequence[LedgerEntry]) -> tuple[Promise, ...]:
    """The predictions of one build, each with its last measurement that counts."""
    out = {int(one.data["entry"]): one.note for one in entries if one.kind == "left out"}
    last: dict[int, LedgerEntry] = {}
    for one in entries:
        if one.kind == "measurement" and one.number not in out:
            last[int(one.data["prediction"])] = one
    found = []
    for one in entries:
        if one.kind == "prediction":
            promise, seen = prediction_of(one), last.get(one.number)
            pair = beside(promise, measurement_of(seen)) if seen else None
            found.append(Promise(one, promise, seen, pair, out.get(one.number, "")))
    return tuple(found)


def prediction_of(entry: LedgerEntry) -> Prediction:
    """The prediction that an entry holds. What starts from one revision by one way is one occasion."""
    data = entry.data
    return Prediction(
        str(data["quantity"]), str(data["what"]), str(data["unit"]), float(data["value"]), float(data["low"]),
        float(data["high"]), str(data["came_from"]),
        f"{entry.build_name}, revision {entry.revision_number}, {data['came_from']}",
    )  # fmt: skip


def measurement_of(entry: LedgerEntry) -> Measurement:
    """The measurement that an entry holds."""
    return Measurement(float(entry.data["value"]), float(entry.data["plus_minus"]))


def prediction_data(
    prediction: Prediction, name: str, settings: dict[str, Any], version: str, together: str
) -> dict[str, Any]:
    """What the journal keeps of a prediction."""
    told = {key: value for key, value in vars(prediction).items() if key != "occasion"}
    return told | {"name": name, "settings": settings, "scribeline": version, "together": together}
