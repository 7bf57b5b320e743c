import tomllib
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from scribeline.engine import judged_document
from scribeline.engine.possible import impossibilities
from scribeline.engine.salvage import still_impossible, validated
from tests.engine.samples import spoiled


def found(*edits: tuple[str, str]) -> list[tuple[Any, ...]]:
    data = tomllib.loads(spoiled(*edits))
    try:
        validated(data)
    except ValidationError as error:
        return [one.location for one in still_impossible(data, error.errors(include_url=False))]
    raise AssertionError("nothing was refused")


WIDE = ("width_chord_mm = 30.0", "width_chord_mm = 300")  # refused of one value, in the fourth port
CORNER = ("floor_corner_radius_mm = 5.0", "floor_corner_radius_mm = 20")  # impossible, in the first port
SHORT = ("rod_length_mm = 100.0", "rod_length_mm = 25")


def test_one_refused_value_does_not_hide_what_is_impossible_elsewhere() -> None:
    assert found(WIDE) == []
    assert found(WIDE, CORNER, SHORT) == [("crank", "rod_length_mm"), ("ports", 0, "roof_corner_radius_mm")]


def test_numbers_of_list_elements_stay_those_of_the_file() -> None:
    """The second port falls out, because it lacks its role; the third and fourth keep their numbers."""
    chord = ("width_chord_mm = 30.0", "width_chord_mm = 60")
    assert found(('role = "transfer"\n', ""), chord) == [("ports", 3, "width_chord_mm")]
    squeezed = ("gap_mm = 1.5 }", "gap_mm = 2.5 }")
    assert found(("clock_deg = 0, gap_mm = 1.4", "clock_deg = 0"), squeezed) == [("squish", "readings", 1, "gap_mm")]


def test_a_table_with_a_refused_value_is_not_judged() -> None:
    """Without the refused number of folds the solder would look unsqueezed."""
    thick = ("gap_mm = 1.5 }", "gap_mm = 3 }")
    assert found(("solder_folds = 1", 'solder_folds = "2"'), thick) == []
    assert found(('crown = "dome"', 'crown = "domed"')) == []


def test_what_lacks_something_needed_falls_out_with_all_that_holds_it() -> None:
    petals = ('control = "piston port"', "control = 'reed'\nreed = { petals = 'four' }")
    assert found(petals, CORNER) == [("ports", 0, "roof_corner_radius_mm")]
    assert found(("depth_mm = 8.0", "depth_mm = 'deep'"), ("length_mm = 30.0\nwidth_mm", "width_mm")) == []


def test_without_crank_or_cylinder_nothing_is_judged() -> None:
    assert found(("stroke_mm = 50.0", "stroke_mm = 'fifty'"), CORNER) == []
    assert found(("bore_mm = 50.0", ""), CORNER) == []
    assert found(("[crank]", "[krank]"), CORNER) == []


def test_name_speed_and_version_are_not_needed_to_judge_the_rest() -> None:
    no_name = ('name = "Bench sample"\nspeed_rpm = 9000\n', "")
    assert found(no_name, ("scribeline_record = 1", "scribeline_record = '1'"), SHORT) == [("crank", "rod_length_mm")]


def test_a_refused_number_that_is_no_table_falls_out_whole() -> None:
    assert found(("dome_height_mm = 2.5", "dome_height_mm = nan"), SHORT) == [("crank", "rod_length_mm")]


SPOILS = [
    ("stop_turning_back_deg = 46.0", "stop_turning_back_deg = 460"),
    ("ring_pegs_deg = [160, 200]", "ring_pegs_deg = [1600, true, {}]"),
    ("base = [{ nominal_mm = 0.5, compressed_mm = 0.46 }]", "base = [{}, [], 5]"),
    ("squish_outer_mm = 50.0", "squish_outer_mm = { with = 'eye' }"),
    ('kind = "bathtub"', "kind = 'tub'"),
    ("head_gasket_fitted = true", ""),
    ('role = "boost"', "role = true"),
    ("    [6, 38.0],", "    [6, '38.0'],"),
    ("gears = [2.5, 1.8]", "gears = [2.5, 'x', inf]"),
    ("{ rpm = 3000, advance_deg = 22 }", "{ rpm = 3000 }"),
    ("[[intake.tract]]", "[intake.tract]"),
    ('control = "piston port"', "control = []"),
    ("clock_deg = 80", "clock_deg = '80'"),
    ("count = 1", "count = 1.5\ncolour = 'red'"),
]


@settings(deadline=None, max_examples=60)
@given(st.sets(st.sampled_from(SPOILS), min_size=1))
def test_spoiling_more_finds_nothing_new(spoils: set[tuple[str, str]]) -> None:
    """What is found beside refused values is found without them, too: nothing comes from the taking out."""
    impossible = [SHORT, CORNER, ("roof_from_crown_tdc_mm = 37.0", "roof_from_crown_tdc_mm = 60")]
    all_of_it = {one.location for one in impossibilities(validated(tomllib.loads(spoiled(*impossible))))}
    assert len(all_of_it) == 4
    left = found(*impossible, *spoils)
    assert set(left) <= all_of_it
    assert ("crank", "rod_length_mm") in left


def left_of(*edits: tuple[str, str]) -> tuple[list[str], list[str] | None]:
    """Where something is wrong, and the ports of what is left; None where no engine is."""
    problems, record = judged_document(tomllib.loads(spoiled(*edits)))
    return [one.where for one in problems], None if record is None else [port.name for port in record.ports]


def test_what_is_left_of_a_record_is_a_record() -> None:
    whole = left_of()
    assert whole[0] == []
    assert whole[1] is not None
    assert left_of(CORNER) == (["ports.exhaust.roof_corner_radius_mm"], whole[1][1:])
    assert left_of(('role = "transfer"\n', ""))[1] == [name for name in whole[1] if name != whole[1][1]]
    assert left_of(('name = "Bench sample"\nspeed_rpm = 9000\n', "")) == (["name", "speed_rpm"], whole[1])


def test_without_crank_or_cylinder_nothing_is_left() -> None:
    assert left_of(("stroke_mm = 50.0", "stroke_mm = 'fifty'"))[1] is None
    assert left_of(("bore_mm = 50.0", ""))[1] is None
    assert judged_document({})[1] is None
