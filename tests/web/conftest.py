"""A notebook with the demonstration kart in it, for every test of the pages."""

import shutil
from pathlib import Path

import pytest

from scribeline.tasks.notebook import keep_record
from tests.examples import path_of


@pytest.fixture(scope="session")
def kart_notebook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A notebook with the demonstration kart as the build "kart", to be copied."""
    path = tmp_path_factory.mktemp("kart") / "notebook.sqlite"
    keep_record(path_of("club-kart-98"), build="kart", note="as measured", author="tests", where=path)
    return path


@pytest.fixture
def notebook(kart_notebook: Path, tmp_path: Path) -> Path:
    """A copy of it, for one test."""
    return Path(shutil.copy(kart_notebook, tmp_path / "notebook.sqlite"))
