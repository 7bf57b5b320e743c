"""One undo and one redo where a trial and the work in hand stand on one page: what was done last is taken back first.

Both journals stay what they are, each with its own order. They touch nothing of each other's, so whose turn it is may
be decided by the clock alone: undo takes the later of what either would take, redo what was taken back last.
"""

from dataclasses import dataclass
from typing import Literal

from scribeline.notebook import Entry
from scribeline.tasks.desk import Desk
from scribeline.tasks.trial_state import State
from scribeline.tasks.trial_undo import entry_words

Kind = Literal["undo", "redo"]


@dataclass(frozen=True)
class Turn:
    """What is turned next. entry : of the trial; None where it is an edit of the work in hand"""

    words: str
    entry: Entry | None


def next_turn(kind: Kind, desk: Desk, state: State) -> Turn | None:
    """Whose turn it is; None where nothing is left in either."""
    edit, entry = (desk.undoable, state.undoable) if kind == "undo" else (desk.redoable, state.redoable)
    if edit is None or entry is None:
        later = entry is not None
    elif kind == "undo":
        later = entry.made_at >= edit.made_at
    else:
        assert state.undone_at is not None
        assert desk.undone_at is not None
        later = state.undone_at >= desk.undone_at
    if later and entry is not None:
        return Turn(entry_words(entry), entry)
    return Turn(edit.label, None) if edit is not None else None
