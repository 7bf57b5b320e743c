"""Looking through the notebook, and beginning cylinders by name, by file and by the demonstration."""

from pathlib import Path

import pytest

from scribeline.errors import NotebookError
from scribeline.notebook import open_notebook
from scribeline.tasks.cylinders import begin_demonstration, begin_from_file, cylinders, free_name
from scribeline.tasks.desk import begin_build, desk_of, edit
from scribeline.tasks.notebook import attach_named, keep_record, show_revision
from tests.examples import path_of

KART = path_of("club-kart-98")


@pytest.fixture
def where(tmp_path: Path) -> Path:
    path = tmp_path / "notebook.sqlite"
    open_notebook(path, create=True).close()
    return path


def test_cylinders_come_with_how_far_they_are_the_last_touched_first(where: Path) -> None:
    keep_record(KART, build="kart", author="kim", build_note="the blue one", where=where)
    begin_build("barn find", where=where)
    attach_named("kart", {"a.csv": path_of("club-kart-98").parent / "gate-times.csv"}, where=where)
    first, second = cylinders(where=where)
    assert (first.name, first.stands, first.picture, first.files) == (
        "barn find", "begun; no revision kept yet", "work", 0,
    )  # fmt: skip
    revision, _ = show_revision("kart", where=where)
    assert (second.name, second.note, second.stands, second.files) == ("kart", "the blue one", "revision 1", 1)
    assert second.picture == revision.record_sha256
    edit("kart", "record.name", "other", before=desk_of("kart", where=where).document["record"]["name"], device="x",
         label="name", where=where)  # fmt: skip
    first, _ = cylinders(where=where)
    assert (first.name, first.stands) == ("kart", "revision 1, edited since")


def test_a_record_file_becomes_a_cylinder_of_its_own(where: Path) -> None:
    one = begin_from_file(KART, "kart.toml", author="kim", where=where)
    other = begin_from_file(KART, "kart.toml", author="kim", where=where)
    assert (one.build, other.build) == ("Club kart 98", "Club kart 98 2")
    assert one.refusal is None
    revision, _ = show_revision(other.build, where=where)
    assert revision.record_toml == KART.read_text()
    assert revision.author == "kim"


def test_a_record_that_is_refused_is_taken_in_hand_instead(where: Path, tmp_path: Path) -> None:
    file = tmp_path / "x"
    file.write_text('scribeline_record = 1\nname = "odd: one"\n[cylinder]\nbore_mm = 5000\n')
    begun = begin_from_file(file, "odd.toml", where=where)
    assert begun.build == "odd one"
    assert begun.refusal is not None
    assert "bore_mm" in str(begun.refusal)
    desk = desk_of(begun.build, where=where)
    assert desk.document["record"]["cylinder"]["bore_mm"] == 5000
    assert desk.revision_number is None


@pytest.mark.parametrize("content", [b"\xff\xfe", b"not = = toml", b"{}"])
def test_what_is_no_record_begins_nothing(where: Path, tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "x"
    file.write_bytes(content)
    begin_build("there already", where=where)
    with pytest.raises(NotebookError, match=r"(?s)photo\.toml is no engine record.*kept: nothing"):
        begin_from_file(file, "photo.toml", where=where)
    assert [one.name for one in cylinders(where=where)] == ["there already"]


def test_the_demonstration_is_taken_once(where: Path) -> None:
    keep_record(KART, build="kart", author="kim", where=where)
    assert begin_demonstration(author="kim", where=where) == begin_demonstration(author="kim", where=where)
    found = [one for one in cylinders(where=where) if one.name == "Club kart 98"]
    assert len(found) == 1
    assert "Invented" in found[0].note


@pytest.mark.parametrize(
    ("wished", "name"),
    [("left / right", "left right"), ("  ", "a cylinder"), ("...", "a cylinder"), ("KART", "KART 2"),
     ("x" * 300, "x" * 76), ('a"b<c>|?', "a b c")],
)  # fmt: skip
def test_a_name_is_made_free(where: Path, wished: str, name: str) -> None:
    begin_build("kart", where=where)
    assert free_name(wished, where=where) == name
    begin_build(free_name(wished, where=where), where=where)
