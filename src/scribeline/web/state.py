"""What the running server holds: the open notebook, the worker processes, the work in hand on each cylinder."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scribeline.notebook import Notebook
    from scribeline.web.desk import Hub
    from scribeline.web.workers import Workers


@dataclass(frozen=True)
class State:
    """One server's own things. `folder` is where it keeps files of its own, beside the notebook."""

    notebook: Notebook
    folder: Path
    workers: Workers
    hub: Hub
