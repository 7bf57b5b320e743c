"""Going back to an earlier revision: its record in hand again, as one edit that can be undone."""

import tomllib
from collections.abc import Callable
from typing import Any

from scribeline.notebook import Revision
from scribeline.notebook.entries import json_of


def back_to(edit: Callable[[str, Any, str], bool], revision: Revision) -> bool:
    """Put a revision's record in hand. Nothing of the history changes: keeping it makes a new revision.

    edit : as that of an open desk: place, value, label -> whether it was taken
    """
    return edit("record", _record(revision), f"back to revision {revision.number}")


def is_in_hand(record: Any, revision: Revision) -> bool:
    """Whether the record in hand says the same already."""
    return bool(record == _record(revision))


def _record(revision: Revision) -> Any:
    return json_of(tomllib.loads(revision.record_toml))
