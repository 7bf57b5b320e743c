"""The pages of docs/reference that follow from the code are what docs/generate.py writes today."""

import importlib.util
import re
from functools import cache
from pathlib import Path
from types import ModuleType

import pytest

from scribeline.data.cautions import all_cautions
from scribeline.engine import INSTRUMENTS, EngineRecord, readings
from scribeline.sources import SOURCES
from tests.examples import SOUND, card_of

DOCS = Path(__file__).resolve().parents[2] / "docs"
BY_HAND = {"typed-values.md"}


@cache
def generator() -> ModuleType:
    spec = importlib.util.spec_from_file_location("generate", DOCS / "generate.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@cache
def pages() -> dict[str, str]:
    written: dict[str, str] = generator().pages()
    return written


def test_the_committed_description_of_the_api_is_what_a_server_gives() -> None:
    committed = (DOCS / "reference" / "openapi.json").read_text(encoding="utf-8")
    assert committed == generator().documents()["openapi.json"], "run: .venv/bin/python docs/generate.py"


@pytest.mark.parametrize("name", list(generator().pages()))
def test_the_committed_page_is_what_the_code_says(name: str) -> None:
    committed = (DOCS / "reference" / name).read_text(encoding="utf-8")
    assert committed == pages()[name], "run: .venv/bin/python docs/generate.py"


def test_no_page_of_the_reference_is_left_over() -> None:
    assert {path.name for path in (DOCS / "reference").iterdir()} == (
        set(pages()) | BY_HAND | set(generator().documents())
    )


def test_every_page_can_be_reached_from_the_table_of_contents() -> None:
    contents = (DOCS / "README.md").read_text(encoding="utf-8")
    assert {name for name in pages() if f"(reference/{name})" not in contents} == set()


def test_every_page_is_sound_markdown() -> None:
    for name, page in pages().items():
        rows = [line for line in page.splitlines() if line.startswith("|")]
        cells = {row: len(re.findall(r"(?<!\\)\|", row)) for row in rows}
        assert not [row for row, count in cells.items() if count not in (3, 4, 5, 6)], name
        headings = [line for line in page.splitlines() if line.startswith("#")]
        assert len(headings) == len(set(headings)), name
        assert "\n    " not in page.replace("\n      ", "").partition("```")[0], f"{name} has an indented paragraph"
        assert "None" not in page, name
        assert "typing." not in page, name


def test_every_measured_field_says_how() -> None:
    """Every reading of both demonstration engines has its row, with how it is measured and with what."""
    for engine in SOUND:
        for reading in readings(card_of(engine).out.record):
            key = re.sub(r"\.\d+$", "", reading.place).rpartition(".")[2]
            row = f"| {reading.spec.how} ({reading.spec.instrument})"
            assert any(f"| `{key}` |" in line and row in line for line in pages()["record.md"].splitlines()), key


def test_every_table_of_the_record_has_its_heading() -> None:
    shown = set(re.findall(r"tables? `(\[.*?\])` ", pages()["record.md"]))
    headings = set(re.findall(r"^## (\[.*\])$", pages()["record.md"], re.MULTILINE))
    assert shown == headings
    assert len(headings) > len(EngineRecord.model_fields) / 2


def test_what_a_field_says_under_itself_is_on_the_page() -> None:
    assert "| Which reading is used where an edge was measured both ways." in pages()["record.md"]
    assert "| list of points |" in pages()["record.md"]


def test_every_number_of_both_engines_is_on_the_page_of_the_card() -> None:
    for engine in SOUND:
        card = card_of(engine)
        for worked in card.out.values.values():
            if worked.value is None:
                continue
            name = worked.name
            for port in card.out.record.ports:
                name = name.replace(f"ports.{port.name}.", "ports.P.")
            name = re.sub(r"_gear_\d_", "_gear_N_", name)
            assert pages()["card.md"].count(f"| `{name}` |") == 1


def test_every_command_is_on_the_page_of_commands() -> None:
    page = pages()["command-line.md"]
    for command in ("", " card", " new", " check", " schema", " notebook", " notebook keep", " notebook import"):
        assert f"## scribeline{command}\n\n```text\nUsage: scribeline{command} " in page
    assert "│" not in page


def test_every_instrument_source_and_caution_is_on_its_page() -> None:
    for name in INSTRUMENTS:
        assert f"\n| {name} | " in pages()["instruments.md"]
    for source in SOURCES.values():
        assert f"- `{source.key}`: {source.text}\n" in pages()["sources.md"]
    for caution in all_cautions().values():
        assert f".** {caution.text} *(" in pages()["cautions.md"]
