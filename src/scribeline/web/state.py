"""What the running server holds: the open notebook, the worker processes, the work in hand on each cylinder."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from scribeline.web.uploads import Incoming

if TYPE_CHECKING:
    from scribeline.notebook import Notebook
    from scribeline.web.desk import Hub
    from scribeline.web.guard import Door
    from scribeline.web.workers import Workers


@dataclass(frozen=True)
class State:
    """One server's own things.

    folder : where it keeps files of its own, beside the notebook. incoming : where files lie that came in through the
    page. door : who may come in; None where pages are built without a server, as in tests
    """

    notebook: Notebook
    folder: Path
    workers: Workers
    hub: Hub
    incoming: Incoming = field(default_factory=Incoming)
    door: Door | None = None
