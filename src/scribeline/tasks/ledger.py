"""The ledger of a build: what was predicted, what was measured afterwards, what that teaches, and lessons in words.

`where` and `tell` are those of `scribeline.tasks.notebook`. Predictions are kept by ledger_predicting, measurements
set beside them by ledger_beside.
"""

from collections.abc import Sequence

from scribeline.errors import LedgerError
from scribeline.notebook import LedgerEntry, LedgerEntryToKeep, add_to_ledger, ledger_entries
from scribeline.tasks.ledger_state import Ledger, ledger_state
from scribeline.tasks.notebook import Tell, Where, opened, silently, user_name


def leave_out(
    build: str, entry: int, because: str, *, author: str | None = None, where: Where = None, tell: Tell = silently
) -> None:
    """Leave a prediction, a measurement or a lesson out from now on; it stays readable, with the reason."""
    if len(because.strip()) < 3:
        raise LedgerError(
            f"a reason of {because!r}\n    accepted: a few words; they stay in the notebook\n"
            "    what to do: say why it does not count"
        )
    with opened(where, tell=tell) as notebook:
        there = {one.number: one.kind for one in ledger_entries(notebook, build)}
        kinds = ("prediction", "measurement", "lesson")
        if there.get(entry) not in kinds:
            listed = ", ".join(str(number) for number, kind in there.items() if kind in kinds)
            raise LedgerError(
                f"entry {entry} of the ledger of {build!r}\n    accepted: {listed or 'there is none'}\n"
                f"    what to do: scribeline ledger show '{build}' lists them"
            )
        left = LedgerEntryToKeep("left out", {"entry": entry}, because.strip())
        add_to_ledger(notebook, build, [left], author=author or user_name())


def write_lesson(
    build: str, words: str, *, revision: int | None = None, author: str | None = None, where: Where = None,
    tell: Tell = silently,
) -> LedgerEntry:  # fmt: skip
    """Keep a note for the next cylinder, or the next builder."""
    if not words.strip():
        raise LedgerError("an empty lesson\n    accepted: a few words\n    what to do: write what you would do again")
    lesson = LedgerEntryToKeep("lesson", {}, words.strip(), revision)
    with opened(where, tell=tell) as notebook:
        return add_to_ledger(notebook, build, [lesson], author=author or user_name())[0]


def note_sheets(
    build: str, names: Sequence[str], *, revision: int | None = None, note: str = "", author: str | None = None,
    where: Where = None, tell: Tell = silently,
) -> LedgerEntry:  # fmt: skip
    """Keep that sheets were made for a build, for its history."""
    entry = LedgerEntryToKeep("sheets", {"names": list(names)}, note, revision)
    with opened(where, tell=tell) as notebook:
        return add_to_ledger(notebook, build, [entry], author=author or user_name())[0]


def ledger_of(build: str, *, where: Where = None, tell: Tell = silently) -> Ledger:
    """The ledger of a build, and what those of all builds in the notebook teach together."""
    with opened(where, tell=tell) as notebook:
        return ledger_state(notebook.build(build).name, ledger_entries(notebook))
