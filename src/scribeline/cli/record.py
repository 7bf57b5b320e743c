"""`scribeline check` and `scribeline schema`: is a record sound, and what may stand in one."""

from pathlib import Path
from typing import Annotated

import typer


def check(engine: Annotated[Path, typer.Argument(metavar="ENGINE.toml", help="The engine record.")]) -> None:
    """Only look whether a record can be read and could be a real engine; say every reason why not."""
    from scribeline.tasks.records import check_record

    print(check_record(engine))


def schema() -> None:
    """Print the JSON Schema of an engine record, for editors that complete and check while you type."""
    from scribeline.tasks.records import record_schema

    print(record_schema())
