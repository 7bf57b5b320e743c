"""A table that was not understood, shown to a person who can say what its columns are."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from scribeline.errors import RecordingError
from scribeline.recordings import ReadOptions
from scribeline.recordings.columns import Looked, look
from scribeline.recordings.columns.meanings import choices

LEFT_OUT = "left out"


def look_at_table(
    path: Path, called: str, *, tell: Callable[[Any], object] | None = None, stopped: Callable[[], bool] | None = None
) -> Looked | None:
    """The headers, some rows and the guesses of a table; None where it is none. For a worker process."""
    try:
        return look(path, ReadOptions())
    except RecordingError:
        return None


def meanings() -> dict[str, str]:
    """What a person can choose for a column: what `add_files` takes -> its words."""
    return {"": LEFT_OUT, **dict(choices())}
