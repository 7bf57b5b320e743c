"""The how-to pages: every snippet is a sound record, every field is shown, each page has what a page must have."""

import re
import tomllib
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import Any, get_args

import pytest
import tomlkit

from scribeline.data.cautions import cautions_for
from scribeline.engine import INSTRUMENTS, EngineRecord, Measured, Part, read_record, readings, write_record
from scribeline.plan.plan_file import read_plan
from tests.docs.pages import DOCS, HOWTO, MEASURING, Block, blocks_in, section

MINIMAL = """\
scribeline_record = 1
name = "the rest of the engine"
speed_rpm = 9500

[crank]
stroke_mm = 50.0
rod_length_mm = 100.0

[cylinder]
bore_mm = 50.02
deck_clearance_at_tdc_mm = 0.62

[piston]
skirt_intake_side_mm = 52.0

[[ports]]
name = "intake"
role = "intake"
clock_deg = 180
roof_from_deck_mm = 55.0
floor_from_deck_mm = 74.4
width_chord_mm = 30.0
"""
"""What a snippet needs around it. Its tables are laid over these, key by key; its lists replace these."""

_TOML = [block for room in ("howto", "tutorial", "concepts") for block in blocks_in(DOCS / room, "toml")]
PLANS = [block for block in _TOML if block.text.startswith("scribeline_plan")]
SNIPPETS = [block for block in _TOML if block not in PLANS]
"""Pages for builders show pieces of an engine record, whole plans, and nothing else in TOML."""


def record_blocks() -> list[Block]:
    """The ```toml blocks of the how-to pages that are of a record."""
    return [block for block in blocks_in(HOWTO, "toml") if block not in PLANS]


@pytest.mark.parametrize("block", PLANS, ids=lambda block: block.place)
def test_a_plan_on_a_page_is_a_sound_plan(block: Block) -> None:
    assert read_plan(block.text, block.place).steps


def laid_over(below: dict[str, Any], above: dict[str, Any]) -> dict[str, Any]:
    both = dict(below)
    for key, value in above.items():
        inner = below.get(key)
        both[key] = laid_over(inner, value) if isinstance(inner, dict) and isinstance(value, dict) else value
    return both


@cache
def record_of(block: Block) -> EngineRecord:
    """The minimal record with a snippet laid over it, read as a file would be: refused in words if it is not sound."""
    return read_record(tomlkit.dumps(laid_over(tomllib.loads(MINIMAL), tomllib.loads(block.text))), block.place)


# --- snippets ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("block", blocks_in(DOCS, "toml"), ids=lambda block: block.place)
def test_every_toml_block_is_toml(block: Block) -> None:
    assert tomllib.loads(block.text)


@pytest.mark.parametrize("block", SNIPPETS, ids=lambda block: block.place)
def test_every_snippet_is_part_of_a_sound_record(block: Block) -> None:
    record = record_of(block)
    assert read_record(write_record(record)) == record


def fields_set(part: Part, names: Iterable[str]) -> Iterator[tuple[type[Part], str]]:
    """These fields of a part, and every field that was set in the parts below them, as (part, field)."""
    for name in names:
        yield type(part), name
        value = getattr(part, name)
        for one in value if isinstance(value, tuple) else (value,):
            if isinstance(one, Part):
                yield from fields_set(one, one.model_fields_set)


def shown_fields(block: Block) -> set[tuple[type[Part], str]]:
    """What a snippet shows; the tables that only the minimal record has are left out."""
    return {field for field in fields_set(record_of(block), tomllib.loads(block.text)) if is_shown(block, field[1])}


def is_shown(block: Block, key: str) -> bool:
    return re.search(rf"\b{re.escape(key)}\b", block.text) is not None


def parts_in(annotation: Any) -> Iterator[type[Part]]:
    if isinstance(annotation, type) and issubclass(annotation, Part):
        yield annotation
    for one in get_args(annotation):
        yield from parts_in(one)


def all_fields(part: type[Part]) -> set[tuple[type[Part], str]]:
    found = {(part, name) for name in part.model_fields}
    for field in part.model_fields.values():
        for inner in parts_in(field.annotation):
            found |= all_fields(inner)
    return found


def test_every_field_of_the_record_is_shown_on_a_howto_page() -> None:
    shown = set[tuple[type[Part], str]]()
    for block in record_blocks():
        shown |= shown_fields(block)
    everything = all_fields(EngineRecord)
    assert len(everything) > 100
    assert {f"{part.__name__}.{name}" for part, name in everything - shown} == set()


def test_every_way_to_write_a_number_is_shown() -> None:
    written = " ".join(block.text for block in record_blocks())
    for name, field in Measured.model_fields.items():
        assert f"{field.alias or name} =" in written


def choices_in(annotation: Any) -> Iterator[str]:
    for one in get_args(annotation):
        if isinstance(one, str):
            yield one
        else:
            yield from choices_in(one)


def test_every_choice_is_named_on_a_howto_page() -> None:
    pages = [page.read_text("utf-8") for page in MEASURING]
    code = re.findall(r"^```toml\n(.*?)^```$|`([^`\n]+)`", "\n".join(pages), re.MULTILINE | re.DOTALL)
    words = " ".join(block + span for block, span in code)
    missing = {
        f"{part.__name__}.{name} = {choice}"
        for part, name in all_fields(EngineRecord)
        for choice in choices_in(part.model_fields[name].annotation)
        if not re.search(rf"\b{re.escape(choice)}\b", words)
    }
    assert missing == set()


# --- what each page must have --------------------------------------------------------------------------------------

UNITS = {"deg": "°", "mm2": " mm²", "m2": " m²", "ratio": ""}


def told_widths(page: Path) -> dict[str, set[str]]:
    """The usual +/- that a page tells for each instrument, as written."""
    listed = re.findall(r"^- ([a-z' ]+): (.*)", section(page, "How good it is"), re.MULTILINE)
    return {name: set(re.findall(r"± ([\d.]+(?:°| mm²| m²| [a-z]+)?)", rest)) for name, rest in listed}


def usual(instrument: str, unit: str) -> str:
    return f"{INSTRUMENTS[instrument][unit]:g}{UNITS.get(unit, f' {unit}')}"


@pytest.mark.parametrize("page", MEASURING, ids=lambda page: page.stem)
def test_a_page_tells_the_usual_width_of_every_reading_it_shows(page: Path) -> None:
    told = told_widths(page)
    for block in blocks_in(page, "toml"):
        for reading in readings(record_of(block)):
            table, key = reading.place.partition(".")[0], reading.place.rpartition(".")[2]
            if table in tomllib.loads(block.text) and is_shown(block, key) and reading.measured.plus_minus is None:
                instrument = reading.measured.instrument or reading.spec.instrument
                meant = usual(instrument, reading.spec.unit)
                assert any(same(width, meant) for width in told.get(instrument, ())), f"{key}: {instrument} ± {meant}"


def same(told: str, meant: str) -> bool:
    """`± 0` stands for a counted or chosen number of any unit, and words may follow a number without unit."""
    number, _, unit = told.partition(" ")
    return told == meant or (number == meant and not unit.startswith(("mm", "cc", "m²")))


@pytest.mark.parametrize("page", MEASURING, ids=lambda page: page.stem)
def test_a_page_tells_no_width_that_is_not_the_usual_one(page: Path) -> None:
    told = told_widths(page)
    assert told
    for instrument, widths in told.items():
        known = {f"{width:g}{UNITS.get(unit, f' {unit}')}" for unit, width in INSTRUMENTS[instrument].items()}
        assert any(same(told_width, one) for told_width in widths for one in known), instrument


@pytest.mark.parametrize("page", MEASURING, ids=lambda page: page.stem)
def test_a_page_shows_a_drawing(page: Path) -> None:
    pictures = re.findall(r"!\[[^\]]{10,}\]\(\.\./(pictures/[\w-]+\.svg)\)", page.read_text("utf-8"))
    assert pictures
    assert [picture for picture in pictures if not (DOCS / picture).is_file()] == []


@pytest.mark.parametrize("page", MEASURING, ids=lambda page: page.stem)
@pytest.mark.parametrize(
    "heading", ["You need", "Steps", "Write it down", "How good it is", "Common mistakes", "Careful"]
)
def test_a_page_has_every_part(page: Path, heading: str) -> None:
    assert section(page, heading).strip()


def test_a_page_is_short_enough_for_a_phone() -> None:
    lengths = {page.name: len(page.read_text("utf-8").split()) for page in MEASURING}
    assert {name: length for name, length in lengths.items() if length > 900} == {}


# Where a page of measuring talks of this, its last part must carry the caution that begins so.
TALKS_OF = {
    "coatings": (r"plated|plating|gasket|coated", "Coatings:"),
    "fuel": (r"petrol|fuel|burette|carburettor", "Fuel:"),
    "rotating-parts": (r"turn the crank|crank turns|rock the crank|dead centre|wheel on|chain", "Turning parts:"),
    "piston-stop": (r"piston stop|degree wheel with|wheel on the crank|the \[degree wheel\]", "Piston stop:"),
    "professional": (r"", "Not sure?"),
}


def test_every_caution_of_measuring_has_its_rule() -> None:
    assert TALKS_OF.keys() == {caution.key for caution in cautions_for("measure")}


@pytest.mark.parametrize("page", [*MEASURING, HOWTO / "README.md"], ids=lambda page: page.stem)
def test_a_page_carries_the_cautions_that_apply(page: Path) -> None:
    careful = section(page, "Careful")
    rest = page.read_text("utf-8").replace(careful, "")
    for pattern, words in TALKS_OF.values():
        if re.search(pattern, rest, re.IGNORECASE):
            assert f"**{words}**" in careful
    assert "(../reference/cautions.md)" in careful


@pytest.mark.parametrize("folder", ["howto", "concepts", "decisions"])
def test_an_index_leads_to_every_page_of_its_folder(folder: str) -> None:
    index = (DOCS / folder / "README.md").read_text("utf-8")
    pages = {page.name for page in (DOCS / folder).glob("*.md")} - {"README.md"}
    assert pages - set(re.findall(r"\]\(([\w-]+\.md)\)", index)) == set()


def test_the_index_of_all_leads_to_every_room() -> None:
    index = (DOCS / "README.md").read_text("utf-8")
    rooms = {folder.name for folder in DOCS.iterdir() if any(folder.glob("*.md"))}
    assert {room for room in rooms if f"]({room}/" not in index} == set()


def test_the_index_of_measuring_lists_every_page_once() -> None:
    listed = re.findall(r"^\d+\. \[[^\]]+\]\(([\w-]+\.md)\)", (HOWTO / "README.md").read_text("utf-8"), re.MULTILINE)
    assert sorted(listed) == [page.name for page in MEASURING]
    assert len(listed) >= 15
