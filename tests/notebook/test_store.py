from datetime import UTC, datetime, timedelta

import pytest
import sqlalchemy as sa

from scribeline.errors import NotebookError
from scribeline.notebook import BuildSummary, FileToAttach, Notebook, open_notebook, tables
from scribeline.notebook.database import Database
from scribeline.notebook.entries import sha256_of

RECORD = '# as bought\r\nname = "Kart, ±"  # comment\n[crank]\nstroke_mm = 50.0\n'
PHOTO = FileToAttach("a.jpg", "image/jpeg", b"\xff\xd8 a picture")
SCAN = FileToAttach("b.pdf", "application/pdf", b"")


def record(stroke_mm: float) -> str:
    return f"[crank]\nstroke_mm = {stroke_mm}\n"


def test_what_is_kept_is_there_after_closing_to_the_letter(where: str) -> None:
    began = datetime.now(UTC)
    with open_notebook(where, create=True) as notebook:
        kept = notebook.keep("kart", RECORD, author="Kim", note="two\nlines", build_note="spare", files=[PHOTO, SCAN])
    with open_notebook(where) as notebook:
        revision = notebook.revision("kart")
        assert revision == kept.revision == notebook.revision("kart", 1) == notebook.history("kart")[0]
        assert (revision.number, revision.parent_number, revision.build_name) == (1, None, "kart")
        assert (revision.author, revision.note) == ("Kim", "two\nlines")
        assert revision.record_toml == RECORD
        assert revision.record_sha256 == sha256_of(RECORD.encode())
        assert timedelta(0) <= revision.kept_at - began < timedelta(minutes=1)
        assert revision.kept_at.utcoffset() == timedelta(0)
        build = notebook.build("kart")
        assert (build.name, build.note, build.created_at) == ("kart", "spare", revision.kept_at)
        assert kept.new_build
        assert sorted(kept.attachments, key=lambda file: file.id) == notebook.attachments("kart")
        assert {(f.name, f.media_type, f.size_bytes, f.revision_number) for f in kept.attachments} == {
            ("a.jpg", "image/jpeg", 12, 1),
            ("b.pdf", "application/pdf", 0, 1),
        }
        assert [notebook.content(file.sha256) for file in kept.attachments] == [PHOTO.data, SCAN.data]


def test_each_revision_is_made_from_the_one_before(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        kept = [notebook.keep("kart", record(50 + n), author="Kim") for n in range(3)]
        notebook.keep("other", record(50), author="Ada")
        assert [(one.revision.number, one.revision.parent_number) for one in kept] == [(1, None), (2, 1), (3, 2)]
        assert [one.new_build for one in kept] == [True, False, False]
        assert [one.number for one in notebook.history("kart")] == [1, 2, 3]
        assert notebook.revision("kart").number == 3
        assert notebook.revision("kart", 2).record_toml == record(51)
        assert notebook.revision("other").parent_number is None


def test_builds_are_listed_by_name_with_how_far_they_have_come(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        assert notebook.builds() == []
        for name in ("b", "C", "a"):
            notebook.keep(name, record(50), author="Kim", files=[PHOTO, SCAN])
        last = notebook.keep("a", record(51), author="Kim", files=[PHOTO]).revision
        found = notebook.builds()
        assert [one.build.name for one in found] == ["a", "b", "C"]
        assert found[0] == BuildSummary(notebook.build("a"), 2, 3, 2, last.kept_at, last_sha256=last.record_sha256)
        assert (found[1].revision_count, found[1].file_count, found[1].last_number) == (1, 2, 1)


def test_capitals_do_not_make_another_build(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        notebook.keep("Kart Ä", record(50), author="Kim")
        kept = notebook.keep("kart ä", record(51), author="Kim")
        assert (kept.revision.build_name, kept.revision.number, kept.new_build) == ("Kart Ä", 2, False)
        assert [one.number for one in notebook.history("KART Ä")] == [1, 2]


def test_the_latest_record_is_not_kept_twice_but_an_older_one_may_come_back(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        notebook.keep("kart", record(50), author="Kim")
        with pytest.raises(NotebookError, match=r"identical to revision 1, the latest of 'kart'.*\n.*kept: nothing"):
            notebook.keep("kart", record(50), author="Ada", note="again", files=[PHOTO])
        assert len(notebook.history("kart")) == 1
        assert notebook.attachments("kart") == []
        notebook.keep("kart", record(51), author="Kim")
        assert notebook.keep("kart", record(50), author="Kim").revision.number == 3
        assert notebook.keep("kart", record(50) + "# a comment\n", author="Kim").revision.number == 4


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"record_toml": "stroke 50"}, "no TOML text"),
        ({"record_toml": "a = '\udcff'"}, "no TOML text"),
        ({"build_name": "../kart"}, "name of the build is refused"),
        ({"author": ""}, "author is refused"),
        ({"note": "\x1b[2J"}, "note is refused"),
        ({"build_note": "\x1b[2J"}, "build's note is refused"),
        ({"files": [PHOTO, FileToAttach("", "x/y", b"")]}, "name of the file is refused"),
    ],
)
def test_what_is_refused_keeps_nothing(where: str, changed: dict[str, object], message: str) -> None:
    arguments = {"build_name": "kart", "record_toml": RECORD, "author": "Kim", "files": [PHOTO]} | changed
    with open_notebook(where, create=True) as notebook:
        with pytest.raises(NotebookError, match=f"(?s){message}.*kept: nothing"):
            notebook.keep(**arguments)  # type: ignore[arg-type]
        assert notebook.builds() == []
        with notebook.database.reading() as connection:
            assert connection.execute(sa.select(tables.contents)).all() == []


def test_the_note_of_a_build_is_written_once(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        notebook.keep("kart", record(50), author="Kim", build_note="spare")
        notebook.keep("kart", record(51), author="Kim", build_note="spare")
        with pytest.raises(NotebookError, match="has its note already: 'spare'"):
            notebook.keep("kart", record(52), author="Kim", build_note="race")
        assert notebook.revision("kart").number == 2


def test_files_are_attached_to_a_build_or_to_a_revision_and_content_is_kept_once(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        notebook.keep("kart", record(50), author="Kim", files=[PHOTO])
        (whole,) = notebook.attach("KART", [PHOTO])
        (one,) = notebook.attach("kart", [FileToAttach("c.jpg", "image/jpeg", PHOTO.data)], 1)
        assert (whole.revision_number, one.revision_number, one.build_name) == (None, 1, "kart")
        assert [file.name for file in notebook.attachments("kart")] == ["a.jpg", "a.jpg", "c.jpg"]
        with notebook.database.reading() as connection:
            assert connection.execute(sa.select(sa.func.count()).select_from(tables.contents)).scalar() == 1
        with pytest.raises(NotebookError, match=r"no revision 2.*\n.*1 to 1"):
            notebook.attach("kart", [PHOTO, SCAN], 2)
        assert len(notebook.attachments("kart")) == 3


def test_what_is_not_there_is_said_with_what_is(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        with pytest.raises(NotebookError, match=r"no build called 'kart'.*\n.*there is: none"):
            notebook.history("kart")
        for name in "abcdefghijklm":
            notebook.keep(name, record(50), author="Kim")
        with pytest.raises(NotebookError, match=r"there is: a, b, c, d, e, f, g, h, i, j, \.\.\.\n"):
            notebook.attach("kart", [PHOTO])
        for number in (0, -1, 2, 2**70):
            with pytest.raises(NotebookError, match=f"'a' has no revision {number}"):
                notebook.revision("a", number)
        with pytest.raises(NotebookError, match="no file with the hash abc"):
            notebook.content("abc")


def tamper(notebook: Notebook, table: str, change: str) -> None:
    """Change what is kept, past the guards, as a failing disk would."""
    database: Database = notebook.database
    with database.writing("tamper") as connection:
        if database.is_sqlite:
            connection.exec_driver_sql(f"DROP TRIGGER {table}_are_not_changed")
        else:
            connection.exec_driver_sql(f"ALTER TABLE {table} DISABLE TRIGGER USER")
        connection.exec_driver_sql(f"UPDATE {table} SET {change}")


def test_a_record_that_is_not_what_was_kept_is_not_handed_out(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        notebook.keep("kart", record(50), author="Kim")
        tamper(notebook, "revisions", "record_toml = replace(record_toml, '50', '51')")
        for read in (notebook.revision, notebook.history):
            with pytest.raises(NotebookError, match="revision 1 of 'kart' is not what was kept"):
                read("kart")
        with pytest.raises(NotebookError, match="is not what was kept"):
            notebook.keep("kart", record(52), author="Kim")


def test_a_file_that_is_not_what_was_kept_is_not_handed_out(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        (file,) = notebook.keep("kart", record(50), author="Kim", files=[PHOTO]).attachments
        other = "x'616263616263616263616263'" if notebook.database.is_sqlite else "'abcabcabcabc'"
        tamper(notebook, "contents", f"data = {other}")
        with pytest.raises(NotebookError, match="is not what was kept"):
            notebook.content(file.sha256)


def test_records_can_be_searched_by_a_field(where: str) -> None:
    """The same query on both databases, for the rooms to come."""
    with open_notebook(where, create=True) as notebook:
        for stroke_mm in (50.0, 50.05, 39):
            notebook.keep("kart", record(stroke_mm), author="Kim")
        notebook.keep("other", 'name = "ö"\n', author="Kim")
        stroke_mm_of = tables.revisions.c.record_json["crank", "stroke_mm"].as_float()
        query = sa.select(tables.revisions.c.number).where(stroke_mm_of >= 50).order_by(tables.revisions.c.number)
        with notebook.database.reading() as connection:
            assert connection.execute(query).scalars().all() == [1, 2]
            name_of = tables.revisions.c.record_json["name"].as_string()
            assert connection.execute(sa.select(name_of).where(name_of == "ö")).scalars().all() == ["ö"]


def test_a_large_file_comes_back(where: str) -> None:
    data = bytes(range(256)) * 40_000
    with open_notebook(where, create=True) as notebook:
        (file,) = notebook.keep(
            "kart", record(50), author="Kim", files=[FileToAttach("v.mp4", "video/mp4", data)]
        ).attachments
        assert notebook.content(file.sha256) == data
