"""What the databases underneath complain about, turned into words a builder can act on.

Every refusal says what happened, what was kept, and what to do. Nothing here touches a database.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

import sqlalchemy as sa

from scribeline.errors import NotebookError

NOTHING_NEW = "nothing of this; all that was kept before is untouched"

_BACKUP_ADVICE = "put a backup copy or an export in its place; keep the damaged file until that has worked"

# Part of the message or SQLSTATE -> what happened, what to do. The first that fits is taken.
_KNOWN = [
    (("database is locked", "database table is locked", "55p03"), "another program is writing in it just now",
     "wait until that is done, or close it, and try again"),
    (("readonly", "read-only", "permission denied", "25006", "42501"),
     "writing is not allowed by the file, by its folder or by the server",
     "allow it, or name another notebook with --notebook"),
    (("disk is full", "no space left", "53100"), "the disk is full",
     "make room on that disk and try again"),
    (("not a database",), "the file is no notebook: it is not an SQLite database",
     "check the name given with --notebook; if this was the notebook, " + _BACKUP_ADVICE),
    (("malformed", "corrupt", "xx001", "xx002"), "the file is damaged",
     _BACKUP_ADVICE),
    (("unable to open", "14 (cantopen)"), "the file cannot be opened or made",
     "check that the folder exists, and that you may write in it"),
    (("disk i/o error", "58030"), "the disk refused to read or write",
     "check that the disk is connected, has room and is sound"),
    (("28p01", "28000", "password authentication failed", "no password supplied"), "the server refused the log-in",
     "check user name and password of the notebook's address"),
    (("3d000", "does not exist\n"), "there is no such database on the server",
     "have it made with `createdb`, or check the notebook's address"),
    (("connection refused", "connection failed", "could not translate", "failed to resolve", "no such file",
      "connection timeout", "terminating connection", "server closed the connection", "connection is closed",
      "connection is lost", "57p01", "57p02", "57p03"),
     "the database server does not answer", "check that it runs and that the notebook's address is right"),
    (("no such module", "near \"strict\"", "unknown table option"), "the SQLite of this Python is too old",
     "use a Python whose sqlite3.sqlite_version is 3.37 or newer"),
]  # fmt: skip


def refusal(where: object, doing: str, happened: str, kept: str, remedy: str) -> NotebookError:
    """One refusal in the form that all of the notebook's refusals have."""
    return NotebookError(
        f"The notebook {where} could not {doing}: {happened}.\n    kept: {kept}\n    what to do: {remedy}"
    )


def there_is_none(where: object) -> NotebookError:
    """The refusal to read a notebook that nobody has begun."""
    remedy = "`scribeline notebook keep ENGINE.toml` begins one; or check the name given with --notebook"
    return refusal(where, "be opened", "there is none yet", "nothing was made", remedy)


def explained(error: Exception, where: object, doing: str) -> NotebookError:
    """The NotebookError that says in plain words what a database error means."""
    origin = getattr(error, "orig", None) or error
    first_line = (str(origin).strip() or type(origin).__name__).splitlines()[0]
    searched = f"{getattr(origin, 'sqlstate', None) or ''} {origin}\n".lower()
    for marks, happened, remedy in _KNOWN:
        if any(mark in searched for mark in marks):
            return refusal(where, doing, happened, NOTHING_NEW, f"{remedy} (the database says: {first_line})")
    return refusal(
        where, doing, f"the database says: {first_line}", NOTHING_NEW, "if it happens again, please report it"
    )


@contextmanager
def plainly(where: object, doing: str) -> Iterator[None]:
    """Let no database error out of this block except as a NotebookError."""
    try:
        yield
    except (sa.exc.SQLAlchemyError, sqlite3.Error) as error:
        raise explained(error, where, doing) from error
