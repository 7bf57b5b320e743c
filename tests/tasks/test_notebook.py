from collections.abc import Callable
from pathlib import Path

import pytest

from scribeline.errors import NotebookError, RecordError
from scribeline.notebook import entries, open_notebook
from scribeline.notebook.difference import Change
from scribeline.tasks import notebook as tasks

ENGINE = Path(__file__).resolve().parents[2] / "examples" / "club-kart-98.toml"


@pytest.fixture
def where(tmp_path: Path) -> Path:
    return tmp_path / "notebook.sqlite"


@pytest.fixture
def engine(tmp_path: Path) -> Path:
    """A record to change, with the line ends of another system."""
    path = tmp_path / "engine.toml"
    path.write_bytes(ENGINE.read_bytes().replace(b"\n", b"\r\n"))
    return path


def change(engine: Path, before: str, after: str) -> None:
    text = engine.read_bytes().decode()
    assert before in text
    engine.write_bytes(text.replace(before, after).encode())


def test_a_record_is_kept_to_the_letter_under_its_own_name(engine: Path, where: Path) -> None:
    kept = tasks.keep_record(engine, note="as bought", author="Kim", where=where)
    assert kept.new_build
    assert (kept.revision.build_name, kept.revision.author, kept.revision.note) == ("Club kart 98", "Kim", "as bought")
    revision, files = tasks.show_revision("club kart 98", where=where)
    assert revision.record_toml.encode() == engine.read_bytes()
    assert files == []


def test_the_user_is_the_author_where_none_is_named(engine: Path, where: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("getpass.getuser", lambda: "ada")
    assert tasks.keep_record(engine, where=where).revision.author == "ada"

    def nobody() -> str:
        raise OSError("no user")

    monkeypatch.setattr("getpass.getuser", nobody)
    with pytest.raises(NotebookError, match="give --author"):
        tasks.keep_record(engine, build="other", where=where)


def test_files_are_kept_with_the_revision_and_afterwards(engine: Path, where: Path, tmp_path: Path) -> None:
    photo, scan, odd = tmp_path / "port.JPG", tmp_path / "rubbing.pdf", tmp_path / "odd.qqq"
    photo.write_bytes(b"\xff\xd8")
    scan.write_bytes(b"%PDF")
    odd.write_bytes(b"")
    kept = tasks.keep_record(engine, build="barrel 2", author="Kim", attach=[photo], where=where)
    assert [(file.name, file.media_type, file.revision_number) for file in kept.attachments] == [
        ("port.JPG", "image/jpeg", 1)
    ]
    tasks.attach_files("barrel 2", [scan, odd], where=where)
    tasks.attach_files("barrel 2", [scan], revision=1, where=where)
    history = tasks.show_build("barrel 2", where=where)
    assert sorted((file.name, file.media_type, file.revision_number or 0) for file in history.attachments) == [
        ("odd.qqq", "application/octet-stream", 0),
        ("port.JPG", "image/jpeg", 1),
        ("rubbing.pdf", "application/pdf", 0),
        ("rubbing.pdf", "application/pdf", 1),
    ]
    _, files = tasks.show_revision("barrel 2", 1, where=where)
    assert sorted(file.name for file in files) == ["port.JPG", "rubbing.pdf"]


def no_engine(engine: Path) -> None:
    engine.unlink()


def no_text(engine: Path) -> None:
    engine.write_bytes(b"name = '\xff'")


def no_possible_engine(engine: Path) -> None:
    change(engine, "value = 50.0,", "value = -50.0,")


def a_folder(engine: Path) -> None:
    engine.unlink()
    engine.mkdir()


@pytest.mark.parametrize(
    ("spoil", "error", "message"),
    [
        (no_engine, NotebookError, r"cannot be read: No such file"),
        (no_text, NotebookError, r"not text in UTF-8: byte 8"),
        (a_folder, NotebookError, r"is no file"),
        (no_possible_engine, RecordError, r"crank.stroke_mm"),
    ],
)
def test_a_record_that_is_refused_begins_no_notebook(
    engine: Path, where: Path, spoil: Callable[[Path], None], error: type[Exception], message: str
) -> None:
    spoil(engine)
    with pytest.raises(error, match=message):
        tasks.keep_record(engine, author="Kim", where=where)
    assert not where.exists()


def test_a_record_that_is_refused_leaves_the_notebook_as_it_was(engine: Path, where: Path) -> None:
    tasks.keep_record(engine, author="Kim", where=where)
    no_possible_engine(engine)
    with pytest.raises(RecordError):
        tasks.keep_record(engine, author="Kim", where=where)
    assert [one.revision_count for one in tasks.list_builds(where=where)] == [1]


def test_a_file_that_cannot_be_attached_keeps_nothing(
    engine: Path, where: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(NotebookError, match=r"none.jpg cannot be read"):
        tasks.keep_record(engine, author="Kim", attach=[engine, engine.with_name("none.jpg")], where=where)
    with pytest.raises(NotebookError, match=r"is no file"):
        tasks.keep_record(engine, author="Kim", attach=[engine.parent], where=where)
    monkeypatch.setattr(tasks, "LARGEST_FILE_BYTES", engine.stat().st_size - 1)
    with pytest.raises(NotebookError, match=r"has \d+ bytes(.|\n)*smaller copy"):
        tasks.attach_files("kart", [engine], where=where)
    assert not where.exists()
    assert entries.LARGEST_FILE_BYTES == 256 * 1024**2


def test_two_revisions_are_compared_field_by_field(engine: Path, where: Path) -> None:
    tasks.keep_record(engine, build="kart", author="Kim", where=where)
    with pytest.raises(NotebookError, match="made from no other"):
        tasks.compare_revisions("kart", where=where)
    change(engine, "roof_from_deck_mm = { value = 29.1,", "roof_from_deck_mm = { value = 28.6,")
    tasks.keep_record(engine, build="kart", author="Kim", where=where)
    change(engine, "mass_g = 148", "mass_g = 145.5  # skirt trimmed")
    tasks.keep_record(engine, build="kart", author="Kim", where=where)
    change(engine, "# skirt trimmed", "# trimmed")
    tasks.keep_record(engine, build="kart", author="Kim", where=where)

    roof, mass = Change("ports.exhaust.roof_from_deck_mm.value", 29.1, 28.6), Change("piston.mass_g", 148, 145.5)
    numbers_and_changes = {
        (1, 2): [roof],
        (1, 3): [mass, roof],
        (3, 2): [Change("piston.mass_g", 145.5, 148)],
        (3, 4): [],
        (4, 4): [],
    }
    for (before, after), expected in numbers_and_changes.items():
        found = tasks.compare_revisions("kart", before, after, where=where)
        assert (found.before.number, found.after.number, found.changes) == (before, after, expected)
        assert found.same_text is (before == after)
    assert tasks.compare_revisions("kart", where=where).before.number == 3
    assert tasks.compare_revisions("kart", 1, where=where).after.number == 4
    assert tasks.compare_revisions("kart", after=2, where=where).before.number == 1


def test_a_notebook_moves_and_nothing_is_lost(engine: Path, where: Path, tmp_path: Path) -> None:
    tasks.keep_record(engine, build="kart", author="Kim", attach=[engine], where=where)
    tasks.keep_record(engine, build="spare", author="Kim", attach=[engine], where=where)
    one, two, other = tmp_path / "one.zip", tmp_path / "two.zip", tmp_path / "other.sqlite"
    assert tasks.export_notebook(one, where=where) == tasks.Moved(2, 2, 1)
    assert tasks.import_notebook(one, where=other) == tasks.Moved(2, 2, 1)
    tasks.export_notebook(two, where=other)
    assert one.read_bytes() == two.read_bytes()


def test_an_archive_that_is_refused_begins_no_notebook(engine: Path, where: Path, tmp_path: Path) -> None:
    tasks.keep_record(engine, author="Kim", where=where)
    tasks.export_notebook(tmp_path / "one.zip", where=where)
    data = bytearray((tmp_path / "one.zip").read_bytes())
    data[len(data) // 2] ^= 1
    (tmp_path / "one.zip").write_bytes(data)
    with pytest.raises(NotebookError, match="kept: nothing of it"):
        tasks.import_notebook(tmp_path / "one.zip", where=tmp_path / "other.sqlite")
    assert not (tmp_path / "other.sqlite").exists()


def test_an_older_notebook_is_migrated_and_what_was_done_is_told(where: Path) -> None:
    from tests.notebook.test_schema import an_old_notebook

    an_old_notebook(where)
    told: list[str] = []
    assert tasks.migrate_notebook(where=where, tell=told.append).path == where
    assert [sentence.split(":")[0] for sentence in told] == [
        "The notebook's tables are older than this program. A copy was made first",
        f"The notebook {where} was brought from step 0001 to 0006.",
    ]
    with open_notebook(where) as notebook:
        assert len(notebook.history("Old barrel")) == 3


def test_looking_begins_no_notebook(where: Path, tmp_path: Path) -> None:
    for look in (
        lambda: tasks.list_builds(where=where),
        lambda: tasks.show_build("kart", where=where),
        lambda: tasks.show_revision("kart", where=where),
        lambda: tasks.compare_revisions("kart", where=where),
        lambda: tasks.export_notebook(tmp_path / "x.zip", where=where),
        lambda: tasks.attach_files("kart", [], where=where),
        lambda: tasks.migrate_notebook(where=where),
    ):
        with pytest.raises(NotebookError, match="there is none yet"):
            look()
    assert list(tmp_path.iterdir()) == []
