import json
import re
import tomllib
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from scribeline.engine import read_record_file
from scribeline.errors import RecordError
from scribeline.tasks.records import check_record, record_schema
from tests.engine.samples import SOUND, spoiled
from tests.engine.test_explaining import ONE_VALUE
from tests.engine.test_possible import RULES

EXAMPLES = Path(__file__).parents[2] / "examples"
CARELESS = EXAMPLES / "careless.toml"
SCHEMA = json.loads(record_schema())
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)


def faults(errors: Iterable[jsonschema.ValidationError]) -> Iterator[tuple[str | int, ...]]:
    """Where a schema finds fault: at the value itself, or at the table that lacks something or has too much."""
    for error in errors:
        if error.context:
            yield from faults(error.context)
        else:
            yield tuple(error.absolute_path)


SET_NOT_MEASURED = {
    "scribeline_record", "speed_rpm", "count", "petals", "solder_folds", "gears", "table", "outline_mm", "face_mm",
    "base_face_mm", "outline_plus_minus_mm", "plus_minus",
}  # fmt: skip


def measured_numbers(value: Any) -> int:
    if isinstance(value, dict):
        return sum(measured_numbers(one) for key, one in value.items() if key not in SET_NOT_MEASURED)
    if isinstance(value, list):
        return sum(measured_numbers(one) for one in value)
    return type(value) in (int, float)


@pytest.mark.parametrize(
    ("example", "name", "ports"), [("club-kart-98.toml", "Club kart 98", 6), ("reed-125.toml", "Reed 125", 8)]
)
def test_the_sound_examples_are_sound(example: str, name: str, ports: int) -> None:
    path = EXAMPLES / example
    data = tomllib.loads(path.read_text())
    count = measured_numbers(data)
    assert check_record(path) == f"{path}: sound. {name}: {count} measured numbers, {ports} ports."
    assert list(faults(VALIDATOR.iter_errors(data))) == []


def test_the_examples_say_that_they_are_invented() -> None:
    for path in EXAMPLES.glob("*.toml"):
        assert "INVENTED" in path.read_text()
        data = tomllib.loads(path.read_text())
        assert data.get("invented") is True or "scribeline_record" not in data


def test_the_careless_example_shows_every_comment_as_a_refusal_at_its_line() -> None:
    """Each line of the file whose comment says what is wrong is refused, and no other."""
    rows = CARELESS.read_text().split("\n")
    wrong = {number for number, row in enumerate(rows, start=1) if re.search(r"\S.* # [a-z]", row)}
    with pytest.raises(RecordError) as caught:
        check_record(CARELESS)
    lines = [problem.line for problem in caught.value.problems]
    assert set(lines) == wrong
    assert len(lines) == 34


def test_the_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert VALIDATOR.is_valid(tomllib.loads(SOUND))


def test_the_schema_says_how_each_value_is_measured() -> None:
    bore = SCHEMA["$defs"]["Cylinder"]["properties"]["bore_mm"]
    assert bore["description"].startswith("across the bore")
    assert (bore["unit"], bore["minimum"], bore["maximum"]) == ("mm", 10, 200)


def test_the_schema_refuses_the_careless_example_where_one_value_is_wrong() -> None:
    """What more than one number decides is beyond it."""
    assert set(faults(VALIDATOR.iter_errors(tomllib.loads(CARELESS.read_text())))) == {
        ("speed_rpm",),
        ("cylinder",),
        ("gaskets", "base", 0, "nominal_mm"),
        ("squish", "readings", 0, "gap_mm"),
        ("squish", "readings", 1, "gap_mm"),
        ("squish", "readings", 3, "clock_deg"),
        ("ports", 5, "role"),
        ("ports", 5, "mirrored"),
        ("crankcase", "volume_at_bdc_cc"),  # it is no bare number,
        ("crankcase", "volume_at_bdc_cc", "plus_minus"),  # and as a table its +/- is wrong
        ("exhaust", "sections", 0),
        ("exhaust", "sections", 1, "end_mm"),
        ("ignition", "advance_deg"),
        ("fuel", "petrol_per_oil"),
        (),
    }


# What JSON lacks, and the instruments, whose names the record knows and the schema does not.
BEYOND_A_SCHEMA = {"not a number", "unknown instrument"}


@pytest.mark.parametrize("kind", sorted(set(ONE_VALUE) - {"beyond all integers in decimal"}))  # JSON is decimal
def test_the_schema_refuses_what_the_record_refuses(kind: str) -> None:
    text = spoiled(ONE_VALUE[kind][0])
    assert VALIDATOR.is_valid(tomllib.loads(text)) == (kind in BEYOND_A_SCHEMA)


@pytest.mark.parametrize("kind", RULES)
def test_the_schema_cannot_judge_several_values_together(kind: str) -> None:
    assert VALIDATOR.is_valid(tomllib.loads(spoiled(*RULES[kind][0])))


def test_a_record_that_is_refused_is_refused_by_the_check(tmp_path: Path) -> None:
    path = tmp_path / "engine.toml"
    path.write_text(spoiled(("count = 1", "count = 0")))
    with pytest.raises(RecordError, match=r"cylinder\.count = 0"):
        check_record(path)
    path.write_text(SOUND)
    assert read_record_file(path).name in check_record(path)
