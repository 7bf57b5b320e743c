"""Opening a notebook: nothing is made where it was not asked for, and what is opened has the newest tables."""

import sqlite3
from collections.abc import Callable
from pathlib import Path

from scribeline.notebook.address import Address, default_path, resolve
from scribeline.notebook.database import Database
from scribeline.notebook.faults import explained, refusal, there_is_none
from scribeline.notebook.schema import bring_to_head
from scribeline.notebook.store import Notebook

_SQLITE_STARTS_WITH = b"SQLite format 3\0"


def open_notebook(
    where: str | Path | Address | None = None,
    *,
    create: bool = False,
    backup_is_made: bool = False,
    tell: Callable[[str], None] = lambda sentence: None,
    wait_s: float = 10.0,
) -> Notebook:
    """Open a notebook and bring its tables to the newest step.

    where : path, URL, Address, or None for the environment variable or the user's data folder
    create : make the notebook where there is none yet; without it that is refused
    backup_is_made : the word that a PostgreSQL database was dumped before its tables are changed
    tell : is given a sentence when something was done that a person should know, such as a backup copy
    wait_s : how long to wait for another program that is writing, in seconds
    """
    address = where if isinstance(where, Address) else resolve(where)
    if address.path:
        _check(address.path, create)
    database = Database(address, wait_s)
    try:
        bring_to_head(database, create, backup_is_made, tell)
    except BaseException:
        database.close()
        raise
    return Notebook(database)


def _check(path: Path, create: bool) -> None:
    """Refuse a place where no notebook can be, before SQLite makes an empty file there."""
    try:
        if path.is_dir():
            raise refusal(path, "be opened", "it is a folder", "nothing was changed", "name a file inside it")
        if path.exists():
            with path.open("rb") as file:
                start = file.read(len(_SQLITE_STARTS_WITH))
            if start not in (b"", _SQLITE_STARTS_WITH):  # SQLite would take a file of a few bytes for an empty one
                raise explained(sqlite3.DatabaseError("file is not a database"), path, "be opened")
            return
        if not create:
            raise there_is_none(path)
        if path == default_path():
            path.parent.mkdir(parents=True, exist_ok=True)
        elif not path.parent.is_dir():
            happened, remedy = f"there is no folder {path.parent}", "make the folder first, or check the name"
            raise refusal(path, "be made", happened, "nothing was made", remedy)
    except OSError as error:
        happened, remedy = error.strerror or str(error), "check the name, and that you may write there"
        raise refusal(path, "be made", happened, "nothing was made", remedy) from error
