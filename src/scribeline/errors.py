"""Every error scribeline raises on purpose.

    ScribelineError
     +-- TypedValueError      what a person typed cannot be read as one quantity, or could be read as two
     +-- RecordError          an engine record that is refused: one or more Problems, each with its line
     +-- PlanError        a plan, one of its steps or the list of parts at hand that is refused, with each Problem
     +-- WorkingError         a derived number that was asked for does not exist for this engine
     +-- GeometryError        lengths, angles or readings that no part of an engine can have
     +-- NotebookError        the notebook cannot be opened, read or written
     |    +-- EditConflict    two devices changed the same place of the work in hand
     |    +-- NotThereError   a build, revision, file or trial that the notebook does not hold
     +-- SheetError           a drawing or page that cannot be made as asked
     +-- RubbingError         a photograph in which ports cannot be measured
     +-- CycleError           a cycle simulation that is refused, or that did not come to a sound end
     +-- SearchError          a search, or one of its parts, that is refused or has no answer
     +-- RecordingError       a recording of a test run that cannot be read, or read in two ways
     +-- TrialError           runs that cannot carry the question that is asked of them
     +-- LedgerError          a prediction or a measurement that cannot be set beside another
     +-- ServeError           the pages cannot be served as asked
     +-- JobError             work in the background that was stopped, failed, or ended with its process
     +-- UploadError          a file that came in through the page and is not accepted

A refusal names the value, the accepted range and what to do about it. Errors of the libraries underneath never
reach the user: whoever calls a library turns its error into one of these.
"""

from dataclasses import dataclass, field
from typing import Any


class ScribelineError(Exception):
    """Base of everything above; catching it catches each refusal and nothing else."""


class TypedValueError(ScribelineError):
    """A typed quantity that cannot be read, or could be read in two ways."""


@dataclass(frozen=True)
class Problem:
    """One reason why a record is refused.

    where : dotted place in the record, such as ``ports.exhaust.roof_from_deck_mm``
    line : line of the file, counted from 1; None where the record did not come from a file
    value : what stands there now, as text
    accepted : what would be accepted
    remedy : what to do
    at : the same place as keys and list positions counted from 0, for a program; empty where there is none
    """

    where: str
    line: int | None
    value: str
    accepted: str
    remedy: str
    at: tuple[str | int, ...] = field(default=(), compare=False)

    def __str__(self) -> str:
        line = f"line {self.line}: " if self.line else ""
        return f"{line}{self.where} = {self.value}\n    accepted: {self.accepted}\n    what to do: {self.remedy}"


class RecordError(ScribelineError):
    """An engine record that is refused, with every Problem that was found in it."""

    def __init__(self, problems: list[Problem], origin: str = "engine record") -> None:
        self.problems = problems
        self.origin = origin
        count = "1 problem" if len(problems) == 1 else f"{len(problems)} problems"
        super().__init__(f"{origin}: {count}\n" + "\n".join(str(p) for p in problems))


class PlanError(ScribelineError):
    """A plan, a step of it, or the list of parts at hand, refused with every Problem that was found in it."""

    def __init__(self, problems: list[Problem], origin: str = "plan") -> None:
        self.problems = problems
        self.origin = origin
        count = "1 problem" if len(problems) == 1 else f"{len(problems)} problems"
        super().__init__(f"{origin}: {count}\n" + "\n".join(str(p) for p in problems))


class WorkingError(ScribelineError):
    """A number was asked for that this engine does not have."""


class GeometryError(ScribelineError):
    """Lengths, angles or readings that no part of an engine can have, or too few of them."""


class NotebookError(ScribelineError):
    """The notebook cannot be opened, read or written as asked."""


class EditConflict(NotebookError):  # noqa: N818 - it is a question to the builder, not a fault
    """Two devices changed the same place of the work in hand; the later one was not kept, and nothing was overwritten.

    path : the place; yours : what was to be put there; theirs : what is there now, None for nothing
    device, label : of the edit that put it there; empty where no edit is known to have
    wanted : the label of the edit that was not kept, where a page knows it
    """

    def __init__(self, path: str, yours: Any, theirs: Any, device: str = "", label: str = "") -> None:
        self.path, self.yours, self.theirs, self.device, self.label = path, yours, theirs, device, label
        self.wanted = ""
        by = f" by {device}" if device else ""
        super().__init__(
            f"{path} was changed{by} in the meantime: it is {_short(theirs)} now, and was to become {_short(yours)}.\n"
            f"    kept: {_short(theirs)}\n    what to do: choose one of the two"
        )


class NotThereError(NotebookError):
    """A build, revision, file or trial was asked for that the notebook does not hold."""


def _short(value: Any) -> str:
    text = "nothing" if value is None else str(value)
    return text if len(text) <= 60 else text[:57] + "..."


class SheetError(ScribelineError):
    """A drawing or page cannot be made as asked."""


class CycleError(ScribelineError):
    """A cycle simulation that is refused before it starts, or that did not come to a sound end."""


class SearchError(ScribelineError):
    """A search among plans, or a part of it such as a goal or a list of gaskets, that is refused or has no answer."""


class RecordingError(ScribelineError):
    """A recording of a test run cannot be read at all, is of an unknown kind, or could be read in two ways."""


class TrialError(ScribelineError):
    """Test runs cannot carry the question: too few, confounded, outside a model's range, or named wrongly."""


class LedgerError(ScribelineError):
    """A prediction or measurement that the ledger cannot take, or that does not fit what it is set beside."""


class RubbingError(ScribelineError):
    """A photograph or scan of a rubbing in which ports cannot be measured as they should."""


class ServeError(ScribelineError):
    """The pages cannot be served as asked."""


class JobError(ScribelineError):
    """Work in the background came to no result: it was stopped, it failed, or its process ended."""


class UploadError(ScribelineError):
    """A file that came in through the page is of no accepted kind, too large, or not what it says it is."""
