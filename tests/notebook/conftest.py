"""Notebooks to test with: an empty file, or an empty database on a PostgreSQL server of the tests' own."""

import itertools
import shutil
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest

from scribeline.notebook import Notebook, open_notebook
from tests.notebook.cluster import UnavailableError, running_cluster, skip_or_fail
from tests.notebook.keeper import Keepers

_without_server: list[str] = []
_numbers = itertools.count(1)


@pytest.fixture(scope="session")
def cluster() -> Iterator[str]:
    try:
        with running_cluster() as url:
            yield url
    except UnavailableError as error:
        _without_server.append(str(error))
        skip_or_fail(error)


@pytest.fixture
def postgresql(cluster: str) -> str:
    """URL of an empty place on the server: a schema of its own, which takes less time to make than a database."""
    name = f"notebook_{next(_numbers)}"
    with psycopg.connect(cluster) as server:
        server.execute(f"CREATE SCHEMA {name}")
    return f"{cluster}&options=-csearch_path%3D{name}"


@pytest.fixture(params=["sqlite", "postgresql"])
def where(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """An address at which no notebook is yet, once for each kind of database."""
    if request.param == "postgresql":
        return str(request.getfixturevalue("postgresql"))
    return str(tmp_path / "engines.sqlite")


@pytest.fixture(scope="session")
def empty_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A file with an empty notebook in it, to be copied: faster than making each one anew."""
    path = tmp_path_factory.mktemp("empty") / "empty.sqlite"
    open_notebook(path, create=True).close()
    return path


@pytest.fixture
def path(empty_file: Path, tmp_path: Path) -> Path:
    """A file with an empty notebook in it."""
    return Path(shutil.copy(empty_file, tmp_path / "notebook.sqlite"))


@pytest.fixture
def notebook(path: Path) -> Iterator[Notebook]:
    """An open, empty notebook in a file."""
    with open_notebook(path) as opened:
        yield opened


@pytest.fixture(scope="session")
def keepers() -> Iterator[Keepers]:
    with Keepers() as started:
        yield started


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    for reason in _without_server:
        terminalreporter.write_line(f"PostgreSQL tests of the notebook were skipped: {reason}")
