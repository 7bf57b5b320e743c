"""Which notebook is meant: a file that SQLite keeps, or a PostgreSQL database by URL. Opens nothing."""

import os
from dataclasses import dataclass
from pathlib import Path

import platformdirs
import sqlalchemy as sa

from scribeline.errors import NotebookError

ENVIRONMENT_VARIABLE = "SCRIBELINE_NOTEBOOK"

_ACCEPTED = "a file such as ~/engines.sqlite, or postgresql://USER@HOST/DATABASE"


@dataclass(frozen=True)
class Address:
    """Where a notebook is. `path` is its file for SQLite and None for PostgreSQL."""

    url: sa.URL
    path: Path | None

    def __str__(self) -> str:
        """The address as told to a person: never with a password."""
        if self.path:
            return str(self.path)
        return self.url.difference_update_query(["password", "sslpassword"]).render_as_string(hide_password=True)


def resolve(given: str | Path | None = None) -> Address:
    """Find the notebook that is meant.

    given : a path, a ``sqlite:///`` or ``postgresql://`` URL, or None for the environment variable
        SCRIBELINE_NOTEBOOK and, where that is not set, ``notebook.sqlite`` in the user's data folder

    >>> resolve("/home/me/engines.sqlite").path.name
    'engines.sqlite'
    """
    text = str(given) if given is not None else os.environ.get(ENVIRONMENT_VARIABLE, "")
    if given is not None and not text.strip():
        raise NotebookError(f"The name of the notebook is empty.\n    what to do: give {_ACCEPTED}")
    if not text.strip():
        return _file(default_path())
    return _from_url(text) if "://" in text else _file(Path(text))


def default_path() -> Path:
    """The notebook of a builder who has named no other."""
    return platformdirs.user_data_path("scribeline", appauthor=False) / "notebook.sqlite"


def _file(path: Path) -> Address:
    path = path.expanduser().absolute()
    return Address(sa.URL.create("sqlite", database=str(path)), path)


def _from_url(text: str) -> Address:
    scheme = text.partition("://")[0]
    try:
        url = sa.make_url(text)
    except (sa.exc.ArgumentError, ValueError):
        # The text is not repeated: there may be a password in it.
        raise NotebookError(
            f"The notebook's {scheme}:// address cannot be read.\n    what to do: give {_ACCEPTED}"
        ) from None
    if scheme == "sqlite" and url.database and not url.query and url.database != ":memory:":
        return _file(Path(url.database))
    if scheme in ("postgresql", "postgres", "postgresql+psycopg"):
        return Address(url.set(drivername="postgresql+psycopg"), None)
    raise NotebookError(f"A notebook cannot be kept at {scheme}://\n    what to do: give {_ACCEPTED}")
