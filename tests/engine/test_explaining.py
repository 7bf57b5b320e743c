"""Every kind of refusal of one value, seen through `read_record`; test_possible has those of several together."""

import pytest

from scribeline.engine import read_record
from scribeline.errors import Problem, RecordError
from tests.engine.samples import line_with, spoiled

NUMBER_ALONE = "write the number alone, without quotation marks or unit: the unit stands in the key's name"


def refused(text: str) -> list[Problem]:
    with pytest.raises(RecordError) as caught:
        read_record(text, "my.toml")
    assert str(caught.value).startswith("my.toml: ")
    return caught.value.problems


CRANK_KEYS = "one of: stroke_mm, rod_length_mm, pin_offset_mm"

ONE_VALUE = {
    "unknown key": (
        ("stroke_mm = 50.0", "stroke_mm = 50.0\nrod_lenght_mm = 99"),
        "crank.rod_lenght_mm",
        "99",
        CRANK_KEYS,
        "did you mean rod_length_mm?",
    ),
    "unknown key like no other": (
        ("pin_offset_mm = 0.5", "colour = 'red'"),
        "crank.colour",
        '"red"',
        CRANK_KEYS,
        "take it out, or put it under `note`",
    ),
    "unknown table": (
        ("[degree_wheel]", "[degre_wheel]"),
        "degre_wheel",
        '{ readings = "raw", stop_turning_forwards_deg = 318.0, stop_turning_back_deg ...',
        "one of: scribeline_record, name, note,",
        "did you mean degree_wheel?",
    ),
    "unknown key of a measured value": (
        ("bore_mm = 50.0", "bore_mm = { value = 50.0, plusminus = 0.1 }"),
        "cylinder.bore_mm.plusminus",
        "0.1",
        "one of: value, plus_minus, with, typed",
        "did you mean plus_minus?",
    ),
    "the program's own name of a key": (
        ("bore_mm = 50.0", "bore_mm = { value = 50.0, instrument = 'ruler' }"),
        "cylinder.bore_mm.instrument",
        '"ruler"',
        "one of: value, plus_minus, with, typed",
        "take it out",
    ),
    "unknown key in a port": (
        ("bridge_mm = 2.0", "bridge_mn = 2.0"),
        "ports.exhaust.bridge_mn",
        "2.0",
        "one of: name, role,",
        "did you mean bridge_mm?",
    ),
    "quoted number": (
        ("bore_mm = 50.0", 'bore_mm = "50.0"'),
        "cylinder.bore_mm",
        '"50.0"',
        "a number, 10 to 200 mm",
        NUMBER_ALONE,
    ),
    "unit in the quotes": (
        ("bore_mm = 50.0", 'bore_mm = { value = "50.0 mm" }'),
        "cylinder.bore_mm.value",
        '"50.0 mm"',
        "a number, 10 to 200 mm",
        NUMBER_ALONE,
    ),
    "quoted +/-": (
        ("bore_mm = 50.0", 'bore_mm = { value = 50.0, plus_minus = "0.1" }'),
        "cylinder.bore_mm.plus_minus",
        '"0.1"',
        "a number",
        NUMBER_ALONE,
    ),
    "quoted whole number": (
        ("count = 1", 'count = "1"'),
        "cylinder.count",
        '"1"',
        "a whole number",
        NUMBER_ALONE,
    ),
    "quoted speed": (
        ("speed_rpm = 9000", 'speed_rpm = "9000 rpm"'),
        "speed_rpm",
        '"9000 rpm"',
        "a number",
        NUMBER_ALONE,
    ),
    "true for a number": (
        ("bore_mm = 50.0", "bore_mm = true"),
        "cylinder.bore_mm",
        "true",
        "a number, 10 to 200 mm",
        "correct the value",
    ),
    "date for a number": (
        ("bore_mm = 50.0", "bore_mm = 2001-02-03"),
        "cylinder.bore_mm",
        "2001-02-03",
        "a number, 10 to 200 mm",
        "correct the value",
    ),
    "list for a number": (
        ("bore_mm = 50.0", "bore_mm = [50.0, 50.1]"),
        "cylinder.bore_mm",
        "[50.0, 50.1]",
        "a number, 10 to 200 mm",
        "correct the value",
    ),
    "number for a list": (
        ("ring_pegs_deg = [160, 200]", "ring_pegs_deg = 160"),
        "cylinder.ring_pegs_deg",
        "160",
        "a list of numbers, 0 to 360 deg",
        "correct the value",
    ),
    "not a number": (
        ("bore_mm = 50.0", "bore_mm = nan"),
        "cylinder.bore_mm.value",
        "nan",
        "a number, 10 to 200 mm",
        "correct the value",
    ),
    "beyond all floats": (
        ("bore_mm = 50.0", f"bore_mm = {'9' * 400}"),
        "cylinder.bore_mm.value",
        "a number of more than 60 digits",
        "a number, 10 to 200 mm",
        "correct the value",
    ),
    "beyond all integers in decimal": (
        ("count = 1", f"count = [0x{'f' * 9000}]"),
        "cylinder.count",
        "[a number of more than 60 digits]",
        "a whole number",
        "correct the value",
    ),
    "broken whole number": (
        ("count = 1", "count = 1.5"),
        "cylinder.count",
        "1.5",
        "a whole number",
        "correct the value",
    ),
    "text for true or false": (
        ("mirrored = true", 'mirrored = "yes"'),
        "ports.transfer.mirrored",
        '"yes"',
        "true or false",
        "correct the value",
    ),
    "number for text": (
        ('name = "Bench sample"', "name = 98"),
        "name",
        "98",
        "text in quotation marks",
        "correct the value",
    ),
    "none of the words": (
        ('role = "boost"', 'role = "bost"'),
        "ports.boost.role",
        '"bost"',
        '"exhaust", "auxiliary exhaust", "transfer", "secondary transfer", "boost", "intake", "finger", "blind"',
        "correct the value",
    ),
    "optional word": (
        ("bore_mm = 50.0", 'bore_mm = 50.0\ncooling = "oil"'),
        "cylinder.cooling",
        '"oil"',
        '"air", "fan", "water"',
        "correct the value",
    ),
    "version": (
        ("scribeline_record = 1", "scribeline_record = 2"),
        "scribeline_record",
        "2",
        "1",
        "correct the value",
    ),
    "table for a list of tables": (
        ("base = [{ nominal_mm = 0.5, compressed_mm = 0.46 }]", "base = { nominal_mm = 0.5 }"),
        "gaskets.base",
        "{ nominal_mm = 0.5 }",
        "a list in square brackets, each a table with: nominal_mm, compressed_mm, material",
        "correct the value",
    ),
    "list for a table": (
        ("[degree_wheel]", "[[degree_wheel]]"),
        "degree_wheel",
        '[{ readings = "raw", stop_turning_forwards_deg = 318.0, stop_turning_back_deg...',
        "one table with: readings, stop_turning_forwards_deg, stop_turning_back_deg",
        "correct the value",
    ),
    "text in a list of numbers": (
        ("gears = [2.5, 1.8]", 'gears = [2.5, "1.8"]'),
        "drivetrain.gears.2",
        '"1.8"',
        "a number",
        NUMBER_ALONE,
    ),
    "half a point of an outline": (
        ("    [6, 38.0],", "    [6],"),
        "ports.boost.outline_mm.2.2",
        "nothing",
        "two numbers in square brackets: [across, from deck]",
        "add what is missing",
    ),
    "a point of three numbers": (
        ("    [6, 38.0],", "    [6, 38.0, 1],"),
        "ports.boost.outline_mm.2",
        "[6, 38.0, 1]",
        "two numbers in square brackets: [across, from deck]",
        "correct the value",
    ),
    "unknown instrument": (
        ("bore_mm = 50.0", 'bore_mm = { value = 50.0, with = "laser" }'),
        "cylinder.bore_mm.with",
        '"laser"',
        "one of: bathroom scales, bore gauge, burette, caliper, caliper in the bore, chosen,",
        "choose one of these, or leave `with` out and write plus_minus",
    ),
    "negative +/-": (
        ("bore_mm = 50.0", "bore_mm = { value = 50.0, plus_minus = -0.1 }"),
        "cylinder.bore_mm.plus_minus",
        "-0.1",
        "0 or more",
        "a +/- has no sign of its own",
    ),
    "too small": (
        ("bore_mm = 50.0", "bore_mm = { value = 5.02 }"),
        "cylinder.bore_mm",
        "5.02",
        "10 to 200 mm",
        "measure again: across the bore, below the ring's reversal, at two right angles",
    ),
    "too large, in a list": (
        ("ring_pegs_deg = [160, 200]", "ring_pegs_deg = [160, 400]"),
        "cylinder.ring_pegs_deg",
        "400",
        "0 to 360 deg",
        "measure again: clock position of each ring end, exhaust side = 0, clockwise seen from above",
    ),
    "negative squish": (
        ("gap_mm = 1.5 }", "gap_mm = -1.5 }"),
        "squish.readings.2.gap_mm",
        "-1.5",
        "0.05 to 8 mm",
        "measure again: thinnest flat of the solder, at the bore wall",
    ),
    "speed out of range": (
        ("speed_rpm = 9000", "speed_rpm = 99000"),
        "speed_rpm",
        "99000",
        "100 to 30000 rpm",
        "the crank speed the card is to be worked out at",
    ),
    "measured value missing": (
        ("rod_length_mm = 100.0", ""),
        "crank.rod_length_mm",
        "nothing",
        "a number, 10 to 600 mm",
        "measure: centre of the big-end eye to centre of the small-end eye",
    ),
    "value missing in its table": (
        ("bore_mm = 50.0", "bore_mm = { plus_minus = 0.1 }"),
        "cylinder.bore_mm.value",
        "nothing",
        "a number, 10 to 200 mm",
        "measure: across the bore",
    ),
    "word missing": (
        ('role = "boost"', ""),
        "ports.boost.role",
        "nothing",
        '"exhaust", "auxiliary exhaust",',
        "add what is missing",
    ),
}
# Where the value that is refused does not stand in the line, the line of what lacks it is meant.
LINE_OF_WHAT_LACKS_IT = {
    "measured value missing": "[crank]",
    "word missing": 'name = "boost"',
    "half a point of an outline": "    [6],",
}


@pytest.mark.parametrize("kind", ONE_VALUE)
def test_a_refusal_names_line_value_accepted_and_remedy(kind: str) -> None:
    edit, where, value, accepted, remedy = ONE_VALUE[kind]
    text = spoiled(edit)
    (problem,) = refused(text)
    assert problem.where == where
    assert problem.value == value
    assert problem.accepted.startswith(accepted)
    assert problem.remedy.startswith(remedy)
    line = line_with(text, LINE_OF_WHAT_LACKS_IT.get(kind, edit[1].split("\n")[-1]))
    assert problem.line == (line - 1 if kind == "word missing" else line)
    for part in (f"line {problem.line}: {where} = {value}", problem.accepted, problem.remedy):
        assert part in str(problem)


def test_a_missing_table_has_no_line() -> None:
    problems = refused(
        'scribeline_record = 1\nname = "x"\nspeed_rpm = 9000\n[crank]\nstroke_mm = 50\nrod_length_mm = 90'
    )
    assert [(p.where, p.line, p.value) for p in problems] == [("cylinder", None, "nothing")]
    assert problems[0].accepted.startswith("one table with: bore_mm, deck_clearance_at_tdc_mm,")
    assert "line" not in str(problems[0])


def test_a_long_value_is_cut_short() -> None:
    (problem,) = refused(spoiled(("count = 1", f'count = "{"x" * 500}"')))
    assert len(problem.value) == 80
    assert problem.value.endswith("x...")
