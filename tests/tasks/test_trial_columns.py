"""A table that was not understood is looked at, and read once a person has said what is in it."""

from pathlib import Path

from scribeline.tasks.trial_adding import keep_file, read_run, reading_of
from scribeline.tasks.trial_columns import look_at_table, meanings
from scribeline.tasks.trials import new_trial, show_trial

TABLE = "stamp;v;n;foo\n" + "\n".join(
    f"{i / 10:.1f};{20 + 2 * i / 10:.1f};4000;x".replace(".", ",") for i in range(100)
)


def test_headers_rows_and_guesses_are_shown(tmp_path: Path) -> None:
    (tmp_path / "log.csv").write_text(TABLE)
    looked = look_at_table(tmp_path / "log.csv", "log.csv")
    assert looked is not None
    assert looked.headers == ("stamp", "v", "n", "foo")
    assert looked.rows[0] == ("0,0", "20,0", "4000", "x")
    assert looked.guessed == {"stamp": "", "v": "", "n": "rpm rpm", "foo": ""}
    assert "v has no unit: m/s, km/h, mph or kn?" in looked.reasons
    assert set(looked.guessed.values()) <= meanings().keys()
    (tmp_path / "words.txt").write_text("nothing but words\n")
    assert look_at_table(tmp_path / "words.txt", "words.txt") is None


def test_what_was_said_reads_it_and_is_remembered_for_the_next(tmp_path: Path) -> None:
    where = str(tmp_path / "notebook.sqlite")
    new_trial("day", author="Kim", where=where)
    copy = tmp_path / "0123abcd.csv"  # a copy that came in through a page has a name of its own
    copy.write_text(TABLE)
    said = {"stamp": "time s", "v": "speed_m_s km/h"}
    reading = reading_of(where, "day", "log.csv", TABLE.encode(), setup="cut", columns=said)
    document = read_run(copy, reading)
    added = keep_file("day", reading, document, copy, author="Kim", where=where)
    assert (added.path.name, added.runs) == ("log.csv", 1)
    (file,) = show_trial("day", where=where).state.files
    assert (file.file_name, file.data["setup"]) == ("log.csv", "cut")
    assert "0123abcd" not in str(file.data)
    assert reading_of(where, "day", "log-2.csv", TABLE.encode()).columns == said
