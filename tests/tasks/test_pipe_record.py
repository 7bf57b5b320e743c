"""The record with a new pipe: everything else as it was written, and nothing overwritten."""

from pathlib import Path

import pytest
import tomlkit

from scribeline.engine import read_record, read_record_file
from scribeline.errors import RecordError
from scribeline.geometry.pipe_design import sections_of
from scribeline.tasks.pipe_record import fragment, record_with, write_record_with
from tests.examples import KART, REED, edited, path_of, text_of
from tests.tasks.pipes import first


@pytest.mark.parametrize("name", [KART, REED])
def test_the_new_file_has_the_new_pipe_and_every_other_line(name: str, tmp_path: Path) -> None:
    record, sections = edited(name=name), first().chosen.sections
    new = tmp_path / "new.toml"
    write_record_with(path_of(name), record, sections, new)
    assert sections_of(read_record_file(new)) == sections
    assert read_record_file(new).model_copy(update={"exhaust": None}) == record.model_copy(update={"exhaust": None})
    before, after = text_of(name).splitlines(), new.read_text(encoding="utf-8").splitlines()
    kept = [line for line in before if line.startswith("#") or "ignition" in line or "plus_minus" in line]
    assert kept
    assert set(kept) <= set(after)
    assert "not measured" in new.read_text(encoding="utf-8")


def test_the_numbers_of_a_designed_pipe_count_as_chosen() -> None:
    record = record_with(edited(), first().chosen.sections)
    assert record.exhaust is not None
    assert {one.length_mm.instrument for one in record.exhaust.sections} == {"chosen"}
    assert record.exhaust.sections[0].bend_deg is not None


def test_the_fragment_is_what_a_record_takes() -> None:
    sections = first().chosen.sections
    document = tomlkit.parse(text_of(KART))
    document.pop("exhaust")
    assert sections_of(read_record(tomlkit.dumps(document) + "\n" + fragment(sections))) == sections


def test_an_inline_pipe_is_replaced_too(tmp_path: Path) -> None:
    text = text_of(KART).partition("[[exhaust.sections]]")[0]
    rest = text_of(KART)[text_of(KART).index("[ignition]") :]
    inline = "[exhaust]\nsections = [{ name = 'all', length_mm = 900, start_mm = 34, end_mm = 40 }]\n\n"
    old, new = tmp_path / "old.toml", tmp_path / "new.toml"
    old.write_text(text + inline + rest, encoding="utf-8")
    write_record_with(old, read_record_file(old), first().chosen.sections, new)
    assert sections_of(read_record_file(new)) == first().chosen.sections


def test_a_file_that_is_there_is_kept(tmp_path: Path) -> None:
    new = tmp_path / "new.toml"
    new.write_text("mine", encoding="utf-8")
    with pytest.raises(RecordError, match="a name that is free"):
        write_record_with(path_of(KART), edited(), first().chosen.sections, new)
    assert new.read_text(encoding="utf-8") == "mine"
    with pytest.raises(RecordError, match="a folder you may write to"):
        write_record_with(path_of(KART), edited(), first().chosen.sections, tmp_path / "none" / "new.toml")
