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
    record = json_of(tomllib.loads(revision.record_toml))
    return edit("record", record, f"back to revision {revision.number}")
