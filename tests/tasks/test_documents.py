"""The documents as pages: every one renders, every link inside leads somewhere, nothing outside them can be read."""

import re
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from scribeline.errors import NotThereError
from scribeline.tasks.documents import document, folder, picture

ROOT = Path(__file__).resolve().parents[2]
PLACES = sorted(path.relative_to(folder()).with_suffix("").as_posix() for path in folder().rglob("*.md"))


def test_the_pages_of_the_repository_are_the_help() -> None:
    assert folder() == ROOT / "docs"
    assert "howto/measure-squish" in PLACES


@pytest.mark.parametrize("place", PLACES)
def test_every_page_renders_with_its_links_and_pictures(place: str) -> None:
    found = document(place)
    assert found.title
    assert "<h1" not in found.html
    for target in re.findall(r'href="([^"]+)"', found.html):
        if target.startswith("/help"):
            inside, _, part = target.removeprefix("/help").strip("/").partition("#")
            there = document(inside)
            assert not part or f'id="{part}"' in there.html, target
        else:
            assert re.match(r"(https?|mailto):", target), target
    for source in re.findall(r'src="([^"]+)"', found.html):
        assert picture(source.removeprefix("/help-pictures/")).is_file()


def test_a_title_is_told_apart_from_the_text() -> None:
    page = document("howto/measure-squish")
    first_line = (folder() / "howto" / "measure-squish.md").read_text().splitlines()[0]
    assert first_line == f"# {page.title}"


def test_the_index_of_a_folder_stands_for_it() -> None:
    assert document("").place == "README"
    assert document("howto") == document("howto/README")


@pytest.mark.parametrize(
    "place",
    ["nothing", "../README", "howto/../../README", "/etc/passwd", "howto/measure-squish.md", "pictures/x.svg", "\0"],
)  # fmt: skip
def test_nothing_else_is_read(place: str) -> None:
    with pytest.raises(NotThereError):
        document(place)


@pytest.mark.parametrize("place", ["../pyproject.toml", "README.md", "pictures/none.svg", "generate.py", "/etc/x.png"])
def test_nothing_else_is_a_picture(place: str) -> None:
    with pytest.raises(NotThereError):
        picture(place)


def test_markup_in_a_document_stays_text(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from scribeline.tasks import documents

    (tmp_path / "odd.md").write_text("# Odd\n\n<script>evil()</script> [x](javascript:evil()) ![y](z.png)\n")
    monkeypatch.setattr(documents, "folder", lambda: tmp_path)
    documents._all.cache_clear()
    try:
        html = document("odd").html
    finally:
        documents._all.cache_clear()
    assert "<script" not in html
    assert 'href="javascript' not in html


def test_a_wheel_brings_the_documents_and_the_demonstration(tmp_path: Path) -> None:
    build = "from hatchling.builders.wheel import WheelBuilder as W; print(next(iter(W('.').build(directory={!r}))))"
    done = subprocess.run(
        [sys.executable, "-c", build.format(str(tmp_path))], cwd=ROOT, capture_output=True, text=True, check=True
    )
    inside = set(zipfile.ZipFile(done.stdout.strip().splitlines()[-1]).namelist())
    assert {f"scribeline/documents/{place}.md" for place in PLACES} <= inside
    assert "scribeline/documents/pictures/squish.svg" in inside
    brought = ("club-kart-98.toml", "club-kart-98-squish-set.toml", "club-kart-98-plan.toml", "gate-times.csv")
    assert {f"scribeline/demonstration/{name}" for name in brought} <= inside
    assert "scribeline/web/static/look.css" in inside
