import re
from pathlib import Path

import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from scribeline.engine import read_record, read_record_file
from scribeline.errors import Problem, RecordError
from tests.engine.samples import SOUND, line_with, spoiled


def refused(text: str) -> list[Problem]:
    with pytest.raises(RecordError) as caught:
        read_record(text, "my.toml")
    assert str(caught.value).startswith("my.toml: ")
    return caught.value.problems


def test_the_sample_is_sound() -> None:
    record = read_record(SOUND)
    assert record.name == "Bench sample"
    assert record.crank.stroke_mm.value == 50.0
    assert [port.name for port in record.ports] == ["exhaust", "transfer", "boost", "intake"]


def test_several_problems_come_at_once_sorted_by_line() -> None:
    """Of one value and of several together; a port that cannot be read does not hide what is wrong with another."""
    text = spoiled(
        ("[ignition]", "[ignitoin]"),
        ("gap_mm = 1.5 }", "gap_mm = 0 }"),
        ('role = "transfer"', 'role = "transver"'),
        ("floor_corner_radius_mm = 5.0", "floor_corner_radius_mm = 20"),
        ("    [5, 50.6],", "    [5, '50.6'],"),
        ("width_chord_mm = 30.0", "width_chord_mm = 300"),
        ("rod_length_mm = 100.0", "rod_length_mm = 25"),
        ("    [-5, 50.6],", "    [-500, 50.6],"),
        ("gears = [2.5, 1.8]", "gears = [2.5, 0]"),
        ("count = 1", "count = 'one'"),
    )
    problems = refused(text)
    found = {p.where: p.line for p in problems}
    assert found == {
        "crank.rod_length_mm": line_with(text, "rod_length_mm = 25"),
        "cylinder.count": line_with(text, "count = 'one'"),
        "squish.readings.2.gap_mm": line_with(text, "gap_mm = 0 }"),
        "ports.exhaust.roof_corner_radius_mm": line_with(text, "roof_corner_radius_mm"),
        "ports.transfer.role": line_with(text, "transver"),
        "ports.boost.outline_mm.3.2": line_with(text, "'50.6'"),
        "ports.boost.outline_mm.4": line_with(text, "-500"),
        "ports.intake.width_chord_mm": line_with(text, "width_chord_mm = 300"),
        "ignitoin": line_with(text, "[ignitoin]"),
        "drivetrain.gears.2": line_with(text, "gears = [2.5, 0]"),
    }
    lines = [p.line for p in problems]
    assert lines == sorted(lines, key=lambda line: line or 0)
    with pytest.raises(RecordError, match="10 problems"):
        read_record(text)


def test_one_problem_is_spoken_of_in_the_singular() -> None:
    with pytest.raises(RecordError, match=r"^my\.toml: 1 problem\n"):
        read_record(spoiled(("count = 1", "count = 0")), "my.toml")


NOT_TOML = {
    "decimal comma": ("bore_mm = 50.0", "bore_mm = 50,0", "expected newline or end of document"),
    "unit after a number": ("bore_mm = 50.0", "bore_mm = 50.0 mm", "expected newline or end of document"),
    "key twice": ("bore_mm = 50.0", "bore_mm = 50.0\nbore_mm = 50.1", "cannot overwrite a value"),
    "table twice": ("[degree_wheel]", "[crank]", "cannot declare ('crank',) twice"),
    "misleading name twice": ("[degree_wheel]", "[' line x']\n[' line x'] # again", "cannot declare"),
    "number without end": ("count = 1", f"count = 9{'_9' * 5000}", "a number this long is not read"),
}


@pytest.mark.parametrize("kind", NOT_TOML)
def test_what_is_not_toml_is_refused_with_its_line(kind: str) -> None:
    old, new, reason = NOT_TOML[kind]
    text = spoiled((old, new))
    (problem,) = refused(text)
    last = new.split("\n")[-1]
    assert problem.where == "file"
    line = max(number for number, row in enumerate(text.split("\n"), start=1) if row == last)
    assert problem.line == line
    assert problem.value == last[:60]
    assert "a dot as the decimal point" in problem.accepted
    assert problem.remedy.startswith(reason)


def test_a_text_that_stops_in_the_middle_is_refused() -> None:
    (problem,) = refused('name = "x"\nports = [')
    assert (problem.where, problem.line, problem.value) == ("file", None, "end of the file")


def test_brackets_without_end_are_refused() -> None:
    (problem,) = refused(f"a = {'[' * 5000}{']' * 5000}")
    assert problem.value == "brackets in brackets in brackets"


@pytest.mark.parametrize("change", [lambda t: "\ufeff" + t, lambda t: t.replace("\n", "\r\n")], ids=["mark", "crlf"])
def test_files_from_other_editors_are_read(change: object, tmp_path: Path) -> None:
    assert callable(change)
    path = tmp_path / "engine.toml"
    path.write_bytes(change(SOUND).encode("utf-8"))
    assert read_record_file(path) == read_record(SOUND)
    path.write_bytes(change(spoiled(("bridge_mm = 2.0", "bridge_mm = 40"))).encode("utf-8"))
    with pytest.raises(RecordError) as caught:
        read_record_file(path)
    assert caught.value.problems[0].line == line_with(SOUND, "bridge_mm = 2.0")
    assert caught.value.origin == str(path)


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "nowhere.toml"
    with pytest.raises(RecordError, match=re.escape(str(path))) as caught:
        read_record_file(path)
    (problem,) = caught.value.problems
    assert (problem.where, problem.line, problem.value) == ("file", None, str(path))
    assert problem.accepted == "a TOML file that can be read"
    assert problem.remedy == "No such file or directory: check the name"


@pytest.mark.parametrize("name", ["", "impossible\0name", "x" * 5000])
def test_a_name_that_is_no_file_is_refused(name: str, tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="check the name"):
        read_record_file(tmp_path / name)


def test_bytes_that_are_no_utf8_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "engine.toml"
    path.write_bytes(b'name = "\xe4"\n')
    with pytest.raises(RecordError) as caught:
        read_record_file(path)
    assert caught.value.problems[0].remedy == "byte 8 is no UTF-8 text: save it again as UTF-8"


def only_record_or_refusal(text: str) -> None:
    """Nothing but a record or a RecordError may come back, each problem complete and on a line of the file."""
    problems: list[Problem] = []
    try:
        read_record(text)
    except RecordError as refusal:
        problems = refusal.problems
        assert problems
    for problem in problems:
        assert all((problem.where, problem.value, problem.accepted, problem.remedy))
        assert problem.line is None or 1 <= problem.line <= text.count("\n") + 1


SPLICES = [
    "1", "-1", "0", "1e308", "-1e-308", "inf", "nan", "9" * 400, "0x" + "f" * 400, "true", '"x"', "'''x\n'''", "[]",
    "{}", "[[1]]", "[{ name = 5 }]", "{ value = 1e99 }", "2001-02-03", "04:05:06", "[1, 2", "}", '"', "'", "#", "=",
    ",", ".", "\n", "\r", "\t", "\0", "\ufeff", "é", "[crank]", "[[ports]]", "[ports]", '"name" = 5', "a.b.c = 1",
    "[" * 300 + "]" * 300,
]  # fmt: skip
_pieces = re.findall(r"[\w.]+|\s+|[^\w\s]", SOUND)


@settings(deadline=None, max_examples=250)
@given(
    st.lists(
        st.tuples(
            st.integers(0, len(_pieces) - 1),
            st.integers(0, 4),
            st.sampled_from(SPLICES) | st.sampled_from(_pieces) | st.text(max_size=3),
        ),
        min_size=1,
        max_size=4,
    )
)
def test_a_spoiled_text_gives_a_record_or_a_refusal_and_nothing_else(edits: list[tuple[int, int, str]]) -> None:
    pieces = list(_pieces)
    for at, taken, splice in edits:
        pieces[at : at + taken] = [splice]
    only_record_or_refusal("".join(pieces))


_toml_values = st.recursive(
    st.booleans()
    | st.integers()
    | st.floats()
    | st.text(st.characters(codec="utf-8", categories=("L", "N", "P")), max_size=5)
    | st.dates()
    | st.times()
    | st.datetimes(),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(["value", "with", "name", "rpm", "readings", "kind"]), inner, max_size=3)
    ),
    max_leaves=4,
)


@settings(deadline=None, max_examples=100)
@given(st.lists(st.tuples(st.lists(st.integers(0, 30), min_size=1, max_size=4), _toml_values), min_size=1, max_size=3))
def test_a_wrong_value_anywhere_gives_a_record_or_a_refusal(changes: list[tuple[list[int], object]]) -> None:
    document = tomlkit.parse(SOUND).unwrap()
    for steps, value in changes:
        inside: object = document
        for step in steps:
            keys = list(inside) if isinstance(inside, dict) else range(len(inside)) if isinstance(inside, list) else []
            if not keys:
                break
            holder, key = inside, keys[step % len(keys)]
            inside = holder[key]  # type: ignore[index]
        holder[key] = value  # type: ignore[index]
    only_record_or_refusal(tomlkit.dumps(document))
